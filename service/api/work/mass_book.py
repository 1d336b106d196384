"""The mass book over HTTP: its entries, and the sums beside them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from service.api.contract.examples import EXAMPLE_ID, EXAMPLE_TIME, record_members, written
from service.api.contract.schemas import Answered, Described, RecordFields
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Day, Identifier, Moment, Number, Text
from service.api.records.book_routes import add_listing, add_single
from service.api.records.resource import Resource
from service.api.work.day_query import DAY_PARAMETER, RoutingQuery, depot_day, of_day
from service.api.work.shapes import ID, MAYBE_ID, NUMBER, TEXT, several, whole
from service.core.callers.access import Act
from service.core.mass_book import BEFORE, ELSEWHERE, VEHICLE, MassMovement, MovementCause
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.usecases.day.today import TellToday
from service.usecases.mass_book.reading import TellMassBook
from service.usecases.records.record_kinds import Papers

PLACE_KINDS: Final = (VEHICLE, *(kind.value for kind in DestinationKind), ELSEWHERE, BEFORE)
MOST_KG: Final = 1e9
SIGNED: Final = whole({"low": NUMBER, "likely": NUMBER, "high": NUMBER})
BALANCE: Final = whole(
    {
        "place_kind": TEXT,
        "place_id": ID,
        "lot_id": MAYBE_ID,
        "share": {"type": ["number", "null"]},
        "mass_kg": SIGNED,
        "nitrogen_kg": SIGNED,
        "counted_kg": NUMBER,
    },
    description=(
        "What came to a place less what left it. A lawn's is below zero: what was cut there. "
        "`counted_kg` is weighed where a weight counts, else likely; a weight goes with what was "
        "weighed."
    ),
)
BALANCES: Final = whole({"balances": several(BALANCE)})
DAY_BALANCES: Final = whole({"day": TEXT, "depot_id": ID, "balances": several(BALANCE)})


def _kilograms() -> Number:
    return Number(low=-MOST_KG, high=MOST_KG)


class MassMovementFields(RecordFields):
    """A caller writes nothing in the mass book: it follows from what is recorded."""

    record_type = MassMovement


class MassMovementFacts(Answered):
    """Kilograms of one lot that moved, or an entry taken back: then they are below zero."""

    cause = Choice(MovementCause)
    cause_id = Identifier(metadata={"description": "Of the job, load, hold entry or bed."})
    lot_id = Identifier(metadata={"description": "The job; of an opening balance the bed."})
    lot_code = Text(longest=20, allow_none=True)
    from_kind = Choice(PLACE_KINDS)
    from_id = Identifier()
    to_kind = Choice(PLACE_KINDS)
    to_id = Identifier()
    share = Number(low=-1, high=1)
    mass_low_kg = _kilograms()
    mass_likely_kg = _kilograms()
    mass_high_kg = _kilograms()
    nitrogen_low_kg = _kilograms()
    nitrogen_likely_kg = _kilograms()
    nitrogen_high_kg = _kilograms()
    counted_kg = _kilograms()
    weighed_kg = Number(low=-MOST_KG, high=MOST_KG, allow_none=True)
    weighed_nitrogen_kg = Number(
        low=-MOST_KG,
        high=MOST_KG,
        allow_none=True,
        metadata={"description": "In what was weighed, at the high end; older entries lack it."},
    )
    counted_before_kg = Number(
        low=-MOST_KG,
        high=MOST_KG,
        allow_none=True,
        metadata={
            "description": (
                "What the weighed counted as where it left; null where no weight counts: it counts "
                "as `counted_kg` at both ends."
            )
        },
    )
    status = Choice(LotStatus)
    happened_at = Moment()
    day = Day()
    depot_id = Identifier(allow_none=True)
    corrects_id = Identifier(allow_none=True)
    reason = Text(longest=2000, allow_none=True)
    key_id = Identifier(allow_none=True)


MASS_MOVEMENTS: Final = Resource(
    path="mass-movements",
    one="mass movement",
    many="mass movements",
    about=(
        "The mass book: every kilogram from lawn to body to place, entered with the fact that "
        "moved it. Entries are never changed; what was wrong is taken back by an entry and said "
        "anew. `happened_at` is when it moved, `created_at` when it was entered."
    ),
    fields=MassMovementFields,
    answered=(MassMovementFacts,),
    filters={
        "lot_id": Identifier(),
        "cause": Choice(MovementCause),
        "cause_id": Identifier(),
        "from_id": Identifier(),
        "to_id": Identifier(),
        "depot_id": Identifier(),
        "day": Day(),
    },
)


class BalancesQuery(Described):
    """Of which places, or of which lot."""

    place_kind = Choice(PLACE_KINDS)
    lot_id = Identifier()


def mass_book_routes(
    papers: Papers, tell_mass_book: TellMassBook, tell_today: TellToday, door: Door
) -> Routes:
    """Return the routes of the mass book."""
    routes = Routes(MASS_MOVEMENTS.path, description=MASS_MOVEMENTS.about)
    example = _example()
    add_listing(routes, MASS_MOVEMENTS, papers.mass_movements, door, example=example)
    add_single(routes, MASS_MOVEMENTS, papers.mass_movements, door, example=example)

    @routes.operation(
        "GET",
        "/mass-balances",
        name="read_mass_balances",
        summary="Read how much is at every place: all lots together, or one lot.",
    )
    @door.admits(Act.READ)
    @routes.query(BalancesQuery)
    @routes.response(200, BALANCES)
    def read_balances(asked: Asked, query: Mapping[str, Any]) -> dict[str, object]:
        return tell_mass_book(asked.caller, **query)

    @routes.operation(
        "GET",
        "/days/<day>/mass-balance",
        name="read_day_mass_balance",
        summary="Read what a depot's day brought to every place, by the book of now.",
        in_path=[DAY_PARAMETER],
    )
    @door.admits(Act.READ)
    @of_day
    @routes.query(RoutingQuery)
    @routes.response(200, DAY_BALANCES)
    def read_day(asked: Asked, query: Mapping[str, Any], day: date | str) -> dict[str, object]:
        wanted = depot_day(tell_today, asked, query, day)
        return tell_mass_book.day(asked.caller, *wanted)

    return routes


def _example() -> dict[str, Any]:
    """Return an entry as it is answered; its numbers are invented."""
    entry = MassMovement(
        **record_members(),
        cause=MovementCause.TIPPED,
        cause_id=EXAMPLE_ID,
        lot_id=EXAMPLE_ID,
        lot_code="L-7K2M9QX",
        from_kind=VEHICLE,
        from_id=EXAMPLE_ID,
        to_kind=DestinationKind.BED.value,
        to_id=EXAMPLE_ID,
        share=1.0,
        mass_low_kg=120.0,
        mass_likely_kg=180.0,
        mass_high_kg=260.0,
        nitrogen_low_kg=0.9,
        nitrogen_likely_kg=1.4,
        nitrogen_high_kg=2.1,
        counted_kg=180.0,
        status=LotStatus.CLEAN,
        happened_at=EXAMPLE_TIME,
        day=EXAMPLE_TIME.date(),
    )
    return written(MASS_MOVEMENTS.answer(), entry)

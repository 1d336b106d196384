"""What is held: read, and amended by what happens to it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any, Final
from uuid import UUID

from flask import Response
from marshmallow import fields

from service.api.books.spans import LOAD_MASS
from service.api.contract.examples import (
    EXAMPLE_ID,
    EXAMPLE_TIME,
    OTHER_ID,
    record_members,
    written,
)
from service.api.contract.schemas import Answered, RecordFields, ValueFields
from service.api.exchange.amending import CHANGE_REASON, reasoned
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import (
    Choice,
    Identifier,
    Moment,
    Number,
    Several,
    Text,
)
from service.api.fields.quantities import MeasureField
from service.api.records.book_routes import add_reading
from service.api.records.estimates import EstimateAnswer
from service.api.records.kept import CREATED, created_answer
from service.api.records.lists import OF_LOADS
from service.api.records.resource import Resource
from service.api.work.loads.loads import LOADS, load_example
from service.api.work.loads.updating import CompletingUpdate, add_update, estimates_of
from service.core.callers.access import Act
from service.core.loads import (
    HoldEntry,
    HoldState,
    ReleasedAs,
)
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.usecases.records.held.release_part import ReleasedPart, ReleasePart
from service.usecases.records.record_kinds import Papers
from service.usecases.records.update_hold import UpdateHold

PART_EXAMPLE: Final[dict[str, Any]] = {
    "released_to_kind": "bed",
    "released_to_id": OTHER_ID,
    "released_with_id": OTHER_ID,
    "mass": {"value": 300, "unit": "kg"},
}


class HoldEntryFields(RecordFields):
    """What happened to held clippings."""

    record_type = HoldEntry

    state = Choice(HoldState, metadata={"description": "`in_bay` undoes a release."})
    released_as = Choice(
        ReleasedAs,
        metadata={
            "description": (
                "`place`: a bed or a site that is asked and charged. `liquid_feed`: only of clean "
                "clippings. `elsewhere`: in the words of `released_to`. Left out, it is a place if "
                "`released_to_id` is given."
            )
        },
    )
    released_to_kind = Choice(DestinationKind)
    released_to_id = Identifier()
    released_with_id = Identifier(
        metadata={"description": "The vehicle that brought it to the place."}
    )
    released_to = Text(longest=500, breaks=True)
    released_at = Moment()


class HeapTemperatureAnswer(Answered):
    """A temperature measured inside a heap."""

    depth_mm = Number(low=0, high=10_000)
    temperature_c = Number(low=-40, high=150)
    at = Moment()
    measured_by = Text(longest=200)


class BayLoadingAnswer(Answered):
    """What of a heap came into a body: out of the bay, or out of another body."""

    id = Identifier()
    vehicle_id = Identifier()
    at = Moment()
    share = Number(low=0, high=1, metadata={"description": "Of the heap as it came to the bay."})
    from_vehicle_id = Identifier(
        allow_none=True,
        metadata={"description": "Out of whose body it was forked over; null: out of the bay."},
    )
    load_id = Identifier(
        allow_none=True,
        metadata={
            "description": "The load at whose end it was found missing on record: nobody said that "
            "it was loaded."
        },
    )


class HoldFacts(Answered):
    """Why clippings wait, and how long they keep."""

    hold_bay_id = Identifier()
    load_id = Identifier()
    lot_codes = Several(Text(longest=20), most=1000)
    status = Choice(LotStatus)
    mass_kg = fields.Nested(EstimateAnswer)
    volume_m3 = fields.Nested(EstimateAnswer)
    reason_code = Text(longest=100)
    reason = Text(longest=2000)
    release_condition_code = Text(longest=100)
    release_condition = Text(longest=2000)
    cut_at = Moment()
    amber_at = Moment(metadata={"description": "When it begins to turn, from the earliest cut."})
    red_at = Moment(metadata={"description": "When it has turned, from the earliest cut."})
    held_since = Moment(allow_none=True)
    temperatures = Several(
        fields.Nested(HeapTemperatureAnswer),
        most=1000,
        allow_none=True,
        metadata={"description": "What was measured inside; null if nobody did."},
    )
    loadings = Several(
        fields.Nested(BayLoadingAnswer),
        most=1000,
        allow_none=True,
        metadata={
            "description": "What of it was loaded into which body; null if nothing was. What is "
            "aboard stays `in_bay` until all of the heap is tipped, and takes no room of the bay."
        },
    )
    released_load_id = Identifier(
        allow_none=True, metadata={"description": "The load that the place is charged with."}
    )


HOLD_ENTRIES: Final = Resource(
    path="hold-entries",
    one="hold entry",
    many="hold entries",
    about="The hold queue: what waits, why, until what, and how long it keeps.",
    fields=HoldEntryFields,
    answered=(HoldFacts,),
    filters={
        "hold_bay_id": Identifier(),
        "load_id": Identifier(),
        "state": Choice(HoldState),
        "status": Choice(LotStatus),
        **OF_LOADS,
        "released_to_id": Identifier(),
    },
    changes_example={"state": "released", "released_to": "Hill Farm, on trailer 2"},
)


class ReleasedPartFields(ValueFields):
    """A part of a heap that left for a place: less than all of it."""

    record_type = ReleasedPart

    released_to_kind = Choice(DestinationKind)
    released_to_id = Identifier()
    released_with_id = Identifier(
        metadata={"description": "The vehicle that brought it to the place."}
    )
    mass = MeasureField(LOAD_MASS, beside="mass_kg", beside_unit="kg")
    released_at = Moment()


def hold_routes(
    papers: Papers, update_hold: UpdateHold, release_part: ReleasePart, door: Door
) -> Routes:
    """Return the routes of /hold-entries."""
    routes = Routes(HOLD_ENTRIES.path, description=HOLD_ENTRIES.about)
    add_reading(routes, HOLD_ENTRIES, papers.hold_entries, door, example=Example(hold_example))
    add_update(
        routes,
        HOLD_ENTRIES,
        papers.hold_entries,
        update_hold,
        door,
        act=Act.WORK_THE_HOLD,
        example=Example(hold_example),
    )
    answers = LOADS.answer()

    @routes.operation(
        "POST",
        f"/{HOLD_ENTRIES.path}/<uuid:record_id>/parts",
        name="release_part_of_hold_entry",
        summary="Release a part of what is held to a place; the rest waits as before.",
        may_answer=(409,),
        parameters=[CHANGE_REASON],
    )
    @door.admits(Act.WORK_THE_HOLD)
    @CompletingUpdate(update=release_part).around
    @reasoned
    @routes.body(ReleasedPartFields, example=PART_EXAMPLE)
    @routes.response(
        201, answers, example=Example(lambda: {**load_example(), "plan_id": None}), headers=CREATED
    )
    def release(asked: Asked, part: ReleasedPart, reason: str | None, record_id: UUID) -> Response:
        load = release_part(
            asked.caller, record_id, part, identifiers=asked.identifiers, reason=reason
        )
        return created_answer(answers, load, path="loads")

    return routes


def hold_example() -> dict[str, Any]:
    """Return a hold entry as it is answered; its numbers are invented."""
    entry = HoldEntry(
        **record_members(),
        hold_bay_id=EXAMPLE_ID,
        load_id=EXAMPLE_ID,
        lot_codes=("L-7K2M9QX",),
        status=LotStatus.UNKNOWN,
        reason_code="treatment_unknown",
        reason="Nobody knows what was put on this lawn.",
        release_condition_code="history_known",
        release_condition="Ask the client for the lawn's treatments.",
        cut_at=EXAMPLE_TIME,
        amber_at=EXAMPLE_TIME + timedelta(hours=12),
        red_at=EXAMPLE_TIME + timedelta(hours=24),
        **estimates_of(180),
    )
    return written(HOLD_ENTRIES.answer(), entry)

"""A day's routing as the dispatcher's screen shows it: what stands where, in which words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Final

from service.core.crews import Crew
from service.core.loads import HoldEntry
from service.pages.day.amounts import Amounts
from service.pages.day.deciding import Shown, shown
from service.pages.day.waiting import Waiting, waiting_of
from service.usecases.telling.day_look import DayLook
from service.usecases.telling.decisions.decision import Decision

Members = Mapping[str, Any]

NOTHING: Final[Members] = {"vehicles": (), "lots": ()}
LETTERS: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleView:
    """One vehicle's day.

    ``overdue`` is how many stops it should have come to and did not report: one may be under way,
    with two it is late. ``ends_late`` is whether the last is planned after the shift.
    """

    letter: str
    told: Members
    crews: str
    done: tuple[Members, ...]
    ahead: tuple[Members, ...]
    overdue: int = 0
    ends_late: bool = False

    @property
    def id(self) -> str:
        """Its id."""
        found: str = self.told["vehicle_id"]
        return found

    @property
    def next(self) -> Members | None:
        """Where it goes next."""
        return self.ahead[0] if self.ahead else None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayView:
    """Everything that is shown of a planned day."""

    vehicles: tuple[VehicleView, ...]
    waiting: tuple[Waiting, ...]
    places: tuple[Members, ...]
    unused_places: tuple[Members, ...]
    lots: Mapping[str, Members] = field(repr=False)
    letters: Mapping[str, str] = field(repr=False)
    amounts: Amounts = field(repr=False)

    @property
    def held(self) -> tuple[Waiting, ...]:
        """What is held, or to be."""
        return tuple(row for row in self.waiting if row.is_held)

    @property
    def left(self) -> tuple[Waiting, ...]:
        """What is left on a lawn, or has no place."""
        return tuple(row for row in self.waiting if not row.is_held)


def day_view(look: DayLook, entries: Sequence[HoldEntry]) -> DayView:
    """Return a planned day as it is shown.

    Parameters
    ----------
    look
        The day, with a plan.
    entries
        What is in the hold bays or expected there.
    """
    routing: Members = {} if look.plan is None else look.plan.routing
    vehicles = [vehicle for vehicle in routing["vehicles"] if vehicle["stops"] or vehicle["out"]]
    letters = {v["vehicle_id"]: letter_of(number) for number, v in enumerate(vehicles)}
    crews = {str(crew.id): crew for crew in look.crews}
    lots = {lot["job_id"]: lot for lot in routing["lots"]}
    by_load = {str(entry.load_id): entry for entry in entries}
    rows = tuple(
        _vehicle(look, vehicle, letters[vehicle["vehicle_id"]], crews) for vehicle in vehicles
    )
    waiting = tuple(waiting_of(routing, by_load))
    places = sorted(routing["destinations"], key=_place_order)
    return DayView(
        vehicles=rows,
        waiting=waiting,
        places=tuple(p for p in places if p["loads"] or p["destination_kind"] != "bed"),
        unused_places=tuple(p for p in places if not p["loads"] and p["destination_kind"] == "bed"),
        lots=lots,
        letters=letters,
        amounts=Amounts(routing, waiting),
    )


def matters_of(
    look: DayLook, decisions: Iterable[Decision], view: DayView | None
) -> tuple[Shown, ...]:
    """Return what waits for a word as it is shown, also of a day that has no plan.

    Without one there is nowhere else on the page that an act could lead to.
    """
    if view is not None:
        return tuple(shown(one, view.letters, look, view.amounts) for one in decisions)
    found = (shown(one, {}, look, Amounts(NOTHING, ())) for one in decisions)
    return tuple(
        replace(one, acts=tuple(act for act in one.acts if not act.href.startswith("#")))
        for one in found
    )


def cautions_of(matters: Iterable[Shown]) -> dict[str, int]:
    """Return with which matter, counted from 1, each caution stands: with the first that bears it.

    In every row nobody reads it, and below them all it is read after something was done.
    """
    found: dict[str, int] = {}
    for number, one in enumerate(matters, start=1):
        if one.caution:
            found.setdefault(one.caution, number)
    return found


def _vehicle(look: DayLook, told: Members, letter: str, crews: Mapping[str, Crew]) -> VehicleView:
    """Return a vehicle's day, and whether it is late; nobody is on a day that is over."""
    ahead = tuple(stop for stop in told["stops"] if not stop["done"])
    at = [] if look.is_past else [datetime.fromisoformat(stop["at"]) for stop in ahead]
    shift_ends = datetime.combine(look.day, look.depot.shift_ends, look.now.tzinfo)
    return VehicleView(
        letter=letter,
        told=told,
        crews=", ".join(crews[key].name for key in told["crew_ids"] if key in crews),
        done=tuple(stop for stop in told["stops"] if stop["done"]),
        ahead=ahead,
        overdue=sum(due < look.now for due in at),
        ends_late=any(due > shift_ends for due in at[-1:]),
    )


def letter_of(number: int) -> str:
    """Return A, B, ... Z, AA, AB, ... of 0, 1, ..."""
    before, last = divmod(number, len(LETTERS))
    return (letter_of(before - 1) if before else "") + LETTERS[last]


def _place_order(place: Members) -> tuple[bool, str, str]:
    return place["destination_kind"] == "bed", place["destination_kind"], place["name"]

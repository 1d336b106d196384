"""What of a vehicle's day is otherwise than in a plan before, in the sentences of its crew."""

from __future__ import annotations

from typing import Final

from service.core.crews import Vehicle
from service.core.plans import DayPlan
from service.usecases.day.replanning.outages import OUT
from service.usecases.telling.changes.differences import lots_that_moved
from service.usecases.telling.told.moved import MovedTold

MOST_CHANGES: Final = 5
NOBODY_YET: Final = "Nobody takes it over yet; the office knows."


def changed_for(vehicle: Vehicle, plan: DayPlan, before: DayPlan | None) -> tuple[str, ...]:
    """Return in sentences what of the vehicle's day is otherwise than in a plan before."""
    if before is None or (before.depot_id, before.day) != (plan.depot_id, plan.day):
        return ()
    mine = [
        one
        for one in lots_that_moved(before.routing, plan.routing)
        if vehicle.id in {ways.vehicle_id for ways in (one.was, one.becomes) if ways is not None}
    ]
    told = [f"{one.lot_code}: {_why(one)}" for one in mine[:MOST_CHANGES]]
    more = len(mine) - len(told)
    return (*told, f"And {more} more.") if more else tuple(told)


def _why(moved: MovedTold) -> str:
    """Return why a lot goes another way, to its crew; who else might do it is the office's."""
    is_left = moved.becomes is not None and not moved.becomes.goes_to
    return NOBODY_YET if moved.code == OUT and is_left else moved.why

"""Who could take a part of what a vehicle may not drive with: said with the warning itself."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.planned_day import PlannedDay
from service.usecases.day.replanning.idle import idle_vehicles, names_of

OVERLOADED: Final = "vehicle_may_be_overloaded"
# Its name is enough of those that work: a crew knows who is near. Common practice, no source.
MOST_AT_WORK: Final = 3


def own_warnings(made: PlannedDay) -> Iterator[dict[str, object]]:
    """Yield what is the matter with vehicles themselves; of an overload with who can help."""
    for day in made.built.vehicles.values():
        for warning in day.warnings:
            told = {"vehicle_id": str(day.vehicle_id), **warning}
            if warning["code"] == OVERLOADED:
                told["why"] = f"{warning['why']} {_who_helps(made, day)}"
            yield told


def without_twice(
    told: list[dict[str, object]], overflow: Iterator[dict[str, object]]
) -> list[dict[str, object]]:
    """Return both, but nothing of what a plan may overload of vehicles that are overloaded now."""
    heavy = {one["vehicle_id"] for one in told if one["code"] == OVERLOADED}
    return [*told, *(one for one in overflow if one["vehicle_id"] not in heavy)]


def _who_helps(made: PlannedDay, heavy: VehicleDay) -> str:
    """Return who has room: first who has nothing to do, then who is at work with an empty body."""
    facts, days = made.facts, made.built.vehicles.values()
    idle = idle_vehicles(facts, {day.vehicle_id for day in days})
    at_work = sorted(
        (
            facts.vehicles[day.vehicle_id]
            for day in days
            if day.vehicle_id != heavy.vehicle_id
            and facts.out(day.vehicle_id) is None
            and day.mass_aboard_kg == 0
        ),
        key=lambda one: (one.registration, one.id),
    )
    if idle:
        return f"{names_of(idle, facts)}, without a job on this day, can take a part of it over."
    if at_work:
        names = names_of(at_work[:MOST_AT_WORK], facts)
        return f"{names}, at work with an empty body, can take a part of it over."
    return "No other vehicle of the yard has an empty body: take a part off where it stands."

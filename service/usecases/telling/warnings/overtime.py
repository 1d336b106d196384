"""The warning that a plan has a crew work on long after the shift: its price alone says nothing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from service.usecases.day.planned_day import PlannedDay
from service.usecases.day.problem.way_home import last_begun_and_home_s

LONG_AFTER: Final = timedelta(minutes=30)  # common practice, no source
AFTER_SHIFT: Final = "long_after_shift"
# What is said before it is of one vehicle, and what follows of all of the yard.
THEN: Final = ". The shift ends at"


def overtime_warnings(made: PlannedDay) -> Iterator[dict[str, object]]:
    """Yield the vehicles that the plan has back at their depot long after its shift ends."""
    facts = made.facts
    ends_at = facts.span.at_clock(facts.depot.shift_ends)
    for answer in made.plan.vehicles:
        if not answer.stops or answer.stops[-1].done:
            continue
        begun_at, home_at = map(facts.span.at_second, last_begun_and_home_s(made.built, answer))
        if home_at - ends_at <= LONG_AFTER:
            continue
        last, day = answer.stops[-1], made.built.vehicles[answer.id]
        at = begun_at.astimezone(facts.span.zone)
        tip = last.destination and made.built.destinations[last.destination]
        what = f"its tip at {tip.name}" if tip else "a stop"
        home = home_at.astimezone(facts.span.zone)
        name = facts.vehicles[day.vehicle_id].registration
        yield {
            "vehicle_id": str(day.vehicle_id),
            "code": AFTER_SHIFT,
            "home_at": home.isoformat(),
            "why": (
                f"{name} is back at {home:%H:%M} by the plan (last: {what} at {at:%H:%M}){THEN} "
                f"{facts.depot.shift_ends:%H:%M}: ask the crew, or choose another place or another "
                "day for it."
            ),
        }

"""The warning that a load does not go where it was locked to: why not, and what would help."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from service.core.loads import Load
from service.usecases.day.loads import tip_of
from service.usecases.day.overrides import who_may_say_otherwise
from service.usecases.day.planned_day import PlannedDay
from service.usecases.day.problem.locks import lock_refusals
from service.usecases.day.replanning.outages import says_out

CODE: Final = "lock_not_kept"


def lost_lock_warnings(made: PlannedDay) -> Iterator[dict[str, object]]:
    """Yield the locked loads that the plan could not keep, each with what stood against it."""
    kept = {load.id for load in made.planned}
    tips = {tip_of(load, made.built) for load in made.planned if load.is_bound}
    for load in (*made.facts.planned_loads, *made.facts.lost_locks):
        if load.is_bound and load.id not in kept and tip_of(load, made.built) not in tips:
            yield {
                "vehicle_id": str(load.vehicle_id),
                "code": CODE,
                "load_id": str(load.id),
                "why": _refused(made, load) or [_out(made, load) or _no_day(made, load)],
            }


def _refused(made: PlannedDay, load: Load) -> list[str]:
    """Return what its place says to its lots, and who alone may say otherwise."""
    said = (
        f"{one.sentence} {who_may_say_otherwise(one)}" for one in lock_refusals(load, made.asked)
    )
    return list(dict.fromkeys(said))


def _out(made: PlannedDay, load: Load) -> str | None:
    """Return that the vehicle of a locked load is out, if that is what stands against it."""
    said = says_out(made.facts, load.vehicle_id)
    if said is None:
        return None
    if made.facts.stands(load.vehicle_id):
        return f"{said}: it tips nothing more."
    given = {job_id for day in made.built.vehicles.values() for job_id in day.given}
    if load.after_job_id in given:
        return f"{said}: it does not do the job before this tip."
    return None


def _no_day(made: PlannedDay, load: Load) -> str:
    """Return that it does not fit, and what would."""
    ready = made.ready(load)
    if ready is None:
        return "The place is not on record any more: choose another one."
    opens, closes = (
        f"{made.facts.span.at_second(at).astimezone(made.facts.span.zone):%H:%M}"
        for at in (ready.open_s, ready.close_s)
    )
    vehicle = made.facts.vehicles.get(load.vehicle_id)
    if vehicle is None:  # it left the yard, or the firm, since it was locked
        return "Its vehicle is not of this yard's day any more: choose another one."
    return (
        f"No way of {vehicle.registration} that keeps its payload, the locks beside this one and "
        f"the hours of {ready.name} ({opens} to {closes}) has it: other hours there, a tip more on "
        "the way or another vehicle would."
    )

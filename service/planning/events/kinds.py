"""The kinds of events of a day, each as the records that are different after it.

All take the day with what is done or under way frozen (``Standing.at``). An event of another kind
is an ``Event`` with the changed records in it.
"""

from __future__ import annotations

import dataclasses

from service.core.errors import Refusal
from service.planning.events.amendment import Event
from service.planning.model.problem import Aboard, Destination, Job, Matrix, Place, Problem, Vehicle

REFUSED = "refused"  # the code of a refusal that names no other


class EventNotPossible(Refusal):
    """The day does not have what the event is about, or its time for it is over."""

    code = "event_not_possible"
    sentence = "This cannot have happened: {detail}"


def job_added(
    problem: Problem,
    vehicle: str,
    job: Job,
    *,
    after_job: str | None = None,
    place: Place | None = None,
    matrix: Matrix | None = None,
) -> Event:
    """Return a new job on a vehicle's list: after a job that is named, else at the end.

    Parameters
    ----------
    after_job
        A job of the vehicle; it may be the last one done, but no earlier one.
    place
        The job's place, if it is a new one.
    matrix
        The road matrix with the new place, if the problem has one.
    """
    found = _vehicle(problem, vehicle)
    if any(job.id == known.id for known in problem.jobs):
        raise EventNotPossible(detail=f"there is a job {job.id} already.")
    if job.mass_kg > found.payload_kg or job.volume_l > found.body_l:
        raise EventNotPossible(detail=f"{job.id} does not fit on {vehicle} even if it is empty.")
    at = len(found.jobs)
    if after_job is not None:
        if after_job not in found.jobs[max(0, _passed(found) - 1) :]:
            raise EventNotPossible(detail=f"{vehicle} has passed {after_job} or never had it.")
        at = found.jobs.index(after_job) + 1
    return Event(
        why=f"{job.id} was added",
        vehicles=(dataclasses.replace(found, jobs=(*found.jobs[:at], job.id, *found.jobs[at:])),),
        jobs=(job,),
        places=() if place is None else (place,),
        matrix=matrix,
    )


def job_amended(problem: Problem, job: Job) -> Event:
    """Return a job that is otherwise than planned: its mass, window, place, or what refuses it."""
    if all(job.id != known.id for known in problem.jobs):
        raise EventNotPossible(detail=f"there is no job {job.id}.")
    return Event(why=f"{job.id} was amended", jobs=(job,))


def job_cancelled(problem: Problem, job: str) -> Event:
    """Return a job that falls away; a tip that was locked right after it falls with it."""
    found = next((v for v in problem.vehicles if job in v.jobs), None)
    if found is None:
        raise EventNotPossible(detail=f"no vehicle has a job {job}.")
    if job in found.jobs[: _passed(found)]:
        raise EventNotPossible(detail=f"{job} is done or under way.")
    return Event(
        why=f"{job} was cancelled",
        vehicles=(
            dataclasses.replace(
                found,
                jobs=tuple(name for name in found.jobs if name != job),
                locked=tuple(lock for lock in found.locked if lock.after_job != job),
            ),
        ),
        dropped_jobs=(job,),
    )


def closes_early(problem: Problem, destination: str, close_s: int) -> Event:
    """Return a destination whose last arrival is earlier than planned."""
    found = _destination(problem, destination)
    return Event(
        why=f"{destination} closes early",
        destinations=(
            dataclasses.replace(found, open_s=min(found.open_s, close_s), close_s=close_s),
        ),
    )


def capacity_cut(problem: Problem, destination: str, capacity_kg: int) -> Event:
    """Return a destination with another room for the whole day, what is tipped included."""
    found = _destination(problem, destination)
    return Event(
        why=f"{destination} takes only {capacity_kg} kg",
        destinations=(dataclasses.replace(found, capacity_kg=capacity_kg),),
    )


def refuses(
    problem: Problem, destination: str, *, jobs: tuple[str, ...] = (), code: str = REFUSED
) -> Event:
    """Return a destination that refuses the lots of these jobs, or everything if none is named."""
    found = _destination(problem, destination)
    if not jobs:
        return Event(
            why=f"{destination} refuses",
            destinations=(dataclasses.replace(found, accepts=()),),
        )
    known = {job.id: job for job in problem.jobs}
    for name in jobs:
        if name not in known:
            raise EventNotPossible(detail=f"there is no job {name}.")
    return Event(
        why=f"{destination} refuses {', '.join(jobs)}",
        jobs=tuple(
            dataclasses.replace(
                known[name],
                refused_destinations=tuple(
                    sorted({**dict(known[name].refused_destinations), destination: code}.items())
                ),
            )
            for name in jobs
        ),
    )


def load_weighed(
    problem: Problem, vehicle: str, mass_kg: int, *, volume_l: int | None = None
) -> Event:
    """Return what is aboard as the scales say; every lot gets its share.

    Parameters
    ----------
    mass_kg
        What is aboard now, 1 or more.
    volume_l
        And how bulky; if it is not known, litres grow or shrink with the kilograms.
    """
    found = _vehicle(problem, vehicle)
    kg = sum(part.mass_kg for part in found.aboard)
    litres = sum(part.volume_l for part in found.aboard)
    if not kg or mass_kg < 1:
        raise EventNotPossible(detail=f"{vehicle} has nothing aboard that could be weighed.")
    new_l = (2 * litres * mass_kg + kg) // (2 * kg) if volume_l is None else volume_l
    parts, seen_kg, seen_l, given_kg, given_l = [], 0, 0, 0, 0
    for part in found.aboard:  # rounding goes to the last parts, so that the sums are exact
        seen_kg, seen_l = seen_kg + part.mass_kg, seen_l + part.volume_l
        share_kg = seen_kg * mass_kg // kg - given_kg
        share_l = (seen_l * new_l // litres if litres else 0) - given_l
        given_kg, given_l = given_kg + share_kg, given_l + share_l
        parts.append(dataclasses.replace(part, mass_kg=share_kg, volume_l=share_l))
    return Event(
        why=f"the load of {vehicle} weighs {mass_kg} kg instead of {kg} kg",
        vehicles=(dataclasses.replace(found, aboard=tuple(parts)),),
    )


def repaired(problem: Problem, vehicle: str, until_s: int) -> Event:
    """Return a vehicle that stands still after what is done or under way, and goes on later."""
    found = _vehicle(problem, vehicle)
    why = f"{vehicle} stands still until {until_s // 3600:02}:{until_s // 60 % 60:02}"
    if not found.done:
        start = max(found.shift_start_s, until_s)
        late = dataclasses.replace(
            found, shift_start_s=start, shift_end_s=max(found.shift_end_s, start)
        )
        return Event(why=why, vehicles=(late,))
    last = found.done[-1]
    leave = max(last.leave_s or last.arrive_s, until_s)
    done = (*found.done[:-1], dataclasses.replace(last, leave_s=leave))
    return Event(why=why, vehicles=(dataclasses.replace(found, done=done),))


def out_for_the_day(
    problem: Problem, vehicle: str, takers: dict[str, tuple[str, ...]], loads: tuple[Job, ...] = ()
) -> Event:
    """Return a vehicle that does nothing more after what is done or under way, and who takes over.

    Parameters
    ----------
    takers
        The whole new job list of every vehicle that takes over jobs of it, by its id.
    loads
        What is aboard, as jobs of those who fetch it from where the vehicle stands.

    Notes
    -----
    ``breakdown.broken_down`` finds the takers. Without ``loads`` what is aboard stays aboard, and
    the vehicle goes on to tip it.
    """
    found = _vehicle(problem, vehicle)
    gone = found.jobs[_passed(found) :]
    given = [name for names in takers.values() for name in names]
    missing = [name for name in (*gone, *(load.id for load in loads)) if name not in given]
    if missing:
        raise EventNotPossible(detail=f"nobody takes over {', '.join(missing)}.")
    stands = dataclasses.replace(
        found,
        jobs=found.jobs[: _passed(found)],
        aboard=() if loads else found.aboard,
        locked=() if loads else tuple(k for k in found.locked if k.after_job not in gone),
    )
    others = tuple(
        dataclasses.replace(_vehicle(problem, name), jobs=jobs) for name, jobs in takers.items()
    )
    return Event(why=f"{vehicle} broke down", vehicles=(stands, *others), jobs=loads)


def load_name(vehicle: Vehicle, number: int | str) -> str:
    """Return the id of a part of a load as a job for others."""
    return f"{vehicle.id}/load/{number}"


def load_jobs(
    vehicle: Vehicle,
    place: str,
    parts: tuple[Aboard, ...],
    *,
    first: int,
    service_s: int,
    window_s: int,
) -> tuple[Job, ...]:
    """Return what a vehicle carries as jobs for others, a job a part, all at one place.

    Parameters
    ----------
    first
        The number of the first: a vehicle may break down again, and names stand for ever.
    """
    return tuple(
        Job(
            id=load_name(vehicle, number),
            place=place,
            mass_kg=part.mass_kg,
            volume_l=part.volume_l,
            status=part.status,
            service_s=service_s,
            window_s=(0, window_s),
        )
        for number, part in enumerate(parts, start=first)
    )


def _passed(vehicle: Vehicle) -> int:
    return sum(1 for stop in vehicle.done if stop.job is not None)


def _vehicle(problem: Problem, name: str) -> Vehicle:
    for vehicle in problem.vehicles:
        if vehicle.id == name:
            return vehicle
    raise EventNotPossible(detail=f"there is no vehicle {name}.")


def _destination(problem: Problem, name: str) -> Destination:
    for destination in problem.destinations:
        if destination.id == name:
            return destination
    raise EventNotPossible(detail=f"there is no destination {name}.")

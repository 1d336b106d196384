"""Who takes over when a vehicle is out for the day: its jobs, and the load it stands there with."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection
from functools import partial

from service.planning.arrays.tables import Tables
from service.planning.events.amendment import Event
from service.planning.events.kinds import EventNotPossible, load_jobs, load_name, out_for_the_day
from service.planning.events.live_day import LiveDay
from service.planning.events.takeover import Parcel, Taker, standing_place, take_over
from service.planning.model.problem import Aboard, Job, Vehicle

# From one body into another, a load that a crew forks over; common practice, no source.
RELOAD_S = 900
MIXED = "mixed"  # why a destination refuses a lot that it would take by itself


def broken_down(day: LiveDay, vehicle: str, *, out: Collection[str] = ()) -> Event:
    """Return the event that a vehicle does nothing more after what is done or under way.

    Each of its jobs, and each lot aboard as a job of its own, goes to the vehicle and the point of
    its list where it costs least in driving, lateness and overtime, without regard to tips: these
    are planned when the event is answered. Lots aboard too large for any other vehicle are split.
    What was mixed aboard stays so: each of its lots goes only where all of them may.

    Parameters
    ----------
    day
        The standing day, frozen at the time of the breakdown.
    out
        Vehicles that broke down before: they take nothing over.

    Raises
    ------
    EventNotPossible
        If there is no such vehicle, or no other vehicle that could carry its jobs.
    """
    problem = day.problem
    number = next((n for n, v in enumerate(problem.vehicles) if v.id == vehicle), None)
    if number is None:
        raise EventNotPossible(detail=f"there is no vehicle {vehicle}.")
    broken = problem.vehicles[number]
    others = [v for v in problem.vehicles if v.id != vehicle and v.id not in out]
    loads = _loads(day.fleet.tables, broken, others)
    jobs = {job.id: job for job in problem.jobs}
    gone = [jobs[name] for name in broken.jobs[_passed(broken) :]]
    taken = take_over(
        day.fleet.tables,
        [Parcel(name=job.id, cut=partial(_whole_or_not, job)) for job in (*gone, *loads)],
        [
            Taker(vehicle=v, blocks=tuple((name,) for name in v.jobs), first=_passed(v))
            for v in others
        ],
    )
    if taken.left:
        raise EventNotPossible(detail=f"no other vehicle can carry {taken.left[0]}.")
    lists = {
        name: tuple(job for block in blocks for job in block)
        for name, blocks in taken.blocks.items()
    }
    return out_for_the_day(problem, vehicle, lists, loads)


def _whole_or_not(job: Job, vehicle: Vehicle) -> tuple[Job, ...]:
    """Return a job as it is for a vehicle that can carry it, else none."""
    fits = job.mass_kg <= vehicle.payload_kg and job.volume_l <= vehicle.body_l
    return (job,) if fits else ()


def _passed(vehicle: Vehicle) -> int:
    return sum(1 for stop in vehicle.done if stop.job is not None)


def _loads(tables: Tables, broken: Vehicle, others: list[Vehicle]) -> tuple[Job, ...]:
    """Return what is aboard as jobs at the place where the vehicle stands."""
    if not broken.aboard or not others:
        return ()
    jobs, place = tables.jobs, standing_place(tables, broken)
    payload = max(vehicle.payload_kg for vehicle in others)
    body = max(vehicle.body_l for vehicle in others if vehicle.payload_kg == payload)
    parts: list[Aboard] = []
    for share in broken.mixture:
        # what rounding left no kilogram of is there all the same: a job of none would not say so
        part = dataclasses.replace(share, mass_kg=max(share.mass_kg, 1))
        pieces = max(-(-part.mass_kg // payload), -(-part.volume_l // body))
        for piece in range(pieces):
            low, high = part.mass_kg * piece // pieces, part.mass_kg * (piece + 1) // pieces
            low_l, high_l = part.volume_l * piece // pieces, part.volume_l * (piece + 1) // pieces
            parts.append(dataclasses.replace(part, mass_kg=high - low, volume_l=high_l - low_l))
    made = load_jobs(
        broken,
        place,
        tuple(parts),
        first=1 + sum(1 for name in jobs if name.startswith(load_name(broken, ""))),
        service_s=RELOAD_S,
        window_s=max(v.shift_end_s for v in others),
    )
    refused = _refused(tables, broken)
    return tuple(dataclasses.replace(job, refused_destinations=refused) for job in made)


def _refused(tables: Tables, broken: Vehicle) -> tuple[tuple[str, str], ...]:
    """Return who does not take all that is mixed in a load, and why.

    It is forked over lot by lot on paper only: each part goes where the whole mixture may.
    """
    found = {}
    statuses = {part.status for part in broken.mixture}
    for place in tables.problem.destinations:
        # Part by part, none could tell that another of the mixture is taken for a time only.
        timed = len(statuses) > 1 and any(s in statuses for s, _ in place.accepts_until_s)
        if timed or not statuses <= set(place.accepts):
            found[place.id] = MIXED
    for part in broken.mixture:
        found |= {} if part.job is None else dict(tables.jobs[part.job].refused_destinations)
    return tuple(sorted(found.items()))

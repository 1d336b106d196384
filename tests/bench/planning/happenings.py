"""What happens on a planned day, drawn: the day afterwards, as whoever plans it then finds it."""

from __future__ import annotations

import dataclasses
import random
from collections.abc import Callable
from functools import partial
from typing import Any

from service.planning.arrays.tables import tables_of
from service.planning.events.takeover import Parcel, Taker, take_over
from service.planning.model.problem import Job, Place, Problem, Vehicle
from service.planning.model.result import Plan

ELEVEN = 11 * 3600
CHANGE_CENTS = 200


class NothingToHappenTo(Exception):
    """The day does not have what this would happen to."""


def priced(problem: Problem, cents: int = CHANGE_CENTS) -> Problem:
    """Return the day with so many cents for each tip that the plan before did not have."""
    costs = dataclasses.replace(problem.costs, change_cents_per_stop=cents)
    return dataclasses.replace(problem, costs=costs)


def with_records(problem: Problem, *changed: Any) -> Problem:
    """Return the day with these vehicles, jobs and destinations in the place of those of the id."""
    new = {(type(record), record.id): record for record in changed}
    return dataclasses.replace(
        problem,
        **{
            name: tuple(new.get((type(old), old.id), old) for old in getattr(problem, name))
            for name in ("vehicles", "jobs", "destinations")
        },
    )


def ahead_of(vehicle: Vehicle) -> tuple[str, ...]:
    """Return a vehicle's jobs that are neither done nor under way."""
    return vehicle.jobs[sum(1 for stop in vehicle.done if stop.job is not None) :]


def gone_to(problem: Problem, plan: Plan, kind: str) -> list[str]:
    """Return the destinations of a kind that somebody means to go to."""
    kinds = {d.id: d.kind for d in problem.destinations}
    ahead = {
        stop.destination
        for vehicle, answer in zip(problem.vehicles, plan.vehicles, strict=True)
        for stop in answer.stops[len(vehicle.done) :]
        if stop.destination is not None and kinds[stop.destination] == kind
    }
    if not ahead:
        raise NothingToHappenTo
    return sorted(ahead)


def _busy(problem: Problem, chance: random.Random) -> Vehicle:
    busy = [vehicle for vehicle in problem.vehicles if ahead_of(vehicle)]
    if not busy:
        raise NothingToHappenTo
    return chance.choice(busy)


def _job_of(problem: Problem, vehicle: Vehicle, chance: random.Random) -> Job:
    name = chance.choice(ahead_of(vehicle))
    return next(job for job in problem.jobs if job.id == name)


def added(problem: Problem, _: Plan, chance: random.Random) -> Problem:
    """Return the day with a job like another, 500 m away from that one, after it."""
    vehicle = _busy(problem, chance)
    like = _job_of(problem, vehicle, chance)
    near = next(place for place in problem.places if place.id == like.place)
    name = f"new{len(problem.places)}"
    new = Place(id=name, x_m=(near.x_m or 0) + 300, y_m=(near.y_m or 0) + 400)
    at = vehicle.jobs.index(like.id) + 1
    jobs = (*vehicle.jobs[:at], name, *vehicle.jobs[at:])
    return dataclasses.replace(
        with_records(problem, dataclasses.replace(vehicle, jobs=jobs)),
        jobs=(*problem.jobs, dataclasses.replace(like, id=name, place=name)),
        places=(*problem.places, new),
    )


def amended(problem: Problem, _: Plan, chance: random.Random) -> Problem:
    """Return the day with half or one and a half of a job's mass."""
    vehicle = _busy(problem, chance)
    job = _job_of(problem, vehicle, chance)
    share = chance.choice([0.5, 1.5])
    share = min(share, vehicle.payload_kg / job.mass_kg, vehicle.body_l / job.volume_l)
    mass_kg, volume_l = int(job.mass_kg * share), int(job.volume_l * share)
    return with_records(problem, dataclasses.replace(job, mass_kg=mass_kg, volume_l=volume_l))


def without_job(problem: Problem, vehicle: Vehicle, name: str) -> Problem:
    """Return the day without a job, and without a lock right after it."""
    without = dataclasses.replace(
        vehicle,
        jobs=tuple(job for job in vehicle.jobs if job != name),
        locked=tuple(lock for lock in vehicle.locked if lock.after_job != name),
    )
    jobs = tuple(job for job in problem.jobs if job.id != name)
    return dataclasses.replace(with_records(problem, without), jobs=jobs)


def cancelled(problem: Problem, _: Plan, chance: random.Random) -> Problem:
    """Return the day without one of its jobs."""
    vehicle = _busy(problem, chance)
    return without_job(problem, vehicle, _job_of(problem, vehicle, chance).id)


def closing(problem: Problem, plan: Plan, chance: random.Random) -> Problem:
    """Return the day on which a site in use closes at one of four hours."""
    close_s = chance.choice([12, 13, 14, 15]) * 3600
    return _destination(
        problem,
        chance.choice(gone_to(problem, plan, "site")),
        lambda d: dataclasses.replace(d, open_s=min(d.open_s, close_s), close_s=close_s),
    )


def cut(problem: Problem, plan: Plan, chance: random.Random) -> Problem:
    """Return the day with less room at a site: a tenth to a half of what goes there has none."""
    name = chance.choice(gone_to(problem, plan, "site"))
    used_kg = next(use.used_kg for use in plan.destinations if use.id == name)
    room_kg = int(used_kg * chance.uniform(0.5, 0.9))
    return _destination(problem, name, lambda d: dataclasses.replace(d, capacity_kg=room_kg))


def refused_by(problem: Problem, name: str) -> Problem:
    """Return the day on which a destination refuses everything."""
    return _destination(problem, name, lambda d: dataclasses.replace(d, accepts=()))


def refusing(problem: Problem, plan: Plan, chance: random.Random) -> Problem:
    """Return the day on which a bed in use refuses everything."""
    return refused_by(problem, chance.choice(gone_to(problem, plan, "bed")))


def _destination(problem: Problem, name: str, change: Callable[[Any], Any]) -> Problem:
    return with_records(problem, *(change(d) for d in problem.destinations if d.id == name))


def late(problem: Problem, vehicle: Vehicle, until_s: int) -> Problem:
    """Return the day on which a vehicle stands still, and goes on at that time."""
    if not vehicle.done:
        return with_records(problem, dataclasses.replace(vehicle, shift_start_s=until_s))
    last = dataclasses.replace(vehicle.done[-1], leave_s=until_s)
    return with_records(problem, dataclasses.replace(vehicle, done=(*vehicle.done[:-1], last)))


def standing_still(problem: Problem, _: Plan, chance: random.Random) -> Problem:
    """Return the day with a vehicle that is repaired within one or two hours."""
    return late(problem, _busy(problem, chance), ELEVEN + chance.randrange(3600, 7200))


def out(problem: Problem, _: Plan, chance: random.Random) -> Problem:
    """Return the day with a vehicle that has no more jobs; others take them over."""
    vehicle = _busy(problem, chance)
    gone = ahead_of(vehicle)
    taken = take_over(
        tables_of(problem),
        [
            Parcel(name=job.id, cut=partial(_whole_or_not, job))
            for job in problem.jobs
            if job.id in gone
        ],
        [
            Taker(
                vehicle=other,
                blocks=tuple((name,) for name in other.jobs),
                first=len(other.jobs) - len(ahead_of(other)),
            )
            for other in problem.vehicles
            if other.id != vehicle.id
        ],
    )
    if taken.left:
        raise NothingToHappenTo
    lists = {name: tuple(job for (job,) in blocks) for name, blocks in taken.blocks.items()}
    lists[vehicle.id] = vehicle.jobs[: len(vehicle.jobs) - len(gone)]
    return with_records(
        problem,
        *(dataclasses.replace(v, jobs=lists[v.id]) for v in problem.vehicles if v.id in lists),
    )


def _whole_or_not(job: Job, vehicle: Vehicle) -> tuple[Job, ...]:
    """Return a job as it is for a vehicle that can carry it, else none."""
    fits = job.mass_kg <= vehicle.payload_kg and job.volume_l <= vehicle.body_l
    return (job,) if fits else ()


def weighed(problem: Problem, _: Plan, chance: random.Random) -> Problem:
    """Return the day with a lot aboard that weighs up to a third more or less than thought."""
    loaded = [v for v in problem.vehicles if v.aboard and v.aboard[0].mass_kg]
    if not loaded:
        raise NothingToHappenTo
    vehicle = chance.choice(loaded)
    first, *others = vehicle.aboard
    free_kg = vehicle.payload_kg - sum(part.mass_kg for part in others)
    mass_kg = min(free_kg, max(1, int(first.mass_kg * chance.uniform(0.67, 1.33))))
    aboard = (dataclasses.replace(first, mass_kg=mass_kg), *others)
    return with_records(problem, dataclasses.replace(vehicle, aboard=aboard))


KINDS: dict[str, Callable[[Problem, Plan, random.Random], Problem]] = {
    "job added": added,
    "job amended": amended,
    "job cancelled": cancelled,
    "site closes early": closing,
    "capacity cut": cut,
    "bed refuses": refusing,
    "vehicle late": standing_still,
    "vehicle out": out,
    "load weighed": weighed,
}

"""Where every vehicle is at a given time: what is done or under way, and what is aboard."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from dataclasses import dataclass, field

from service.planning.model.problem import Aboard, Destination, DoneStop, Job, Problem, Vehicle
from service.planning.model.result import Plan, PlanStop, VehiclePlan


def frozen_at(problem: Problem, plan: Plan, clock_s: int) -> Problem:
    """Return the problem with everything done or under way at this time frozen, for all vehicles.

    A stop is under way as soon as the vehicle has left the stop before it. Frozen stops take the
    place of ``done``; ``aboard`` is what is in the body after them, lot by lot.

    Parameters
    ----------
    problem
        The day as planned; vehicles whose ``done`` is further than the clock keep it.
    plan
        A legal plan of it.
    clock_s
        Seconds from midnight of the working day.
    """
    jobs = {job.id: job for job in problem.jobs}
    places = {d.id: d for d in problem.destinations}
    left: dict[str, dict[str | None, int]] = {}
    for part in plan.unplaced:
        left.setdefault(part.vehicle, {})[part.after_job] = part.mass_kg
    return dataclasses.replace(
        problem,
        vehicles=tuple(
            frozen_vehicle(
                vehicle,
                answer,
                clock_s,
                left_kg=left.get(vehicle.id, {}),
                jobs=jobs,
                destinations=places,
            )
            for vehicle, answer in zip(problem.vehicles, plan.vehicles, strict=True)
        ),
    )


def frozen_vehicle(
    vehicle: Vehicle,
    answer: VehiclePlan,
    clock_s: int,
    *,
    left_kg: Mapping[str | None, int],
    jobs: Mapping[str, Job],
    destinations: Mapping[str, Destination],
) -> Vehicle:
    """Return one vehicle with everything done or under way at this time frozen.

    Parameters
    ----------
    answer
        Its stops in the plan.
    left_kg
        What the plan leaves unplaced of its material, by the job before: as far as it is that
        job's lot it stays on the lawn, and more than that aboard.
    jobs, destinations
        Those of the problem, by id.
    """
    body = _Body(parts=[_Part(p.job, p.status, p.mass_kg, p.volume_l) for p in vehicle.aboard])
    done, leave = list(vehicle.done), vehicle.shift_start_s
    if done:
        leave = _leave(answer.stops[len(done) - 1], jobs, destinations)
    for stop in answer.stops[len(done) :]:
        if leave > clock_s:
            break
        leave = _leave(stop, jobs, destinations)
        done.append(_done(stop, leave))
        if stop.job is not None:
            body.load(jobs[stop.job], left_kg.get(stop.job, 0))
        else:
            body.take(stop.mass_kg)
    return _frozen(vehicle, tuple(done), body)


@dataclass(slots=True)
class _Part:
    job: str | None
    status: str
    kg: int
    litres: int


@dataclass(slots=True)
class _Body:
    parts: list[_Part] = field(default_factory=list)

    def load(self, job: Job, left_kg: int) -> None:
        lot = _Body(parts=[_Part(job.id, job.status, job.mass_kg, job.volume_l)])
        lot.take(left_kg)
        self.parts += [part for part in lot.parts if part.kg]

    def take(self, kg: int) -> None:
        """Take kilograms off, the same share of every part; rounding goes to the last parts."""
        total, litres = sum(p.kg for p in self.parts), sum(p.litres for p in self.parts)
        if not kg:
            return
        if kg >= total:
            self.parts.clear()
            return
        gone = (2 * litres * kg + total) // (2 * total)
        left_kg, left_l = total - kg, litres - gone
        seen_kg = seen_l = given_kg = given_l = 0
        for part in self.parts:
            seen_kg, seen_l = seen_kg + part.kg, seen_l + part.litres
            part.kg = seen_kg * left_kg // total - given_kg
            part.litres = (seen_l * left_l // litres if litres else 0) - given_l
            given_kg, given_l = given_kg + part.kg, given_l + part.litres


def _leave(stop: PlanStop, jobs: Mapping[str, Job], places: Mapping[str, Destination]) -> int:
    if stop.leave_s is not None:
        return stop.leave_s
    if stop.job is not None:
        job = jobs[stop.job]
        return max(stop.arrive_s, job.window_s[0]) + job.service_s
    destination = places[str(stop.destination)]
    return destination.begins_s(stop.arrive_s) + destination.tip_s


def _done(stop: PlanStop, leave_s: int) -> DoneStop:
    return DoneStop(
        arrive_s=stop.arrive_s,
        leave_s=leave_s,
        job=stop.job,
        destination=stop.destination,
        mass_kg=stop.mass_kg,
        volume_l=stop.volume_l,
        statuses=stop.statuses,
        reason=stop.reason,
    )


def _frozen(vehicle: Vehicle, done: tuple[DoneStop, ...], body: _Body) -> Vehicle:
    parts = tuple(
        Aboard(mass_kg=p.kg, volume_l=p.litres, status=p.status, job=p.job) for p in body.parts
    )
    passed = sum(1 for stop in done if stop.job is not None)
    gone = set(vehicle.jobs[: max(0, passed - 1)])
    since: dict[str | None, int] = {}  # tipped since the last done job, by destination
    for stop in done:
        if stop.job is not None:
            since.clear()
        else:
            since[stop.destination] = max(since.get(stop.destination, 0), stop.mass_kg)
    here = vehicle.jobs[passed - 1] if passed else None
    locked = tuple(
        lock
        for lock in vehicle.locked
        if lock.after_job not in gone
        and (lock.after_job is not None or passed == 0)
        and not (lock.after_job == here and since.get(lock.destination, 0) >= (lock.mass_kg or 1))
    )
    return dataclasses.replace(vehicle, done=done, aboard=parts, locked=locked)

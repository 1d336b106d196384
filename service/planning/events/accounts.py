"""The books of a standing day: rooms, done tips, and the vehicles' answers as they change."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from service.planning.arrays.room import numbers_of
from service.planning.arrays.tables import Tables, Whole
from service.planning.events.amendment import Event
from service.planning.model.problem import Destination, Problem, Vehicle
from service.planning.model.result import DestinationUse, PlanStop, Unplaced
from service.planning.outcome.stops import Written, done_cost, told_done
from service.planning.tip_plans.columns import Column


def carriers(problem: Problem, event: Event) -> list[int]:
    """Return the numbers of the vehicles an event is about, and of those that carry its jobs."""
    names = {vehicle.id for vehicle in event.vehicles}
    jobs = {job.id for job in event.jobs}
    return [
        number
        for number, vehicle in enumerate(problem.vehicles)
        if vehicle.id in names or (jobs and not jobs.isdisjoint(vehicle.jobs))
    ]


def shut_out(
    columns: Sequence[Column],
    written: Sequence[Written],
    number: int,
    *,
    old: Destination,
    new: Destination,
) -> set[int]:
    """Return who can no longer go to a destination as planned, or pays or waits otherwise there."""
    same = dataclasses.replace(
        new,
        capacity_kg=old.capacity_kg,
        close_s=old.close_s,
        accepts=old.accepts,
        accepts_until_s=old.accepts_until_s,
    )
    return {
        column.vehicle
        for column, answer in zip(columns, written, strict=True)
        if any(d == number for _, d, _ in column.tips)
        for stop in answer.plan.stops
        if stop.destination == new.id
        and not stop.done
        and (
            same != old
            or stop.arrive_s > new.close_s
            or not set(stop.statuses) <= set(new.accepts)
            or new.too_late(stop.statuses, max(stop.arrive_s, new.open_s))
        )
    }


def uses_of(
    problem: Problem, left_kg: Whole, before: tuple[DestinationUse, ...]
) -> tuple[DestinationUse, ...]:
    """Return what every destination gets; what did not change is not made anew."""
    destinations = problem.destinations
    uses = list(before)
    if [use.id for use in uses] != [d.id for d in destinations]:
        known = {use.id: use for use in uses}
        uses = [known.get(d.id, DestinationUse(id=d.id, used_kg=0)) for d in destinations]
    left = left_kg.tolist()
    for number, (use, d) in enumerate(zip(uses, destinations, strict=True)):
        used = d.capacity_kg - left[number]
        if use.room_kg != left[number] or use.used_kg != used:
            uses[number] = dataclasses.replace(use, used_kg=used, room_kg=left[number])
    return tuple(uses)


def passed(tables: Tables, old: Written, frozen: Vehicle) -> Written:
    """Return a vehicle's answer when more of it is done: the same stops, some of them history."""
    stops = [*map(told_done, frozen.done), *old.plan.stops[len(frozen.done) :]]
    unplaced = _left_from_now(tables, old, frozen)
    cost = sum(part.mass_kg for part in unplaced) * tables.unplaced
    return dataclasses.replace(
        old,
        plan=dataclasses.replace(old.plan, stops=tuple(stops)),
        unplaced=unplaced,
        parts=old.parts | {"unplaced": cost},
        spent=done_cost(tables, frozen),
    )


def _left_from_now(tables: Tables, old: Written, frozen: Vehicle) -> tuple[Unplaced, ...]:
    """Return what is still left when more is done: what stays aboard is left from now on.

    What lies on lawns that are passed is history.
    """
    done = [stop.job for stop in frozen.done if stop.job is not None]
    ahead = tuple(part for part in old.unplaced if part.after_job not in {None, *done})
    passed_by = [part for part in old.unplaced if part.after_job in {None, *done}]
    if not passed_by:
        return ahead
    aboard_kg = sum(part.mass_kg for part in frozen.aboard)
    litres = sum(part.volume_l for part in frozen.aboard)
    mass_kg = (
        aboard_kg
        + sum(tables.jobs[name].mass_kg for name in frozen.jobs[len(done) :])
        - sum(stop.mass_kg for stop in old.plan.stops[len(frozen.done) :])
        - sum(part.mass_kg for part in ahead)
    )
    if mass_kg <= 0:
        return ahead
    now = dataclasses.replace(
        passed_by[0],
        after_job=done[-1] if done else None,
        mass_kg=mass_kg,
        volume_l=(2 * litres * mass_kg + aboard_kg) // (2 * aboard_kg),
    )
    return (now, *ahead)


def told_before(new: Written, stops: tuple[PlanStop, ...]) -> Written:
    """Return a vehicle's answer with the explanations it had, where its stops are the same."""
    told = list(new.plan.stops)
    if len(told) != len(stops):
        return new
    for number, (stop, old) in enumerate(zip(told, stops, strict=True)):
        same = (stop.job, stop.destination, stop.arrive_s, stop.mass_kg) == (
            old.job,
            old.destination,
            old.arrive_s,
            old.mass_kg,
        )
        if same and not stop.done:
            told[number] = old
    return dataclasses.replace(new, plan=dataclasses.replace(new.plan, stops=tuple(told)))


def with_reasons(tables: Tables, new: Written, left_kg: Whole, cause: str) -> Written:
    """Return a vehicle's answer with fee, room left and the cause at every tip still to come."""
    numbers = numbers_of(tables.problem)
    stops = []
    for stop in new.plan.stops:
        told = stop
        if stop.destination is not None and not stop.done:
            destination = tables.named[stop.destination]
            left = max(0, int(left_kg[numbers[stop.destination]]))
            told = dataclasses.replace(
                stop,
                reason=f"fee {destination.fee_cents_per_t} per t, {left} kg of room left; "
                f"planned again: {cause}",
            )
        stops.append(told)
    return dataclasses.replace(new, plan=dataclasses.replace(new.plan, stops=tuple(stops)))

"""Why a load goes where it goes: price, room, the runner-up, and what stood against the others."""

from __future__ import annotations

import dataclasses

import numpy as np

from service.planning.answer import cents
from service.planning.columns import Column, best_columns
from service.planning.greedy import Fleet, take
from service.planning.problem import Destination, Job
from service.planning.result import Barrier, Plan, PlanStop, RunnerUp, Unplaced
from service.planning.roads import ACCEPT, DEST
from service.planning.shortlists import NOWHERE, Shortlist
from service.planning.tables import Tables, Whole

BARRIERS = 12  # destinations named for a held or unplaced load, nearest first


def explained(tables: Tables, fleet: Fleet, columns: list[Column], plan: Plan) -> Plan:
    """Return the plan with a reason and a runner-up for every tip that is still to come.

    The runner-up is what the vehicle would do if this destination were closed to it at this point
    of its day, all other vehicles staying as they are.
    """
    room = tables.destinations.capacity_kg.copy()
    for column in columns:
        take(room, column)
    vehicles = []
    for column, answer in zip(columns, plan.vehicles, strict=True):
        vehicles.append(
            dataclasses.replace(
                answer,
                stops=tuple(_stops(tables, fleet, column, answer.stops, room=room, plan=plan)),
            )
        )
    unplaced = tuple(
        dataclasses.replace(part, reasons=_unplaced_reasons(tables, part)) for part in plan.unplaced
    )
    return dataclasses.replace(plan, vehicles=tuple(vehicles), unplaced=unplaced)


def _stops(
    tables: Tables,
    fleet: Fleet,
    column: Column,
    stops: tuple[PlanStop, ...],
    *,
    room: Whole,
    plan: Plan,
) -> list[PlanStop]:
    own = room.copy()
    take(own, column, -1)
    own = np.maximum(own, 0)
    tips = [tip for tip in column.tips if tip[1] != NOWHERE]
    prices = {use.id: use.price_cents_per_t for use in plan.destinations}
    written: list[PlanStop] = []
    position, aboard = 0, _aboard(tables, column)
    aboard_kg = int(tables.vehicles[column.vehicle].start[1])
    for stop in stops:
        if stop.job is not None and not stop.done:
            aboard.add(stop.job)
            aboard_kg += tables.jobs[stop.job].mass_kg
        if stop.destination is None or stop.done:
            written.append(stop)
            continue
        gap, number, kg = tips[position]
        position += 1
        destination = tables.problem.destinations[number]
        runner = _runner_up(tables, fleet, column, gap=gap, number=number, room=own)
        barriers: tuple[Barrier, ...] = ()
        if destination.kind == "hold":
            barriers = _barriers(tables, stop, aboard, own)
        written.append(
            dataclasses.replace(
                stop,
                runner_up=runner,
                barriers=barriers,
                reason=_sentence(destination, runner, prices[destination.id], int(room[number])),
            )
        )
        aboard_kg -= kg
        if aboard_kg <= 0:
            aboard.clear()
    return written


def _aboard(tables: Tables, column: Column) -> set[str]:
    vehicle = tables.problem.vehicles[column.vehicle]
    return {part.job for part in vehicle.aboard if part.job is not None and part.mass_kg}


def _runner_up(
    tables: Tables, fleet: Fleet, column: Column, *, gap: int, number: int, room: Whole
) -> RunnerUp:
    """Plan the vehicle again without this destination in this gap."""
    vehicle = tables.vehicles[column.vehicle]
    listed = _without(fleet.lists[column.vehicle], gap, number)
    found = best_columns(
        tables, vehicle, listed, prices=tables.destinations.fee, room=room, results=1
    )
    if not found:
        return RunnerUp()
    over = sum(max(0, kg - int(room[d])) for d, kg in column.use().items()) * tables.overflow
    cost, tips = found[0]
    before = {d for _, d, _ in column.tips}
    named = [d for _, d, _ in tips if d not in before] or [d for g, d, _ in tips if g >= gap][:1]
    return RunnerUp(
        destinations=tuple(tables.problem.destinations[d].id for d in dict.fromkeys(named)),
        extra_cents=max(0, cents(cost) - cents(column.cost + over)),
    )


def _without(listed: Shortlist, gap: int, number: int) -> Shortlist:
    near, offsets = listed.road.near.copy(), listed.road.offsets
    rows = slice(int(offsets[gap]), int(offsets[gap + 1]))
    near[rows, ACCEPT] = np.where(near[rows, DEST] == number, 0, near[rows, ACCEPT])
    return dataclasses.replace(listed, road=listed.road._replace(near=near))


def _sentence(
    destination: Destination, runner: RunnerUp, price_cents_per_t: int, room_kg: int
) -> str:
    parts = [f"fee {destination.fee_cents_per_t} per t, {max(0, room_kg)} kg of room left"]
    if price_cents_per_t:
        parts.append(f"scarce: another tonne of room would save {price_cents_per_t}")
    if runner.extra_cents is None:
        parts.append("no other legal plan of this vehicle")
    else:
        where = ", ".join(runner.destinations)
        parts.append(f"next best {where}, {runner.extra_cents} more")
    return "; ".join(parts)


def _barriers(tables: Tables, stop: PlanStop, aboard: set[str], room: Whole) -> tuple[Barrier, ...]:
    """Return what stands against each other destination for this load, nearest first."""
    here = tables.named[str(stop.destination)]
    found = []
    for number, other in enumerate(tables.problem.destinations):
        if other.id == here.id or other.kind == here.kind:
            continue
        code = barrier_code(tables, other, stop.statuses, aboard)
        if code is None and room[number] < min(stop.mass_kg, tables.problem.costs.minimum_tip_kg):
            code = "no_room"
        if code is None and stop.arrive_s > other.close_s:
            code = "closed"
        found.append(Barrier(destination=other.id, code=code or "dearer"))
    order = {"dearer": 0, "no_room": 1, "closed": 2}
    found.sort(key=lambda barrier: (order.get(barrier.code, 3), barrier.destination))
    return tuple(found[:BARRIERS])


def barrier_code(
    tables: Tables, destination: Destination, statuses: tuple[str, ...], lots: set[str]
) -> str | None:
    """Return why a load may not go to a destination at all: a lot's own code, or not_accepted."""
    for name in sorted(lots):
        job: Job = tables.jobs[name]
        code = dict(job.refused_destinations).get(destination.id)
        if code is not None:
            return code
    if not set(statuses) <= set(destination.accepts):
        return "not_accepted"
    return None


def _unplaced_reasons(tables: Tables, part: Unplaced) -> tuple[str, ...]:
    lots = {part.after_job} if part.after_job is not None else set()
    reasons: dict[str, int] = {}
    for destination in tables.problem.destinations:
        statuses = (tables.jobs[part.after_job].status,) if part.after_job is not None else ()
        code = barrier_code(tables, destination, statuses, lots) or "no_room_or_closed"
        reasons[code] = reasons.get(code, 0) + 1
    return tuple(f"{code}: {count} destinations" for code, count in sorted(reasons.items()))

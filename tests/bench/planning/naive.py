"""The plain rule that plans are compared with: drive on until a lot will not fit, or would mix.

Then the whole load goes to the nearest destination that accepts it and has room, the hold bay only
if there is no other. Nothing is split, nothing is looked ahead. Common practice, no source.
"""

from __future__ import annotations

import heapq

from service.planning.arrays.tables import Tables
from service.planning.arrays.travel import way
from service.planning.tip_plans.columns import Column, true_cost
from service.planning.tip_plans.shortlists import NOWHERE


def naive(tables: Tables) -> list[Column]:
    """Return the plan of the plain rule, vehicles taking turns by their clocks."""
    d = tables.destinations
    room = d.capacity_kg.copy()
    hold = {
        number for number, kind in enumerate(tables.problem.destinations) if kind.kind == "hold"
    }
    tips: list[list[tuple[int, int, int]]] = [[] for _ in tables.vehicles]
    # clock, vehicle, gap, place, kg, litres, bits
    turns = [
        (
            int(v.start[0]),
            v.index,
            0,
            int(v.points[0]),
            int(v.start[1]),
            int(v.start[2]),
            int(v.start[3]),
        )
        for v in tables.vehicles
    ]
    heapq.heapify(turns)
    while turns:
        clock, index, gap, place, kg, litres, bits = heapq.heappop(turns)
        vehicle = tables.vehicles[index]
        last = gap == len(vehicle.jobs)
        full = kg > 0 and (last or _too_much(vehicle, gap, kg, litres, bits))
        if full:
            number, seconds = _nearest(tables, vehicle, room, hold, place, clock, kg, bits)
            tips[index].append((gap, number, kg))
            if number != NOWHERE:
                room[number] -= kg
                place = int(d.place[number])
                there = tables.problem.destinations[number]
                clock = there.begins_s(clock + seconds) + there.tip_s
            kg, litres, bits = 0, 0, 0
        if last:
            continue
        job = vehicle.jobs[gap]
        _, seconds = way(*tables.roads.arguments(), place, vehicle.points[gap + 1])
        clock = max(clock + int(seconds), int(job[3])) + int(job[5])
        state = (kg + int(job[0]), litres + int(job[1]), bits | int(job[2]))
        heapq.heappush(turns, (clock, index, gap + 1, int(vehicle.points[gap + 1]), *state))
    return [
        Column(vehicle=v.index, cost=true_cost(tables, v, tuple(found)), tips=tuple(found))
        for v, found in zip(tables.vehicles, tips, strict=True)
    ]


def _too_much(vehicle, gap: int, kg: int, litres: int, bits: int) -> bool:
    job = vehicle.jobs[gap]
    payload, body = int(vehicle.limits[0]), int(vehicle.limits[1])
    return kg + job[0] > payload or litres + job[1] > body or bits != job[2]


def _nearest(  # noqa: PLR0917 - the whole state of a turn
    tables, vehicle, room, hold, place, clock, kg, bits
) -> tuple[int, int]:
    """Return the destination and the seconds to it; an overfull hold bay if there is no other.

    Too late for all of them, the load is left unplaced.
    """
    d = tables.destinations
    best = None
    for number in range(len(d.place)):
        if (bits & ~int(vehicle.accepts[number])) != 0:
            continue
        metres, seconds = way(*tables.roads.arguments(), place, d.place[number])
        if clock + seconds > d.close_s[number]:
            continue
        rank = 0
        if number in hold:
            rank = 1 if room[number] >= kg else 2
        elif room[number] < kg:
            continue
        key = (rank, int(metres), number)
        if best is None or key < best[0]:
            best = (key, number, int(seconds))
    return (NOWHERE, 0) if best is None else (best[1], best[2])

"""From the fractional optimum to a plan: fix what is most decided, price the rest again."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from service.planning.arrays.inputs import NEVER
from service.planning.arrays.tables import Whole
from service.planning.search.construction import Fleet, scarce_first, take
from service.planning.search.master import Master, Solution
from service.planning.tip_plans.columns import Column, best_columns

DECIDED = 0.999
NOISE = 1e-9


class Step(NamedTuple):
    """How a dive goes on in a round."""

    share: float  # of the vehicles that are fixed at most, besides those that are decided
    results: int  # tip plans of a vehicle that are added at most


def dive(fleet: Fleet, master: Master, clock: Callable[[], bool], step: Step) -> list[Column]:
    """Return a plan: one tip plan for each of the master's vehicles, in their order.

    Vehicles are fixed in rounds, the most decided first; in between, tip plans that fit the room
    that is left are priced for the others. The master is left as it was, with more columns.
    """
    tables, free = fleet.tables, dict.fromkeys(master.row)
    room = master.room.copy()
    plan: dict[int, Column] = {}
    touched: list[int] = []
    shut: list[int] = []
    solution = master.solve()
    order = [number for number in scarce_first(tables) if number in free]
    while free:
        best: dict[int, tuple[float, int]] = {}
        for position in np.flatnonzero(solution.weights > NOISE).tolist():
            column, weight = master.columns[position], float(solution.weights[position])
            fits = all(kg <= room[number] for number, kg in column.use().items())
            if column.vehicle in free and fits and weight > best.get(column.vehicle, (0.0, 0))[0]:
                best[column.vehicle] = (weight, position)
        chosen, limit = 0, max(1, int(step.share * len(master.row)))
        for weight, vehicle, position in sorted((-w, v, p) for v, (w, p) in best.items()):
            if chosen >= limit and -weight < DECIDED:
                break
            column = master.columns[position]
            if any(kg > room[number] for number, kg in column.use().items()):
                continue
            take(room, column)
            plan[vehicle] = column
            del free[vehicle]
            master.fix(position)
            touched.append(position)
            chosen += 1
        if free and (not chosen or clock()):
            vehicle = next(number for number in order if number in free)
            prices = tables.destinations.fee + solution.prices
            column = fleet.fit(vehicle, prices, np.maximum(room, 0), quick=True)
            master.add(column)
            position = next(
                at
                for at, other in enumerate(master.columns)
                if other.vehicle == vehicle and other.tips == column.tips
            )
            take(room, column)
            plan[vehicle] = column
            del free[vehicle]
            master.fix(position)
            touched.append(position)
        if not free or clock():
            continue
        misfits = _misfits(master, free, room, shut)
        master.close(misfits)
        shut += misfits
        solution = _priced_again(fleet, master, free, room, shut, results=step.results)
    master.reopen([*touched, *shut])
    return [plan[number] for number in master.row]


def _misfits(master: Master, free: dict[int, None], room: Whole, shut: list[int]) -> list[int]:
    """Return the columns of free vehicles, not shut yet, that do not fit the room that is left."""
    known = set(shut)
    return [
        position
        for position, column in enumerate(master.columns)
        if column.vehicle in free
        and position not in known
        and any(kg > max(room[number], 0) for number, kg in column.use().items())
    ]


def _priced_again(
    fleet: Fleet,
    master: Master,
    free: dict[int, None],
    room: Whole,
    shut: list[int],
    *,
    results: int,
) -> Solution:
    """Add tip plans that fit the room that is left, and return the new optimum."""
    tables = fleet.tables
    for _ in range(2):
        solution = master.solve()
        known = master.cheapest(solution.prices, shut=shut)
        new = 0
        for vehicle in free:
            for _, tips in best_columns(
                tables,
                tables.vehicles[vehicle],
                fleet.lists[vehicle],
                prices=tables.destinations.fee + solution.prices,
                room=np.maximum(room, 0),
                results=results,
                cutoff=known[vehicle][0] - 1 if vehicle in known else NEVER,
                quick=True,
            ):
                new += master.add(fleet.column(vehicle, tips))
        if not new:
            break
    return master.solve()

"""Column generation: tip plans are priced at the master's duals until nothing cheaper is left."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from service.planning.certify import reselected
from service.planning.columns import best_columns
from service.planning.greedy import Fleet
from service.planning.lateness import Market, sharpened
from service.planning.master import Master, Solution
from service.planning.roads import NEVER
from service.planning.tables import UNITS_PER_CENT, Whole

Clock = Callable[[], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Generated:
    """Where column generation ended."""

    prices: Whole  # scarcity prices of the best estimate [units per kg]
    estimate: int  # the Lagrangian value there, on the shortlists [units]
    solution: Solution
    iterations: int


def generate(  # noqa: C901 - one loop, with what it remembers
    fleet: Fleet,
    master: Master,
    *,
    prices: Whole | None = None,
    tolerance: float,
    most: int,
    refresh: tuple[int, ...] = (),
    count: int = 16,
    smoothing: float = 0.6,
    quick: bool = True,
    clock: Clock | None = None,
) -> Generated:
    """Return prices at which no tip plan on the shortlists is much cheaper than those known.

    Parameters
    ----------
    tolerance
        Stop when the master is within this fraction of the estimate's disposal part.
    most
        Iterations at most.
    refresh
        Iterations after which the shortlists are chosen anew, at the prices then known.
    quick
        Price with few states: what is missed comes up when the bound looks at everything.
    """
    tables, room = fleet.tables, master.room
    fee = tables.destinations.fee
    vehicles = list(master.row)
    best_prices = np.zeros(len(room), dtype=np.int64) if prices is None else prices
    best, solution = -NEVER, master.solve()
    current = best_prices
    memory: dict[int, tuple[Whole, int]] = {}
    iteration = 0
    while True:
        iteration += 1
        whole = fee + current
        value, new = -int(np.dot(current, room)), 0
        known = master.cheapest(current)
        for number in vehicles:
            if iteration > 1 and clock is not None and clock():
                return Generated(
                    prices=best_prices, estimate=best, solution=solution, iterations=iteration
                )
            listed = fleet.lists[number]
            seen = whole[listed.touched]
            if number in memory and np.array_equal(memory[number][0], seen):
                value += memory[number][1]
                continue
            found = best_columns(
                tables,
                tables.vehicles[number],
                listed,
                prices=whole,
                room=room,
                results=3,
                cutoff=known[number][0] - 1,
                quick=quick,
            )
            memory[number] = (seen, found[0][0] if found else known[number][0])
            value += memory[number][1]
            for _, tips in found:
                new += master.add(fleet.column(number, tips))
        if value > best:
            best, best_prices = value, current
        solution = master.solve()
        gap = solution.cents - best / UNITS_PER_CENT
        if gap <= tolerance * solution.cents or iteration >= most or (clock and clock()):
            break
        if iteration in refresh:
            market = Market(prices=fee + best_prices, room=room)
            known = master.cheapest(best_prices)
            for number in vehicles:
                vehicle, (value, column) = tables.vehicles[number], known[number]
                listed = fleet.lists[number]
                listed = reselected(
                    tables, vehicle, listed, market, known=value, slack=value // 20, count=count
                )
                fleet.lists[number] = sharpened(
                    tables, vehicle, listed, column, market, known=value
                )
            memory.clear()
            best = -NEVER
        if new == 0:
            smoothing = max(0.0, smoothing - 0.3)
        mixed = smoothing * best_prices + (1 - smoothing) * solution.prices
        current = np.rint(mixed).astype(np.int64)
    return Generated(prices=best_prices, estimate=best, solution=solution, iterations=iteration)

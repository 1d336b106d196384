"""Column generation: tip plans are priced at the master's duals until nothing cheaper is left."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from service.planning.arrays.inputs import NEVER
from service.planning.arrays.tables import UNITS_PER_CENT, Whole
from service.planning.search.construction import Fleet
from service.planning.search.lateness_prices import Market, sharpened
from service.planning.search.master import Master, Solution
from service.planning.search.vehicle_bounds import reselected
from service.planning.tip_plans.columns import best_columns

Clock = Callable[[], bool]
NO_REFRESH: Mapping[int, int] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Generated:
    """Where column generation ended."""

    prices: Whole  # scarcity prices of the best estimate [units per kg]
    of_cuts: Whole  # and those of the cuts [units a point]
    estimate: int  # the Lagrangian value there, on the shortlists [units]
    solution: Solution
    iterations: int


def generate(  # noqa: C901 - one loop, with what it remembers
    fleet: Fleet,
    master: Master,
    *,
    prices: Whole | None = None,
    of_cuts: Whole | None = None,
    tolerance: float,
    most: int,
    enough: int = NEVER,
    refresh: Mapping[int, int] = NO_REFRESH,
    smoothing: float = 0.6,
    results: int = 3,
    quick: bool = True,
    thorough: bool = True,
    clock: Clock | None = None,
) -> Generated:
    """Return prices at which no tip plan on the shortlists is much cheaper than those known.

    Parameters
    ----------
    tolerance
        Stop when the master is within this fraction of the estimate's disposal part.
    most
        Iterations at most.
    enough
        Stop when the estimate is above this [units]: nothing cheaper is left to be found.
    refresh
        Iterations after which the shortlists are chosen anew, at the prices then known, and how
        many candidates a gap they have then.
    results
        Tip plans of a vehicle that an iteration adds at most.
    quick
        Price with few states: what is missed comes up when the bound looks at everything.
    thorough
        Look at plans in which more than one tip of a gap leaves a part aboard.
    """
    tables, room = fleet.tables, master.room
    fee = tables.destinations.fee
    vehicles = list(master.row)
    best_prices = np.zeros(len(room), dtype=np.int64) if prices is None else prices
    best, solution = -NEVER, master.solve()
    current = best_prices
    best_cuts = np.zeros(len(master.cuts), dtype=np.int64) if of_cuts is None else of_cuts
    cuts_now = best_cuts
    memory: dict[int, tuple[Whole, int]] = {}
    iteration = 0
    while True:
        iteration += 1
        whole = fee + current
        value, new = -master.sold(current, cuts_now), 0
        known, tolls = master.cheapest(current, cuts_now), master.tolls(cuts_now)
        for number in vehicles:
            if iteration > 1 and clock is not None and clock():
                return Generated(
                    prices=best_prices,
                    of_cuts=best_cuts,
                    estimate=best,
                    solution=solution,
                    iterations=iteration,
                )
            listed = fleet.lists[number]
            seen = whole[listed.touched]
            if tolls is not None:
                charged = tolls.cost[listed.touched].ravel(), tolls.kg[listed.touched].ravel()
                seen = np.concatenate([seen, *charged])
            if number in memory and np.array_equal(memory[number][0], seen):
                value += memory[number][1]
                continue
            found = best_columns(
                tables,
                tables.vehicles[number],
                listed,
                prices=whole,
                room=room,
                results=results,
                cutoff=known[number][0] - 1,
                quick=quick,
                parts=None if thorough else 1,
                tolls=tolls,
            )
            memory[number] = (seen, found[0][0] if found else known[number][0])
            value += memory[number][1]
            for _, tips in found:
                new += master.add(fleet.column(number, tips))
        if value > best:
            best, best_prices, best_cuts = value, current, cuts_now
        solution = master.solve()
        gap = solution.cents - best / UNITS_PER_CENT
        if (
            best > enough
            or gap <= tolerance * solution.cents
            or iteration >= most
            or (clock and clock())
        ):
            break
        if iteration in refresh:
            market = Market(prices=fee + best_prices, room=room, tolls=master.tolls(best_cuts))
            known = master.cheapest(best_prices, best_cuts)
            for number in vehicles:
                vehicle, (value, column) = tables.vehicles[number], known[number]
                listed = fleet.lists[number]
                listed = reselected(
                    tables,
                    vehicle,
                    listed,
                    market,
                    known=value,
                    slack=value // 20,
                    count=refresh[iteration],
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
        mixed = smoothing * best_cuts + (1 - smoothing) * solution.of_cuts
        cuts_now = np.floor(mixed).astype(np.int64)
    return Generated(
        prices=best_prices,
        of_cuts=best_cuts,
        estimate=best,
        solution=solution,
        iterations=iteration,
    )

"""Column generation: tip plans are priced at the master's duals until nothing cheaper is left."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np

from service.planning.arrays.inputs import NEVER
from service.planning.arrays.tables import UNITS_PER_CENT, Whole
from service.planning.search.construction import Fleet
from service.planning.search.lateness_prices import Market
from service.planning.search.master import Master, Solution
from service.planning.search.vehicle_bounds import reselected
from service.planning.tip_plans.columns import best_columns

Clock = Callable[[], bool]
NO_REFRESH: Mapping[int, int] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """How closely a vehicle's tip plans are looked at.

    Attributes
    ----------
    results
        Tip plans of a vehicle that an iteration adds at most.
    quick
        Price with few states: what is missed comes up when the bound looks at everything.
    thorough
        Look at plans in which more than one tip of a gap leaves a part aboard.
    """

    results: int = 3
    quick: bool = True
    thorough: bool = True


PLAIN = Looks()


@dataclass(frozen=True, slots=True, kw_only=True)
class Generated:
    """Where column generation ended."""

    prices: Whole  # scarcity prices of the best estimate [units per kg]
    of_cuts: Whole  # and those of the cuts [units a point]
    estimate: int  # the Lagrangian value there, on the shortlists [units]
    solution: Solution
    iterations: int

    def within(self, tolerance: float) -> bool:
        """Tell whether the master is within this fraction of its value above the estimate."""
        cents = self.solution.cents
        return cents - self.estimate / UNITS_PER_CENT <= tolerance * cents


def generate(
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
    looks: Looks = PLAIN,
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
    """
    best = Generated(
        prices=np.zeros(len(master.room), dtype=np.int64) if prices is None else prices,
        of_cuts=np.zeros(len(master.cuts), dtype=np.int64) if of_cuts is None else of_cuts,
        estimate=-NEVER,
        solution=master.solve(),
        iterations=0,
    )
    pricing = _Pricing(fleet=fleet, master=master, looks=looks)
    current, cuts_now = best.prices, best.of_cuts
    while True:
        priced = pricing.at(current, cuts_now, clock if best.iterations else None)
        best = replace(best, iterations=best.iterations + 1)
        if priced is None:
            return best
        value, new = priced
        if value > best.estimate:
            best = replace(best, estimate=value, prices=current, of_cuts=cuts_now)
        best = replace(best, solution=master.solve())
        close = best.estimate > enough or best.within(tolerance)
        if close or best.iterations >= most or (clock and clock()):
            return best
        if best.iterations in refresh:
            pricing.choose_anew(best, refresh[best.iterations])
            best = replace(best, estimate=-NEVER)
        if new == 0:
            smoothing = max(0.0, smoothing - 0.3)
        mixed = smoothing * best.prices + (1 - smoothing) * best.solution.prices
        of_both = smoothing * best.of_cuts + (1 - smoothing) * best.solution.of_cuts
        current, cuts_now = np.rint(mixed).astype(np.int64), np.floor(of_both).astype(np.int64)


@dataclass(slots=True, kw_only=True)
class _Pricing:
    """The vehicles' pricing, which is not done again where a vehicle sees the same prices."""

    fleet: Fleet
    master: Master
    looks: Looks
    memory: dict[int, tuple[Whole, int]] = field(default_factory=dict)

    def at(self, prices: Whole, of_cuts: Whole, clock: Clock | None) -> tuple[int, int] | None:
        """Return the Lagrangian value at these prices, and how many new tip plans there are.

        None if the clock ends it before every vehicle was priced.
        """
        fleet, master = self.fleet, self.master
        tables = fleet.tables
        whole = tables.destinations.fee + prices
        value, new = -master.sold(prices, of_cuts), 0
        known, tolls = master.cheapest(prices, of_cuts), master.tolls(of_cuts)
        for number in master.row:
            if clock is not None and clock():
                return None
            listed = fleet.lists[number]
            seen = whole[listed.touched]
            if tolls is not None:
                charged = tolls.cost[listed.touched].ravel(), tolls.kg[listed.touched].ravel()
                seen = np.concatenate([seen, *charged])
            if number in self.memory and np.array_equal(self.memory[number][0], seen):
                value += self.memory[number][1]
                continue
            found = best_columns(
                tables,
                tables.vehicles[number],
                listed,
                prices=whole,
                room=master.room,
                results=self.looks.results,
                cutoff=known[number][0] - 1,
                quick=self.looks.quick,
                parts=None if self.looks.thorough else 1,
                tolls=tolls,
            )
            self.memory[number] = (seen, found[0][0] if found else known[number][0])
            value += self.memory[number][1]
            for _, tips in found:
                new += master.add(fleet.column(number, tips))
        return value, new

    def choose_anew(self, best: Generated, count: int) -> None:
        """Choose the shortlists at the best prices known, with so many candidates a gap."""
        fleet, master = self.fleet, self.master
        tables = fleet.tables
        market = Market(
            prices=tables.destinations.fee + best.prices,
            room=master.room,
            tolls=master.tolls(best.of_cuts),
        )
        known = master.cheapest(best.prices, best.of_cuts)
        for number in master.row:
            value, _ = known[number]
            fleet.lists[number] = reselected(
                tables,
                tables.vehicles[number],
                fleet.lists[number],
                market,
                known=value,
                slack=value // 20,
                count=count,
            )
        self.memory.clear()

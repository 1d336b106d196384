"""The linear program that shares the destinations' room between vehicles, in HiGHS.

One row a vehicle: exactly one tip plan. One row a destination: the kilograms of all chosen plans
stay within its room, or cost the overflow price. Its duals are the scarcity prices.
"""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np

from service.planning.columns import Column
from service.planning.tables import UNITS_PER_CENT, Real, Tables, Whole

INFINITE = highspy.kHighsInf
HALF = 0.5
OPTIMAL = highspy.HighsModelStatus.kOptimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """An optimum of the linear program."""

    cents: float
    weights: Real  # of the columns
    prices: Whole  # scarcity prices, units per kg, 0 or more
    own: Real  # duals of the vehicles [cents]


class Master:
    """The program over the columns known so far."""

    def __init__(
        self, tables: Tables, *, room: Whole, vehicles: list[int], scarcity: Whole | None = None
    ) -> None:
        """Start with no column: add at least one for every vehicle before solving.

        ``scarcity`` is what a kilogram costs besides, outside this program [units].
        """
        self.tables, self.room = tables, np.maximum(room, 0)
        self.scarcity = np.zeros(len(room), dtype=np.int64) if scarcity is None else scarcity
        self.row = {number: row for row, number in enumerate(vehicles)}
        self.columns: list[Column] = []
        self._costs: list[int] = []
        self._uses: list[tuple[list[int], list[int]]] = []
        self._flat: tuple[int, Whole, Whole, Whole, Whole] | None = None
        self.known: set[tuple[int, tuple[tuple[int, int, int], ...]]] = set()
        self.highs = _Quiet()
        count, total = len(vehicles), len(room)
        self.highs.addRows(
            count + total,
            np.concatenate([np.ones(count), np.full(total, -INFINITE)]),
            np.concatenate([np.ones(count), self.room.astype(float)]),
            0,
            np.zeros(count + total, dtype=np.int32),
            np.zeros(0, dtype=np.int32),
            np.zeros(0),
        )
        over = np.flatnonzero(tables.destinations.may_overflow)
        self.slacks = len(over)
        price = tables.overflow / UNITS_PER_CENT
        for number in over:
            self.highs.addCol(
                price, 0.0, INFINITE, 1, np.array([count + number], np.int32), np.array([-1.0])
            )

    def add(self, column: Column) -> bool:
        """Add a column unless it is known; true if it is new."""
        key = (column.vehicle, column.tips)
        if key in self.known:
            return False
        self.known.add(key)
        use = column.use()
        rows, amounts = [self.row[column.vehicle]], [1.0]
        for number, kg in use.items():
            within = min(kg, int(self.room[number]))
            if within:
                rows.append(len(self.row) + number)
                amounts.append(float(within))
        cost = self.worth([column]) / UNITS_PER_CENT
        self.highs.addCol(
            cost, 0.0, INFINITE, len(rows), np.array(rows, np.int32), np.array(amounts)
        )
        self.columns.append(column)
        self._costs.append(self.worth([column]))
        self._uses.append(
            ([row - len(self.row) for row in rows[1:]], [int(a) for a in amounts[1:]])
        )
        return True

    def worth(self, plan: list[Column]) -> int:
        """Return what columns cost together: overflow, and what a kilogram costs besides."""
        used: dict[int, int] = {}
        for column in plan:
            for number, kg in column.use().items():
                used[number] = used.get(number, 0) + kg
        total = sum(column.cost for column in plan)
        for number, kg in used.items():
            within = min(kg, int(self.room[number]))
            total += within * int(self.scarcity[number]) + (kg - within) * self.tables.overflow
        return total

    def reduced(self, column: Column, prices: Whole) -> int:
        """Return what a column costs at these scarcity prices of this program [units]."""
        return self.worth([column]) + sum(
            int(prices[number]) * min(kg, int(self.room[number]))
            for number, kg in column.use().items()
        )

    def cheapest(self, prices: Whole) -> dict[int, tuple[int, Column]]:
        """Return each vehicle's column of least reduced cost at these prices, cost in units."""
        count = len(self.columns)
        if self._flat is None or self._flat[0] < count:
            owners = np.repeat(np.arange(count), [len(use[0]) for use in self._uses])
            self._flat = (
                count,
                owners,
                np.array([d for use in self._uses for d in use[0]], dtype=np.int64),
                np.array([kg for use in self._uses for kg in use[1]], dtype=np.int64),
                np.array(self._costs, dtype=np.int64),
            )
        _, owners, numbers, amounts, costs = self._flat
        reduced = costs.copy()
        np.add.at(reduced, owners, prices[numbers] * amounts)
        least: dict[int, tuple[int, Column]] = {}
        for column, value in zip(self.columns, reduced.tolist(), strict=True):
            if column.vehicle not in least or value < least[column.vehicle][0]:
                least[column.vehicle] = (value, column)
        return least

    def solve(self) -> Solution:
        """Return the optimum over the columns known."""
        self.highs.run()
        if self.highs.getModelStatus() != OPTIMAL:
            self.highs.clearSolver()
            self.highs.run()
        found = self.highs.getSolution()
        duals = np.array(found.row_dual)
        count = len(self.row)
        prices = np.rint(np.maximum(-duals[count:], 0.0) * UNITS_PER_CENT).astype(np.int64)
        over = self.tables.destinations.may_overflow == 1
        prices[over] = np.minimum(prices[over], self.tables.overflow)
        return Solution(
            cents=self.highs.getInfo().objective_function_value,
            weights=np.array(found.col_value)[self.slacks :],
            prices=prices,
            own=duals[:count],
        )

    def cheapest_of(self, prices: Whole, shut: set[int]) -> dict[int, int]:
        """Return the least reduced cost of each vehicle's columns that are not shut."""
        least: dict[int, int] = {}
        for position, (column, (numbers, amounts)) in enumerate(
            zip(self.columns, self._uses, strict=True)
        ):
            if position not in shut:
                value = self._costs[position] + sum(
                    int(prices[d]) * kg for d, kg in zip(numbers, amounts, strict=True)
                )
                if value < least.get(column.vehicle, 1 << 61):
                    least[column.vehicle] = value
        return least

    def whole(self, nodes: int) -> list[Column] | None:
        """Return the best choice of one whole column a vehicle within so many nodes, if any."""
        highs, count = self.highs, len(self.columns)
        for position in range(count):
            highs.changeColIntegrality(self.slacks + position, highspy.HighsVarType.kInteger)
        highs.setOptionValue("mip_max_nodes", nodes)
        # Few columns, and most of the time went into simplifying them: four times the whole.
        highs.setOptionValue("presolve", "off")
        highs.run()
        highs.setOptionValue("presolve", "choose")
        info = highs.getInfo()
        weights = np.array(highs.getSolution().col_value)[self.slacks :]
        usable = info.primal_solution_status == highspy.kSolutionStatusFeasible
        for position in range(count):
            highs.changeColIntegrality(self.slacks + position, highspy.HighsVarType.kContinuous)
        if not usable:
            return None
        chosen = {
            c.vehicle: c for c, weight in zip(self.columns, weights, strict=True) if weight > HALF
        }
        return [chosen[number] for number in self.row] if len(chosen) == len(self.row) else None

    def close(self, numbers: list[int]) -> None:
        """Shut columns out of the solution."""
        for number in numbers:
            self.highs.changeColBounds(self.slacks + number, 0.0, 0.0)

    def fix(self, number: int) -> None:
        """Choose a column for good."""
        self.highs.changeColBounds(self.slacks + number, 1.0, 1.0)

    def reopen(self, numbers: list[int]) -> None:
        """Undo ``close`` and ``fix``."""
        for number in numbers:
            self.highs.changeColBounds(self.slacks + number, 0.0, INFINITE)


def quiet() -> highspy.Highs:
    """Return a solver of its own that writes nothing."""
    return _Quiet()


class _Quiet(highspy.Highs):
    """A solver that never writes to standard output, where a plan may be going.

    The library's own class prints its name and licence while it sets up its callbacks, before
    anybody could silence it; no callback is used here, so that step is left out.
    """

    def __init__(self) -> None:
        super(highspy.Highs, self).__init__()
        for option, value in (
            ("output_flag", False),
            ("log_to_console", False),
            ("threads", 1),
            ("random_seed", 7),
            ("simplex_strategy", 4),  # primal: columns are added, the basis stays legal
        ):
            self.setOptionValue(option, value)

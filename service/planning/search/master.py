"""The linear program that shares the destinations' room between vehicles, in HiGHS.

One row a vehicle: exactly one tip plan. One row a destination: the kilograms of all chosen plans
stay within its room, or cost the overflow price. Its duals are the scarcity prices. One row a cut
(see ``tolls``): what whole tips find room; its dual is a price, too.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from service.planning.arrays.place_map import Real
from service.planning.arrays.tables import UNITS_PER_CENT, Tables, Whole
from service.planning.search.column_arrays import NO_COLUMNS
from service.planning.search.linear_solver import library, new_solver
from service.planning.tip_plans.capacity_cuts import Cut, Tolls, within_overflow
from service.planning.tip_plans.columns import Column, Tips

if TYPE_CHECKING:
    import highspy

INFINITE = float("inf")  # as the library has it: kHighsInf
HALF = 0.5
ROUNDING_CENTS = 0.5  # of the solver's values, on the safe side
NOISE, OFF = 1e-9, False


@dataclass(frozen=True, slots=True, kw_only=True)
class Solution:
    """An optimum of the linear program."""

    cents: float
    weights: Real  # of the columns
    prices: Whole  # scarcity prices, units per kg, 0 or more
    of_cuts: Whole  # prices of the cuts, units a point, 0 or more


class Master:
    """The program over the columns known so far."""

    def __init__(self, tables: Tables, *, room: Whole, vehicles: list[int]) -> None:
        """Start with no column: add at least one for every vehicle before solving."""
        self.tables, self.room = tables, np.maximum(room, 0)
        self.row = {number: row for row, number in enumerate(vehicles)}
        self.columns: list[Column] = []
        self._costs: list[int] = []
        self._uses: list[tuple[list[int], list[int]]] = []
        self._flat = NO_COLUMNS
        self.cuts: list[Cut] = []
        self._cuts_at: dict[int, list[tuple[int, Cut]]] = {}
        self._tips_at: dict[int, list[tuple[int, int]]] = {}  # position of a column, kilograms
        self.known: set[tuple[int, Tips]] = set()
        self.highs = new_solver()
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
        self._slack = {int(number): place for place, number in enumerate(over)}
        price = tables.overflow / UNITS_PER_CENT
        for number in over:
            self.highs.addCol(
                price, 0.0, INFINITE, 1, np.array([count + number], np.int32), np.array([-1.0])
            )

    def add(self, column: Column) -> bool:
        """Add a column unless it is known; true if it is new."""
        return self.add_all([column]) == 1

    def add_all(self, columns: Iterable[Column]) -> int:
        """Add the columns that are not known, in one call; return how many they are."""
        costs: list[float] = []
        starts: list[int] = []
        rows: list[int] = []
        amounts: list[float] = []
        for column in columns:
            key = (column.vehicle, column.tips)
            if key in self.known:
                continue
            self.known.add(key)
            own_rows, own_amounts = self._entry(column)
            costs.append(self._costs[-1] / UNITS_PER_CENT)
            starts.append(len(rows))
            rows += own_rows
            amounts += own_amounts
        count = len(costs)
        self.highs.addCols(
            count,
            np.array(costs),
            np.zeros(count),
            np.full(count, INFINITE),
            len(rows),
            np.array(starts, np.int32),
            np.array(rows, np.int32),
            np.array(amounts),
        )
        return count

    def _entry(self, column: Column) -> tuple[list[int], list[float]]:
        """Keep a column in the books, and return its rows and amounts."""
        rows, amounts = [self.row[column.vehicle]], [1.0]
        for number, kg in column.use().items():
            within = min(kg, int(self.room[number]))
            if within:
                rows.append(len(self.row) + number)
                amounts.append(float(within))
        points = self._points(column)
        rows, amounts = [*rows, *points], [*amounts, *map(float, points.values())]
        for _, number, kg in column.tips:
            if number >= 0:
                within = min(kg, int(self.room[number]))
                self._tips_at.setdefault(number, []).append((len(self.columns), within))
        self.columns.append(column)
        self._costs.append(self.worth([column]))
        self._uses.append(
            ([row - len(self.row) for row in rows[1:]], [int(a) for a in amounts[1:]])
        )
        return rows, amounts

    def _points(self, column: Column) -> dict[int, int]:
        """Return the points of a column, by row of a cut."""
        points_of: dict[int, int] = {}
        for _, number, kg in column.tips:
            for row, cut in self._cuts_at.get(number, ()):
                if points := cut.points(min(kg, int(self.room[number]))):
                    points_of[row] = points_of.get(row, 0) + points
        return points_of

    def cut(self, cuts: list[Cut]) -> None:
        """Add cuts, for the columns known and those to come."""
        for cut in cuts:
            row = len(self.row) + len(self.room) + len(self.cuts)
            self.cuts.append(cut)
            self._cuts_at.setdefault(cut.number, []).append((row, cut))
            at: dict[int, float] = {}
            for position, kg in self._tips_at.get(cut.number, ()):
                if points := cut.points(kg):
                    at[self.slacks + position] = at.get(self.slacks + position, 0.0) + points
            for position, points_of in at.items():
                numbers, amounts = self._uses[position - self.slacks]
                numbers.append(row - len(self.row))
                amounts.append(int(points_of))
            if cut.number in self._slack:
                at[self._slack[cut.number]] = -1.0 / cut.spare_kg
            self.highs.addRow(
                -INFINITE,
                float(cut.most),
                len(at),
                np.array(list(at), np.int32),
                np.array(list(at.values())),
            )
        self._flat = NO_COLUMNS

    def mixture(self, solution: Solution) -> Iterable[tuple[int, int, float]]:
        """Yield destination, kilograms and weight of every tip of a solution."""
        for position in np.flatnonzero(solution.weights > NOISE).tolist():
            for _, number, kg in self.columns[position].tips:
                if number >= 0:
                    yield number, kg, float(solution.weights[position])

    def sold(self, prices: Whole, of_cuts: Whole) -> int:
        """Return what all room earns at these prices [units]."""
        points = np.dot(of_cuts, np.array([cut.most for cut in self.cuts], dtype=np.int64))
        return int(np.dot(prices, self.room)) + int(points)

    def tolls(self, of_cuts: Whole) -> Tolls | None:
        """Return the tolls of tips at these prices of the cuts."""
        return Tolls.of(self.cuts, of_cuts, len(self.room)) if of_cuts.any() else None

    def worth(self, plan: list[Column]) -> int:
        """Return what columns cost together, with overflow [units]."""
        used: dict[int, int] = {}
        for column in plan:
            for number, kg in column.use().items():
                used[number] = used.get(number, 0) + kg
        over_kg = sum(max(0, kg - int(self.room[number])) for number, kg in used.items())
        return sum(column.cost for column in plan) + over_kg * self.tables.overflow

    def reduced(self, column: Column, prices: Whole) -> int:
        """Return what a column costs at these scarcity prices of this program [units]."""
        return self.worth([column]) + sum(
            int(prices[number]) * min(kg, int(self.room[number]))
            for number, kg in column.use().items()
        )

    def cheapest(
        self, prices: Whole, of_cuts: Whole | None = None, *, shut: Sequence[int] = ()
    ) -> dict[int, tuple[int, Column]]:
        """Return each vehicle's column of least reduced cost that is not shut, and that cost.

        The cost is in units, at these prices.
        """
        reduced = self._reduced(prices, of_cuts)
        least = self._flat.least(reduced, shut).tolist()
        return {self.columns[at].vehicle: (int(reduced[at]), self.columns[at]) for at in least}

    def _reduced(self, prices: Whole, of_cuts: Whole | None) -> Whole:
        """Return what every column costs at these prices of destinations and cuts [units]."""
        of_cuts = np.zeros(len(self.cuts), dtype=np.int64) if of_cuts is None else of_cuts
        known = len(self._flat.costs)
        if known < len(self.columns):
            vehicles = [column.vehicle for column in self.columns[known:]]
            self._flat = self._flat.extended(vehicles, self._costs[known:], self._uses[known:])
        return self._flat.reduced(np.concatenate([prices, of_cuts]))

    def solve(self) -> Solution:
        """Return the optimum over the columns known."""
        self.highs.run()
        if self.highs.getModelStatus() != library().HighsModelStatus.kOptimal:
            self.highs.clearSolver()
            self.highs.run()
        found = self.highs.getSolution()
        duals = np.array(found.row_dual)
        scarce = np.rint(np.maximum(-duals[len(self.row) :], 0.0) * UNITS_PER_CENT).astype(np.int64)
        prices, of_cuts = scarce[: len(self.room)], scarce[len(self.room) :]
        over = self.tables.destinations.may_overflow == 1
        prices[over] = np.minimum(prices[over], self.tables.overflow)
        return Solution(
            cents=self.highs.getInfo().objective_function_value,
            weights=np.array(found.col_value)[self.slacks :],
            prices=prices,
            of_cuts=within_overflow(self.cuts, of_cuts, prices, self.tables.overflow),
        )

    def whole(self, nodes: int, known: list[Column]) -> list[Column] | None:
        """Return the best choice of one whole column a vehicle within so many nodes, if any.

        The search starts from a choice that is known, all its columns must be in the program. What
        is in no better choice, by its reduced cost, is shut out before.
        """
        highs = self.highs
        spare = self.worth(known) / UNITS_PER_CENT - self.solve().cents
        dear = np.array(highs.getSolution().col_dual)[self.slacks :] > spare + ROUNDING_CENTS
        shut = np.flatnonzero(dear).tolist()
        self.close(shut)
        self._demand(library().HighsVarType.kInteger)
        highs.setOptionValue("mip_max_nodes", nodes)
        # A start is given and the program is small: searches around others took half the time.
        for search in ("rins", "rens", "root_reduced_cost"):
            highs.setOptionValue(f"mip_heuristic_run_{search}", OFF)
        highs.setOptionValue("mip_allow_restart", OFF)  # a quarter of the time, where it is long
        highs.setSolution(self._start(known))
        highs.run()
        weights = np.array(highs.getSolution().col_value)[self.slacks :]
        found = highs.getInfo().primal_solution_status
        self._demand(library().HighsVarType.kContinuous)
        self.reopen(shut)
        if found != library().kSolutionStatusFeasible:
            return None
        chosen = {
            c.vehicle: c for c, weight in zip(self.columns, weights, strict=True) if weight > HALF
        }
        return [chosen[number] for number in self.row] if len(chosen) == len(self.row) else None

    def _start(self, known: list[Column]) -> highspy.HighsSolution:
        """Return a choice of columns as the solver wants it, with its overflow."""
        wanted, values = {(c.vehicle, c.tips) for c in known}, np.zeros(len(self.columns))
        over = -self.room
        for position, column in enumerate(self.columns):
            if (column.vehicle, column.tips) in wanted:
                values[position] = 1.0
                for number, kg in column.use().items():
                    over[number] += min(kg, int(self.room[number]))
        start: highspy.HighsSolution = library().HighsSolution()
        start.col_value = [*(float(max(over[n], 0)) for n in self._slack), *values.tolist()]
        return start

    def close(self, numbers: list[int]) -> None:
        """Shut columns out of the solution."""
        self._limit(numbers, 0.0)

    def fix(self, number: int) -> None:
        """Choose a column for good."""
        self.highs.changeColBounds(self.slacks + number, 1.0, 1.0)

    def reopen(self, numbers: list[int]) -> None:
        """Undo ``close`` and ``fix``."""
        self._limit(numbers, INFINITE)

    def _limit(self, numbers: list[int], most: float) -> None:
        """Let columns be chosen up to so much, in one call: there are thousands."""
        at = np.unique(np.array(numbers, dtype=np.int32)) + self.slacks  # others are refused
        self.highs.changeColsBounds(len(at), at, np.zeros(len(at)), np.full(len(at), most))

    def _demand(self, kind: highspy.HighsVarType) -> None:
        """Make all columns whole or divisible."""
        at = np.arange(len(self.columns), dtype=np.int32) + self.slacks
        kinds = np.full(len(at), int(kind), dtype=np.uint8)
        self.highs.changeColsIntegrality(len(at), at, kinds)

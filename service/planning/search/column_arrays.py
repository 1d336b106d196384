"""Columns of a linear program in flat arrays, to find the cheapest at given prices quickly."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from service.planning.arrays.tables import Whole


class FlatColumns(NamedTuple):
    """Vehicles and costs by column; and one entry for each row that a column uses."""

    vehicles: Whole
    costs: Whole  # units
    owners: Whole  # column of an entry
    rows: Whole
    amounts: Whole

    def extended(
        self, vehicles: list[int], costs: list[int], uses: Sequence[tuple[list[int], list[int]]]
    ) -> FlatColumns:
        """Return these and more columns; ``uses`` are their rows and amounts."""
        first = len(self.costs)
        numbers = np.arange(first, first + len(uses))
        fresh = (
            vehicles,
            costs,
            np.repeat(numbers, [len(rows) for rows, _ in uses]),
            [row for rows, _ in uses for row in rows],
            [amount for _, amounts in uses for amount in amounts],
        )
        return FlatColumns(
            *(
                np.concatenate([old, np.array(new, dtype=np.int64)])
                for old, new in zip(self, fresh, strict=True)
            )
        )

    def reduced(self, prices: Whole) -> Whole:
        """Return what every column costs at these prices of the rows [units]."""
        reduced = self.costs.copy()
        np.add.at(reduced, self.owners, prices[self.rows] * self.amounts)
        return reduced

    def least(self, reduced: Whole, shut: Sequence[int] = ()) -> Whole:
        """Return where each vehicle's least column that is not shut is, of even ones the first."""
        order = np.lexsort((reduced, self.vehicles))
        if len(shut):
            order = order[~np.isin(order, shut)]
        vehicles = self.vehicles[order]
        return order[np.r_[True, vehicles[1:] != vehicles[:-1]]] if len(order) else order


NO_COLUMNS = FlatColumns(*(np.zeros(0, dtype=np.int64) for _ in range(5)))

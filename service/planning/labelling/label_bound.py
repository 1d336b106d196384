# ruff: noqa: PLR0917 - machine code wants plain arguments
"""What a label costs at least from where it is to the end of the day. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import LATE_STEP_S, LATE_STEPS
from service.planning.labelling.labels import (
    CREDIT,
    CREDITS,
    FIRST,
    HEEDED,
    LOAD,
    ONE,
    SHEDDABLE,
    TIME,
    USED,
)
from service.planning.labelling.load_steps import least_at, step_at

# What holds for the day and the gap looked at: clock at the start, a step of load [kg], price of a
# kilogram that is shed, number of the last gap, seconds to the next job with no tip, tips demanded.
DAY_START, STEP, SHED_PRICE, LAST_GAP, STRAIGHT_S, DEMANDED = range(6)


def _rest(costs: Array, begins: Array, late: Array, day: Array, gap: int, s: Array) -> Array:
    """Return what a label costs from this gap on, at least; it may draw on its credit, and shed.

    ``costs`` and ``begins`` are those of a ``ToGo``.
    """
    slot = min(max((s[TIME] - day[DAY_START]) // LATE_STEP_S, 0), LATE_STEPS - 1)
    load, first, step = s[LOAD], s[FIRST], day[STEP]
    begin = begins[gap, first]
    last = costs.shape[3] - 1
    high = step_at(load, begin, step, last)
    table = 0
    for asked in range(1, costs.shape[0]):
        if (s[HEEDED] >> (asked - 1)) & 1 == 0 and (
            table == 0 or costs[asked, gap, first, high] > costs[table, gap, first, high]
        ):
            table = asked
    best = costs[table, gap, first, high]
    most = max(s[CREDIT], s[SHEDDABLE])
    if most > 0:
        at, left, drawn, cost = CREDITS, s[CREDITS], np.int64(0), np.int64(0)
        for k in range(high - 1, step_at(load - most, begin, step, last) - 1, -1):
            more = max(load - least_at(k + 1, begin, step) + 1, 0) - drawn
            drawn += more
            while more > 0:
                while left == 0 and at < USED - ONE:
                    at += ONE
                    left = s[at]
                if left == 0:  # beyond all credits: shed
                    cost += more * day[SHED_PRICE]
                    break
                some = min(more, left)
                cost += some * s[at + 1]
                left -= some
                more -= some
            best = min(best, costs[table, gap, first, k] + cost)
    return best + late[gap, slot]


rest = compiled(_rest, inline=True)

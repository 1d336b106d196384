# ruff: noqa: C901, PLR0912, PLR0917 - machine code wants flat loops, plain arguments
"""What the rest of a vehicle's day costs at least, by load, so that labels drop early. Compiled.

Everything here is a bound from below: the clock is left out (lateness is bounded by a table of its
own), litres are taken at the lightest lot's ratio, loads are rounded down to steps.
"""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    ASK,
    ASK_BIT,
    ASKED,
    BODY,
    FAR,
    GRID,
    KG,
    LEAVE,
    LITRES,
    NEED,
    PAYLOAD,
    SMALLEST,
    Offer,
    Road,
)
from service.planning.labelling.gap_costs import (
    demanded,
    detours,
    must_costs,
    second_costs,
    tip_costs,
)
from service.planning.labelling.load_steps import (
    ToGo,
    aboard,
    begins_of,
    cost_of,
    least_at,
    step_at,
    step_of,
)


def _at_last(rules: Array, begin: int, costs: Array, rise: Array, best: Array) -> None:
    """Lower ``best`` to what it costs to tip all there is in the last gap, by step of the load."""
    step = step_of(rules)
    for k in range(best.shape[0]):
        load = min(least_at(k, begin, step), rules[PAYLOAD])
        best[k] = min(best[k], cost_of(costs, rise, load, step))


at_last = compiled(_at_last, inline=True)


def _passed(
    rules: Array,
    road: Road,
    begins: Array,
    costs: Array,
    rise: Array,
    way: int,
    gap: int,
    i: int,
    must: int,
    light: Array,
    after: Array,
    best: Array,
) -> None:
    """Lower ``best`` to what follows the start of a gap at least, by step of the load.

    ``costs`` are those of tips in it, ``way`` is what it costs without, ``after`` is what follows
    the next gap's start; ``light`` is the lightest lot aboard. With ``must``, there is a tip.
    """
    payload, step, smallest, leave = rules[PAYLOAD], step_of(rules), rules[SMALLEST], rules[LEAVE]
    kg, here, there = road.jobs[gap, KG], begins[gap, i], begins[gap + 1, i]
    last = best.shape[0] - 1
    emptied = after[gap + 1, step_at(kg, begins[gap + 1, gap + 1], step, last)]
    lowest, top = step_at(kg, there, step, last), step_at(payload, there, step, last)
    straight = (here + kg - there) // step  # so many steps higher with no tip
    small = cost_of(costs, rise, min(smallest, payload), step)
    for k in range(best.shape[0]):
        load = least_at(k, here, step)
        if load > payload:  # overloaded
            best[k] = min(best[k], best[k - 1])
            continue
        least = cost_of(costs, rise, load, step) + emptied
        full, high = load + kg, lowest if k == 0 else straight + k
        if must < 0:
            if load == 0:
                least = min(least, way + emptied)
            litres = load * light[0] // light[1] + road.jobs[gap, LITRES]
            if full <= payload and litres <= rules[BODY]:
                least = min(least, way + after[i, high])
        gone, more = full - there - lowest * step + 1, here + k * step
        at = gone // step
        for low in range(lowest, min(high, top) + 1):
            # a part: the load after the next lot falls into a lower step
            if gone <= smallest:
                if smallest < more:
                    least = min(least, small + after[i, low])
                if leave < FAR and more >= 1:
                    least = min(least, way + max(gone, 1) * leave + after[i, low])
            elif gone < more:
                least = min(least, costs[at] + after[i, low])
            gone -= step
            at -= 1
        best[k] = min(best[k], least)


passed = compiled(_passed, inline=True)


def _completions(rules: Array, road: Road, offer: Offer) -> ToGo:
    """Return bounds on the cost to go after every gap's start."""
    legs, near, begins, steps = road.legs, road.near, begins_of(rules, road), rules[GRID] + 2
    n, (bits, light) = road.jobs.shape[0], aboard(road)
    tables, step = 1, step_of(rules)
    while (rules[ASKED] >> (tables - 1)) > 0:
        tables += 1
    togo = np.full((tables, n + 1, n + 1, steps), FAR, dtype=np.int64)
    costs, rise = np.empty(steps, dtype=np.int64), np.empty(steps, dtype=np.int64)
    heeding, level = np.empty(steps, dtype=np.int64), np.zeros(steps, dtype=np.int64)
    tips = np.zeros((2, n + 1, n + 1, steps), dtype=np.int64)
    for gap in range(n, -1, -1):
        first, last = road.offsets[gap], road.offsets[gap + 1]
        must = demanded(near, first, last)
        need = near[must, NEED] if must >= 0 else np.int64(0)
        for i in range(gap, -1, -1):
            kinds, lightest = bits[gap, i], light[gap, i]
            if i == gap or kinds != bits[gap, i + 1]:
                if must >= 0:
                    must_costs(rules, road, offer, gap, kinds, must, need, costs)
                    rise[:] = 0
                else:
                    tip_costs(rules, road, offer, gap, kinds, costs, rise)
            tips[0, gap, i], tips[1, gap, i] = costs, rise
            for table in range(tables):
                best, way = togo[table, gap, i], legs[gap, 0]
                if gap < n:
                    after = togo[table, gap + 1]
                    passed(
                        rules, road, begins, costs, rise, way, gap, i, must, lightest, after, best
                    )
                elif table == 0:
                    at_last(rules, begins[n, i], costs, rise, best)
                    if must < 0:
                        best[0] = min(way, best[0])
                        best[1] = min(way, best[1]) if begins[n, i] == 0 else best[1]
                for row in range(first if table > 0 else last, last):
                    if near[row, ASK] > 0 and near[row, ASK_BIT] == table - 1:
                        low = near[row, ASK]
                        must_costs(rules, road, offer, gap, kinds, row, low, heeding)
                        if gap < n:
                            after = togo[0, gap + 1]
                            passed(
                                rules,
                                road,
                                begins,
                                heeding,
                                level,
                                way,
                                gap,
                                i,
                                row,
                                lightest,
                                after,
                                best,
                            )
                        else:
                            at_last(rules, begins[n, i], heeding, level, best)
    return ToGo(togo, begins, bits, light, tips[0], tips[1], step)


completions = compiled(_completions)


def _after_first(rules: Array, road: Road, offer: Offer, togo: ToGo) -> ToGo:
    """Return bounds on the cost to go once there was a tip in a gap and there may be one more.

    The way from that tip to the next job is left out.
    """
    n, steps, begins = road.jobs.shape[0], rules[GRID] + 2, togo.begins
    bits, light = togo.bits, togo.light
    found = np.full((1, n + 1, n + 1, steps), FAR, dtype=np.int64)
    costs, rise = np.empty(steps, dtype=np.int64), np.empty(steps, dtype=np.int64)
    for gap in range(n + 1):
        longer = detours(rules, road, gap, 0)
        for i in range(gap, -1, -1):
            kinds, lightest = bits[gap, i], light[gap, i]
            if i == gap or kinds != bits[gap, i + 1]:
                second_costs(rules, road, offer, gap, kinds, longer, costs, rise)
            best = found[0, gap, i]
            if gap < n:
                after = togo.cost[0, gap + 1]
                passed(rules, road, begins, costs, rise, 0, gap, i, -1, lightest, after, best)
            else:
                at_last(rules, begins[n, i], costs, rise, best)
    return ToGo(found, begins, bits, light, togo.tips, togo.rise, togo.step)


after_first = compiled(_after_first)

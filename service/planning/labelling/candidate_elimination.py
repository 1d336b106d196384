# ruff: noqa: C901, PLR0912, PLR0917 - machine code wants flat loops and plain arguments
"""What a whole plan costs at least that drops so much in one gap, or at one candidate. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    ACCEPT,
    BODY,
    CIN,
    COUT,
    FAR,
    FIX,
    GRID,
    KG,
    LATER,
    LEAVE,
    LITRES,
    PAYLOAD,
    SMALLEST,
    START_KG,
    Offer,
    Road,
)
from service.planning.labelling.cut_tolls import toll_of
from service.planning.labelling.gap_costs import (
    demanded,
    detours,
    second_costs,
)
from service.planning.labelling.load_steps import ToGo, cost_of, least_at, step_at, step_of


def _kept(
    rules: Array,
    begins: Array,
    gap: int,
    i: int,
    k: int,
    load: int,
    so_far: int,
    way: int,
    straight: int,
    costs: Array,
    small: int,
    rest: Array,
    through: Array,
    then: Array,
) -> None:
    """Lower ``then``, what comes before the next gap, and ``through`` by days that keep a part.

    The load is of step k, ``load`` is taken on after the gap; ``way`` is what it costs to keep all,
    FAR if that may not be, ``straight`` what the way costs in any case.
    """
    here, there, step = begins[gap, i], begins[gap + 1, i], step_of(rules)
    least, payload, smallest = least_at(k, here, step), rules[PAYLOAD], rules[SMALLEST]
    leave = rules[LEAVE]
    most = min(here + k * step - 1, payload)
    last = rest.shape[0] - 1
    lowest = step_at(load, there, step, last)
    high = step_at(min(most + load, payload), there, step, last)
    if way < FAR:
        for low in range(step_at(least + load, there, step, last), high + 1):
            then[low] = min(then[low], so_far + way)
    gone = least + load - there - lowest * step + 1
    at, q = gone // step, smallest // step
    for low in range(lowest, high + 1):
        if gone > smallest and gone <= most:
            through[at] = min(through[at], so_far + rest[low])
            then[low] = min(then[low], so_far + costs[at])
        elif gone <= smallest <= most:
            through[q] = min(through[q], so_far + rest[low])
            then[low] = min(then[low], so_far + small)
        left = max(gone, 1)
        if leave < FAR and left <= min(smallest, most):
            through[left // step] = min(through[left // step], so_far + rest[low])
            then[low] = min(then[low], so_far + straight + left * leave)
        gone -= step
        at -= 1


kept = compiled(_kept, inline=True)


def _through_gaps(rules: Array, road: Road, togo: ToGo) -> Array:
    """Return bounds on whole plans that drop so many steps in a gap, less that gap's own cost.

    Entry [g, i, q] is for q steps dropped in gap g of a load that began with lot i; what comes
    before is the mirror image of the completions, what comes after is theirs.
    """
    jobs, start, near = road.jobs, road.start, road.near
    begins, step, payload = togo.begins, togo.step, rules[PAYLOAD]
    n, steps, rest = jobs.shape[0], togo.cost.shape[3], togo.cost[0]
    come = np.full((n + 1, n + 1, steps), FAR, dtype=np.int64)
    through = np.full((n + 1, n + 1, rules[GRID] + 1), FAR, dtype=np.int64)
    come[0, 0, step_at(start[START_KG], begins[0, 0], step, steps - 1)] = 0
    for gap in range(n + 1):
        must = demanded(near, road.offsets[gap], road.offsets[gap + 1])
        load = jobs[gap, KG] if gap < n else np.int64(0)
        way = road.legs[gap, 0]
        for i in range(gap, -1, -1):
            light_l, light_kg = togo.light[gap, i, 0], togo.light[gap, i, 1]
            costs, rise = togo.tips[gap, i], togo.rise[gap, i]
            small = cost_of(costs, rise, min(rules[SMALLEST], payload), step)
            for k in range(steps):
                so_far, least = come[gap, i, k], least_at(k, begins[gap, i], step)
                if so_far >= FAR:
                    continue
                q = min(least // step, rules[GRID])
                if gap == n:
                    through[gap, i, q] = min(through[gap, i, q], so_far)
                    continue
                first = step_at(load, begins[gap + 1, gap + 1], step, steps - 1)
                whole = so_far + rest[gap + 1, gap + 1, first]
                through[gap, i, q] = min(through[gap, i, q], whole)
                emptied = so_far + cost_of(costs, rise, least, step)
                if least == 0 and must < 0:
                    emptied = min(emptied, so_far + way)
                come[gap + 1, gap + 1, first] = min(come[gap + 1, gap + 1, first], emptied)
                litres = least * light_l // light_kg + jobs[gap, LITRES]
                if must >= 0 or least + load > payload or litres > rules[BODY]:
                    way = FAR
                after, then = rest[gap + 1, i], come[gap + 1, i]
                kept(
                    rules,
                    begins,
                    gap,
                    i,
                    k,
                    load,
                    so_far,
                    way,
                    road.legs[gap, 0],
                    costs,
                    small,
                    after,
                    through[gap, i],
                    then,
                )
                way = road.legs[gap, 0]
    return through


through_gaps = compiled(_through_gaps)


def _least_with(rules: Array, road: Road, offer: Offer, togo: ToGo) -> Array:
    """Return, by candidate, what a plan with a tip there costs at least.

    Another tip in the same gap counts with the least detour it may be.
    """
    jobs, start, near = road.jobs, road.start, road.near
    n, steps, step = jobs.shape[0], rules[GRID] + 1, togo.step
    through = through_gaps(rules, road, togo)
    found = np.full(near.shape[0], FAR, dtype=np.int64)
    second, rise = np.empty(steps, dtype=np.int64), np.empty(steps, dtype=np.int64)
    here, around = np.empty(steps, dtype=np.int64), np.empty(steps, dtype=np.int64)
    for gap in range(n + 1):
        first, last = road.offsets[gap], road.offsets[gap + 1]
        longer = detours(rules, road, gap, 1)
        around[:] = FAR
        for i in range(gap, -1, -1):
            bits = togo.bits[gap, i]
            if (start[START_KG] if i == 0 else jobs[i - 1, KG]) > 0:
                for q in range(steps):
                    around[q] = min(around[q], through[gap, i, q])
            lowest = around.min()
            if lowest >= FAR or (i > 0 and togo.bits[gap, i - 1] == bits):
                continue  # what began earlier with the same bits aboard is looked at with it
            second_costs(rules, road, offer, gap, bits, longer, second, rise)
            for row in range(first, last):
                if (bits & ~near[row, ACCEPT]) != 0 or offer.room[row] < 0:
                    continue
                fixed = near[row, CIN] + near[row, COUT] + near[row, FIX] + near[row, LATER]
                if fixed + lowest >= found[row]:
                    continue
                within, slope = min(rules[GRID], offer.room[row] // step), offer.price[row] * step
                for j in range(within + 1):
                    here[j] = slope * j + toll_of(offer.toll_kg, offer.toll, row, j * step)
                for q in range(steps):
                    so_far = around[q] + fixed
                    if so_far < found[row]:
                        for j in range(min(within, q) + 1):
                            cost = so_far + here[j] + second[max(q - 1 - j, 0)]
                            found[row] = min(found[row], cost)
            around[:] = FAR
    for row in range(near.shape[0]):
        if found[row] < FAR:
            found[row] += road.late[0, 0]
    return found


least_with = compiled(_least_with)

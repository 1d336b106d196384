# ruff: noqa: C901, PLR0912 - machine code wants flat loops and plain arguments
"""What a whole plan costs at least that drops so much in one gap, or at one candidate. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.compiled import Array, compiled
from service.planning.gap_costs import demanded, must_costs, tip_costs, toll_of
from service.planning.roads import (
    ACCEPT,
    BIT,
    BODY,
    CIN,
    COUT,
    FAR,
    FIX,
    GRID,
    KG,
    LATER,
    LITRES,
    NEED,
    PAYLOAD,
    SHED,
    START_BITS,
    START_KG,
    START_LITRES,
    TIPS,
    Offer,
    Road,
)


def _through_gaps(rules: Array, road: Road, offer: Offer, togo: Array) -> Array:
    """Return bounds on whole plans that drop so many steps in a gap, less that gap's own cost.

    Entry [g, i, q] is for q steps dropped in gap g of a load that began with lot i; what comes
    before is the mirror image of the completions, what comes after is theirs.
    """
    jobs, start, near = road.jobs, road.start, road.near
    n, payload, body, steps = jobs.shape[0], rules[PAYLOAD], rules[BODY], rules[GRID] + 1
    step = (payload + rules[GRID] - 1) // rules[GRID]
    come = np.full((n + 2, n + 2, steps), FAR, dtype=np.int64)
    through = np.full((n + 1, n + 2, steps), FAR, dtype=np.int64)
    come[0, 0, min(start[START_KG] // step, rules[GRID])] = 0
    costs = np.empty(steps, dtype=np.int64)
    for gap in range(n + 1):
        bits, old_bits = np.int64(0), np.int64(-1)
        light_l, light_kg = np.int64(0), np.int64(1)
        must = demanded(near, road.offsets[gap], road.offsets[gap + 1])
        need = near[must, NEED] if must >= 0 else np.int64(0)
        load = jobs[gap, KG] if gap < n else np.int64(0)
        for i in range(gap, -1, -1):
            kg = start[START_KG] if i == 0 else jobs[i - 1, KG]
            vol = start[START_LITRES] if i == 0 else jobs[i - 1, LITRES]
            bits |= start[START_BITS] if i == 0 else jobs[i - 1, BIT]
            if kg > 0 and (light_kg == 1 or vol * light_kg < light_l * kg):
                light_l, light_kg = vol, max(kg, np.int64(2))
            if bits != old_bits:
                if must >= 0:
                    must_costs(rules, road, offer, gap, bits, must, need, costs)
                else:
                    tip_costs(rules, road, offer, gap, bits, costs)
                old_bits = bits
            for k in range(steps):
                so_far = come[gap, i, k]
                if so_far >= FAR:
                    continue
                if gap == n:
                    through[gap, i, k] = min(through[gap, i, k], so_far)
                    continue
                first = min(load // step, rules[GRID])
                rest = togo[0, gap + 1, gap + 1, first]
                through[gap, i, k] = min(through[gap, i, k], so_far + rest)
                emptied = so_far + costs[k]
                if k == 0 and must < 0:
                    emptied = min(emptied, so_far + road.legs[gap, 0])
                come[gap + 1, gap + 1, first] = min(come[gap + 1, gap + 1, first], emptied)
                full = k * step + load
                litres = k * step * light_l // light_kg + jobs[gap, LITRES]
                if must < 0 and full <= payload and litres <= body:
                    for low in range(full // step, min((full + step - 1) // step, rules[GRID]) + 1):
                        kept = so_far + road.legs[gap, 0]
                        come[gap + 1, i, low] = min(come[gap + 1, i, low], kept)
                high = min(rules[GRID], payload // step, (full + step - 1) // step)
                for low in range(load // step, high + 1):
                    gone = full - (low + 1) * step + 1
                    if gone <= k * step:
                        q = max(gone, 0) // step
                        rest = togo[0, gap + 1, i, low]
                        through[gap, i, q] = min(through[gap, i, q], so_far + rest)
                        part = so_far + costs[q]
                        come[gap + 1, i, low] = min(come[gap + 1, i, low], part)
    return through


through_gaps = compiled(_through_gaps)


def _least_with(rules: Array, road: Road, offer: Offer, togo: Array) -> Array:
    """Return, by candidate, what a plan with a tip there costs at least.

    Another tip in the same gap counts with no detour: any way over both is no shorter than the way
    over one (see ``triangle``).
    """
    jobs, start, near = road.jobs, road.start, road.near
    n, steps = jobs.shape[0], rules[GRID] + 1
    step = (rules[PAYLOAD] + rules[GRID] - 1) // rules[GRID]
    through = through_gaps(rules, road, offer, togo)
    found = np.full(near.shape[0], FAR, dtype=np.int64)
    second, here = np.empty(steps, dtype=np.int64), np.empty(steps, dtype=np.int64)
    for gap in range(n + 1):
        first, last = road.offsets[gap], road.offsets[gap + 1]
        bits, old_bits = np.int64(0), np.int64(-1)
        for i in range(gap, -1, -1):
            bits |= start[START_BITS] if i == 0 else jobs[i - 1, BIT]
            kg = start[START_KG] if i == 0 else jobs[i - 1, KG]
            lowest = through[gap, i].min()
            if kg == 0 or lowest >= FAR:
                continue
            if bits != old_bits:
                second[:] = FAR
                second[0] = 0
                for row in range(first, last):
                    if (bits & ~near[row, ACCEPT]) == 0 and offer.room[row] > 0 and rules[TIPS] > 1:
                        for k in range(1, min(rules[GRID], offer.room[row] // step) + 1):
                            cost = near[row, FIX] + offer.price[row] * step * k
                            cost += toll_of(offer.toll_kg, offer.toll, row, k * step)
                            second[k] = min(second[k], cost)
                for k in range(1, steps):
                    second[k] = min(second[k], second[k - 1] + rules[SHED] * step)
                old_bits = bits
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
                    so_far = through[gap, i, q] + fixed
                    if so_far < found[row]:
                        for j in range(min(within, q) + 1):
                            cost = so_far + here[j] + second[max(q - 1 - j, 0)]
                            found[row] = min(found[row], cost)
    for row in range(near.shape[0]):
        if found[row] < FAR:
            found[row] += road.late[0, 0]
    return found


least_with = compiled(_least_with)

# ruff: noqa: C901, FBT001, PLR0911, PLR0912, PLR0915, PLR0917, PLR1730 - machine code wants flat loops and
#     plain arguments by position; numba knows no keyword-only ones, and a bare `if` is its fastest minimum
"""What the rest of a vehicle's day costs at least, by load: lets the labelling drop early. Compiled.

Everything here is a bound from below: the clock is left out (lateness is bounded by a table of its
own), litres are taken at the lightest lot's ratio, loads are rounded down to steps.
"""

from __future__ import annotations

import numpy as np

from service.planning.compiled import Array, compiled

STEPS = 48  # loads are told apart in so many steps of the payload
LATE_STEP_S = 300
LATE_STEPS = 240
FAR = 2_000_000_000_000_000_000
# Columns of the candidates: destination, cost and time in and out, its own rules, and whether its
# use is tracked over the whole plan (a number from 0) or not (-1), and what its delay costs at least.
DEST, CIN, TIN, COUT, TOUT, FIX, ACCEPT, OPEN, CLOSE, TIP, OVER, NEED, TRACK, LATER = range(14)


def _lateness(
    jobs: Array, legs: Array, gap: int, clock: int, shift_end: int, late: int, overtime: int
) -> Array:
    """Return the cost of lateness and overtime from the start of a gap on, if nothing is tipped.

    It is convex in the clock: a delay costs the least on the earliest day.
    """
    n = jobs.shape[0]
    cost = np.int64(0)
    for g in range(gap, n):
        clock += legs[g, 1]
        cost += max(clock - jobs[g, 4], 0) * late
        clock = max(clock, jobs[g, 3]) + jobs[g, 5]
    return cost + max(clock + legs[n, 1] - shift_end, 0) * overtime


lateness = compiled(_lateness)


def _late_table(
    jobs: Array,
    legs: Array,
    offsets: Array,
    near: Array,
    pair_offsets: Array,
    pairs: Array,
    start: int,
    shift_end: int,
    late: int,
    overtime: int,
) -> Array:
    """Return the least cost of lateness to go, by gap and clock, and of the delay by two tips.

    The delay of each candidate is written into ``near``.
    """
    n = jobs.shape[0]
    table = np.zeros((n + 2, LATE_STEPS), dtype=np.int64)
    of_pairs = np.zeros(pairs.shape[0], dtype=np.int64)
    clock = start
    for gap in range(n + 1):
        for step in range(LATE_STEPS):
            table[gap, step] = lateness(
                jobs, legs, gap, start + step * LATE_STEP_S, shift_end, late, overtime
            )
        base = lateness(jobs, legs, gap, clock, shift_end, late, overtime)
        first, width = offsets[gap], offsets[gap + 1] - offsets[gap]
        for a in range(width):
            row = first + a
            own = near[row, TIN] + near[row, TIP] + near[row, TOUT] - legs[gap, 1]
            near[row, LATER] = (
                lateness(jobs, legs, gap, clock + max(own, 0), shift_end, late, overtime) - base
            )
            if clock + near[row, TIN] > near[row, CLOSE]:
                near[row, ACCEPT] = 0  # closed even on the earliest day
            for b in range(width):
                pair = pair_offsets[gap] + a * width + b
                delay = (
                    near[row, TIN] + near[row, TIP] + pairs[pair, 1]
                    + near[first + b, TIP] + near[first + b, TOUT] - legs[gap, 1]
                )  # fmt: skip
                of_pairs[pair] = (
                    lateness(jobs, legs, gap, clock + max(delay, 0), shift_end, late, overtime)
                    - base
                )
        if gap < n:
            clock = max(clock + legs[gap, 1], jobs[gap, 3]) + jobs[gap, 5]
    return table, of_pairs


late_table = compiled(_late_table)


def _linear_late(
    jobs: Array,
    legs: Array,
    offsets: Array,
    near: Array,
    pair_offsets: Array,
    pairs: Array,
    start: int,
    prices: Array,
) -> Array:
    """Return the same with lateness priced per second, as slopes by gap: a bound for any prices.

    ``prices`` has one entry a job and one for the end, 0 to what a late second costs: a job that
    is late by x s costs at least price times x, also if x is negative.
    """
    n = jobs.shape[0]
    table = np.zeros((n + 2, LATE_STEPS), dtype=np.int64)
    of_pairs = np.zeros(pairs.shape[0], dtype=np.int64)
    slopes = np.zeros(n + 1, dtype=np.int64)
    constant, slope = np.int64(0), np.int64(0)
    for gap in range(n, -1, -1):
        due = prices[n + 1] if gap == n else jobs[gap, 4]
        service = np.int64(0) if gap == n else jobs[gap, 5]
        # from this gap's start at t: job reached at t + leg, the next gap starts at t + leg + service
        constant += slope * (legs[gap, 1] + service) + prices[gap] * (legs[gap, 1] - due)
        slope += prices[gap]
        slopes[gap] = slope
        for step in range(LATE_STEPS):
            table[gap, step] = constant + slope * (start + step * LATE_STEP_S)
        first, width = offsets[gap], offsets[gap + 1] - offsets[gap]
        for a in range(width):
            row = first + a
            own = near[row, TIN] + near[row, TIP] + near[row, TOUT] - legs[gap, 1]
            near[row, LATER] = slope * max(own, 0)
            for b in range(width):
                pair = pair_offsets[gap] + a * width + b
                delay = (
                    near[row, TIN] + near[row, TIP] + pairs[pair, 1]
                    + near[first + b, TIP] + near[first + b, TOUT] - legs[gap, 1]
                )  # fmt: skip
                of_pairs[pair] = slope * max(delay, 0)
    return table, of_pairs, slopes


linear_late = compiled(_linear_late)


def _tip_costs(
    near: Array,
    first: int,
    width: int,
    pairs: Array,
    of_pairs: Array,
    pair_first: int,
    drive: int,
    kg_price: Array,
    room: Array,
    shed: int,
    bits: int,
    step: int,
    two: bool,
    costs: Array,
) -> None:
    """Fill ``costs`` with the least cost to pass a gap and drop k steps of load there, k from 0."""
    steps = costs.shape[0]
    costs[:] = FAR
    for a in range(width):
        row = first + a
        if room[row] < 0 or (bits & ~near[row, ACCEPT]) != 0:
            continue
        fixed = near[row, CIN] + near[row, COUT] + near[row, FIX] + near[row, LATER]
        last = min(steps - 1, room[row] // step)
        slope = kg_price[row] * step
        cost = fixed
        for k in range(last + 1):
            if cost < costs[k]:
                costs[k] = cost
            cost += slope
        if not two:
            continue
        for b in range(width):
            other = first + b
            if b == a or room[other] < 0 or (bits & ~near[other, ACCEPT]) != 0:
                continue
            # fill the cheaper one, then the dearer one; whichever is met first on the way
            if kg_price[other] < kg_price[row] or (kg_price[other] == kg_price[row] and b < a):
                continue
            pair, turned = pair_first + a * width + b, pair_first + b * width + a
            there = near[row, CIN] + pairs[pair, 0] * drive + near[other, COUT] + of_pairs[pair]
            back = near[other, CIN] + pairs[turned, 0] * drive + near[row, COUT] + of_pairs[turned]
            fixed = min(there, back) + near[row, FIX] + near[other, FIX]
            k = room[row] // step
            last = min(steps - 1, (room[row] + room[other]) // step)
            cost = fixed + k * slope
            dearer = kg_price[other] * step
            # the step that straddles the first one's room counts at the lower price
            while k <= last:
                if cost < costs[k]:
                    costs[k] = cost
                k += 1
                if k * step <= room[row] + step:
                    cost += slope
                else:
                    cost += dearer
    for k in range(1, steps):
        over = costs[k - 1] + shed * step
        if over < costs[k]:
            costs[k] = over


tip_costs = compiled(_tip_costs)


def _completions(
    payload: int,
    body: int,
    smallest: int,
    tips_allowed: int,
    drive: int,
    shed: int,
    start: Array,
    jobs: Array,
    legs: Array,
    offsets: Array,
    near: Array,
    pair_offsets: Array,
    pairs: Array,
    of_pairs: Array,
    kg_price: Array,
    room: Array,
) -> Array:
    """Return bounds on the cost to go: by gap, by lot loaded first since empty, by load in steps.

    Entry [g, i, k] bounds what follows the start of gap g for a load of at least k steps that
    began with lot i (0: what was aboard at the start, i + 1: job i).
    """
    n = jobs.shape[0]
    step = (payload + STEPS - 1) // STEPS
    steps = STEPS + 1
    togo = np.full((n + 2, n + 2, steps), FAR, dtype=np.int64)
    costs = np.empty(steps, dtype=np.int64)
    togo[n + 1] = 0
    for gap in range(n, -1, -1):
        bits = np.int64(0)
        litres, per = np.int64(0), np.int64(1)  # the lightest lot's ratio
        width = offsets[gap + 1] - offsets[gap]
        old_bits = np.int64(-1)
        for i in range(gap, -1, -1):
            if i == 0:
                kg, vol, bit = start[1], start[2], start[3]
            else:
                kg, vol, bit = jobs[i - 1, 0], jobs[i - 1, 1], jobs[i - 1, 2]
            bits |= bit
            if kg > 0 and (per == 1 or vol * per < litres * kg):
                litres, per = vol, max(kg, 2)
            if bits != old_bits:
                tip_costs(
                    near, offsets[gap], width, pairs, of_pairs, pair_offsets[gap], drive, kg_price, room,
                    shed, bits, step, tips_allowed > 1, costs,
                )  # fmt: skip
                old_bits = bits
            if gap == n:
                for k in range(steps):
                    togo[gap, i, k] = costs[k]
                togo[gap, i, 0] = min(legs[gap, 0], costs[0])
                continue
            load = jobs[gap, 0]
            emptied = togo[gap + 1, gap + 1, min(load // step, steps - 1)]
            for k in range(steps):
                best = costs[k] + emptied
                if k == 0:
                    best = min(best, legs[gap, 0] + emptied)
                after = k * step + load
                if after <= payload and k * step * litres // per + jobs[gap, 1] <= body:
                    best = min(best, legs[gap, 0] + togo[gap + 1, i, after // step])
                # a part: the load after the next lot falls into a lower step
                for low in range(load // step, min(steps - 1, payload // step, after // step) + 1):
                    least = after - (low + 1) * step + 1
                    if least > k * step:
                        continue
                    cost = costs[max(least, 0) // step] + togo[gap + 1, i, low]
                    if cost < best:
                        best = cost
                togo[gap, i, k] = best
    return togo


completions = compiled(_completions)

# ruff: noqa: C901, FBT001, PLR0911, PLR0912, PLR0915, PLR0917, PLR1730 - machine code wants flat loops and
#     plain arguments by position; numba knows no keyword-only ones, and a bare `if` is its fastest minimum
"""Which of all destinations could be part of a better tip plan than the best one known. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.compiled import Array, compiled
from service.planning.completion import FAR, STEPS, completions, lateness, tip_costs
from service.planning.ways import way


def _scores(
    mode: int,
    points: Array,
    metres: Array,
    seconds: Array,
    factors: Array,
    places: Array,
    place_of: Array,
    accepts: Array,
    stop: Array,
    tip_s: Array,
    close_s: Array,
    prices: Array,
    capacity: Array,
    rules: Array,
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
    slopes: Array,
    slack: int,
) -> Array:
    """Return, by gap and destination, how much more a tip there costs at least than the best there.

    Any plan with a tip at d in a gap costs at least the root's bound plus this: put the cheapest
    way past the gap in its place, and the bound of the shortlists holds for what results. What is
    above ``slack`` may be left FAR. ``slopes`` prices a second of delay, or is -1 where the lateness
    on the earliest day counts. Rules are payload, body, smallest tip, tips, drive, shed, shift
    end, late, overtime.
    """
    payload, drive, shed = rules[0], rules[4], rules[5]
    n, total = jobs.shape[0], place_of.shape[0]
    step = (payload + STEPS - 1) // STEPS
    steps = STEPS + 1
    scores = np.full((n + 1, total), FAR, dtype=np.int64)
    costs = np.empty(steps, dtype=np.int64)
    second = np.empty(steps, dtype=np.int64)
    clock = start[0]
    for gap in range(n + 1):
        base = lateness(jobs, legs, gap, clock, rules[6], rules[7], rules[8])
        fixed = np.empty(total, dtype=np.int64)
        a, b = places[gap], places[gap + 1]
        for d in range(total):
            m1, s1 = way(mode, points, metres, seconds, factors, a, place_of[d])
            m2, s2 = way(mode, points, metres, seconds, factors, place_of[d], b)
            fixed[d] = (m1 + m2) * drive + stop[d]
            if clock + s1 > close_s[d]:
                fixed[d] = FAR
                continue
            delay = s1 + s2 + tip_s[d] - legs[gap, 1]
            if slopes[gap] >= 0:
                fixed[d] += slopes[gap] * max(delay, 0)
            else:
                late = lateness(
                    jobs, legs, gap, clock + max(delay, 0), rules[6], rules[7], rules[8]
                )
                fixed[d] += late - base
        bits, old_bits = np.int64(0), np.int64(-1)
        smallest = rules[2]
        for i in range(gap, -1, -1):
            bit = start[3] if i == 0 else jobs[i - 1, 2]
            kg = start[1] if i == 0 else jobs[i - 1, 0]
            if kg > 0:
                smallest = min(smallest, kg)
            bits |= bit
            if bits == old_bits or kg == 0:
                continue
            old_bits = bits
            width = offsets[gap + 1] - offsets[gap]
            tip_costs(
                near, offsets[gap], width, pairs, of_pairs, pair_offsets[gap], drive, kg_price, room,
                shed, bits, step, rules[3] > 1, costs,
            )  # fmt: skip
            # a second tip anywhere, at no detour
            second[:] = FAR
            second[0] = 0
            for d in range(total):
                if (bits & ~accepts[d]) == 0 and capacity[d] > 0 and rules[3] > 1:
                    for k in range(1, min(steps - 1, capacity[d] // step) + 1):
                        second[k] = min(second[k], stop[d] + prices[d] * step * k)
            for k in range(1, steps):
                second[k] = min(second[k], second[k - 1] + shed * step)
            lowest = smallest // step
            for d in range(total):
                if (bits & ~accepts[d]) != 0 or fixed[d] >= FAR:
                    continue
                within = min(steps - 1, max(capacity[d], 0) // step)
                best = scores[gap, d]
                for k in range(lowest, steps):
                    if costs[k] >= FAR or fixed[d] - costs[k] >= min(best, slack + 1):
                        continue
                    for j in range(within + 1):
                        cost = (
                            fixed[d] + prices[d] * step * j + second[max(k - 1 - j, 0)] - costs[k]
                        )
                        if j >= k:
                            cost = min(cost, fixed[d] + prices[d] * step * k - costs[k])
                        if cost < best:
                            best = cost
                        if j >= k:
                            break
                scores[gap, d] = best
        if gap < n:
            clock = max(clock + legs[gap, 1], jobs[gap, 3]) + jobs[gap, 5]
    return scores


scores = compiled(_scores)


def _root(
    rules: Array,
    start: Array,
    jobs: Array,
    legs: Array,
    offsets: Array,
    near: Array,
    pair_offsets: Array,
    pairs: Array,
    of_pairs: Array,
    late: Array,
    kg_price: Array,
    room: Array,
) -> Array:
    """Return the bound on a vehicle's whole reduced cost that the shortlists give."""
    togo = completions(
        rules[0], rules[1], rules[2], rules[3], rules[4], rules[5], start, jobs, legs, offsets,
        near, pair_offsets, pairs, of_pairs, kg_price, room,
    )  # fmt: skip
    step = (rules[0] + STEPS - 1) // STEPS
    return togo[0, 0, min(start[1] // step, STEPS)] + late[0, 0]


root = compiled(_root)

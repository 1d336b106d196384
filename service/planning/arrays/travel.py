# ruff: noqa: C901, PLR0912, PLR0915, PLR0917 - machine code wants flat loops and plain arguments
"""Ways between places, and which destinations are worth a look in each gap. Compiled."""

from __future__ import annotations

import math

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import FIRST_S, SERVICE, START_S

PLANE_MODE, SPHERE_MODE, MATRIX_MODE = 0, 1, 2


def _seconds_of(metres: float, speed: float) -> Array:
    """Return the seconds that so many metres take, rounded as the problem format says."""
    return np.int64(math.floor(metres * 60.0 / speed + 0.5))


seconds_of = compiled(_seconds_of, inline=True)


def _way(
    mode: int, points: Array, metres: Array, seconds: Array, factors: Array, a: int, b: int
) -> Array:
    """Return metres and seconds from a to b, rounded as the problem format says."""
    if mode == MATRIX_MODE:
        return np.int64(metres[a, b]), np.int64(seconds[a, b])
    if a == b:
        return np.int64(0), np.int64(0)
    dx = points[a, 0] - points[b, 0]
    dy = points[a, 1] - points[b, 1]
    dz = points[a, 2] - points[b, 2]
    straight = math.sqrt(dx * dx + dy * dy + dz * dz)
    if mode == SPHERE_MODE:  # from the chord of the unit sphere to the arc
        straight = 2.0 * factors[2] * math.asin(min(1.0, straight / 2.0))
    m = math.floor(straight * factors[0] / 1000.0 + 0.5)
    return np.int64(m), seconds_of(m, factors[1])


way = compiled(_way, inline=True)


def _place_in(best: Array, who: Array, score: int, d: int) -> None:
    """Put a destination into a short list sorted by score, if it belongs there."""
    k = best.shape[0] - 1
    if k < 0 or score >= best[k]:
        return
    while k > 0 and best[k - 1] > score:
        best[k], who[k] = best[k - 1], who[k - 1]
        k -= 1
    best[k], who[k] = score, d


place_in = compiled(_place_in, inline=True)


def _spread(
    mode: int, points: Array, metres: Array, factors: Array, a: int, places: Array, back: int
) -> Array:
    """Return the metres from a to each of these places, or with ``back`` 1 to a, as in ``way``."""
    found = np.empty(places.shape[0])
    if mode == MATRIX_MODE:
        for k in range(places.shape[0]):
            found[k] = metres[places[k], a] if back == 1 else metres[a, places[k]]
        return found
    x, y, z = points[a, 0], points[a, 1], points[a, 2]
    for k in range(places.shape[0]):
        dx, dy, dz = points[places[k], 0] - x, points[places[k], 1] - y, points[places[k], 2] - z
        found[k] = math.sqrt(dx * dx + dy * dy + dz * dz)
    if mode == SPHERE_MODE:
        for k in range(places.shape[0]):
            found[k] = 2.0 * factors[2] * math.asin(min(1.0, found[k] / 2.0))
    for k in range(places.shape[0]):
        found[k] = math.floor(found[k] * factors[0] / 1000.0 + 0.5)
    return found


spread = compiled(_spread)


def _choose(
    mode: int,
    points: Array,
    metres: Array,
    seconds: Array,
    factors: Array,
    places: Array,
    place_of: Array,
    accepts: Array,
    capacity: Array,
    stop: Array,
    price: Array,
    may_overflow: Array,
    close: Array,
    start: Array,
    jobs: Array,
    must: Array,
    scales: Array,
) -> Array:
    """Return the numbers of the best destinations of every gap, in ascending order.

    A destination scores by detour + stop + (price - worth) x what it takes of a usual load:
    cheap, near and roomy ones come first, none that is closed even on the earliest day. The best
    ``count`` are kept, for every bit the best ``per_bit`` of its takers, and everything in
    ``must`` (rows of gap and destination).
    ``scales`` is drive, worth, usual load, overflow price, count, per_bit, number of bits.
    """
    drive, worth, usual_kg, overflow = scales[0], scales[1], scales[2], scales[3]
    count, per_bit, bits = scales[4], scales[5], scales[6]
    gaps, total = places.shape[0] - 1, place_of.shape[0]
    never = np.int64(4_000_000_000_000_000_000)
    most = min(total, count + bits * per_bit + must.shape[0])
    chosen = np.empty((gaps, most), dtype=np.int64)
    counts = np.zeros(gaps, dtype=np.int64)
    open_d = np.empty(total, dtype=np.int64)  # those that take anything
    worth_of = np.empty(total, dtype=np.int64)  # stop + (price - worth) x what they take
    opened = 0
    for d in range(total):
        if accepts[d] == 0 or (capacity[d] <= 0 and may_overflow[d] == 0):
            continue
        kg = min(capacity[d], usual_kg)
        open_d[opened], worth_of[opened] = d, stop[d] + (price[d] - worth) * kg
        if kg <= 0:
            worth_of[opened] += (price[d] + overflow) * usual_kg
        opened += 1
    open_d = open_d[:opened]
    there = place_of[open_d]
    before_m = after_m = np.empty(0)
    best = np.empty(count, dtype=np.int64)
    who = np.empty(count, dtype=np.int64)
    bit_best = np.empty((bits, per_bit), dtype=np.int64)
    bit_who = np.empty((bits, per_bit), dtype=np.int64)
    taken = np.zeros(total, dtype=np.bool_)
    clock = start[START_S]
    for gap in range(gaps):
        a, b = places[gap], places[gap + 1]
        leg, leg_s = way(mode, points, metres, seconds, factors, a, b)
        best[:] = never
        bit_best[:] = never
        worst = never if count > 0 else -never
        before_m = after_m
        if gap == 0 or mode == MATRIX_MODE:
            before_m = spread(mode, points, metres, factors, a, there, 0)
        after_m = spread(mode, points, metres, factors, b, there, 1)
        for k in range(opened):
            d = open_d[k]
            score = (np.int64(before_m[k] + after_m[k]) - leg) * drive + worth_of[k]
            wanted = score < worst
            for bit in range(bits):
                if (accepts[d] >> bit) & 1 and score < bit_best[bit, per_bit - 1]:
                    wanted = True
            if not wanted:
                continue
            _, there_s = way(mode, points, metres, seconds, factors, a, there[k])
            if clock + there_s > close[d]:
                continue
            if score < worst:
                place_in(best, who, score, d)
                worst = best[count - 1]
            for bit in range(bits):
                if (accepts[d] >> bit) & 1 and score < bit_best[bit, per_bit - 1]:
                    place_in(bit_best[bit], bit_who[bit], score, d)
        taken[:] = False
        for k in range(count):
            if best[k] < never:
                taken[who[k]] = True
        for bit in range(bits):
            for k in range(per_bit):
                if bit_best[bit, k] < never:
                    taken[bit_who[bit, k]] = True
        for k in range(must.shape[0]):
            if must[k, 0] == gap:
                taken[must[k, 1]] = True
        k = 0
        for d in range(total):
            if taken[d]:
                chosen[gap, k] = d
                k += 1
        counts[gap] = k
        if gap < gaps - 1:
            clock = max(clock + leg_s, jobs[gap, FIRST_S]) + jobs[gap, SERVICE]
    return chosen, counts


choose = compiled(_choose)


def _fill(
    mode: int,
    points: Array,
    metres: Array,
    seconds: Array,
    factors: Array,
    places: Array,
    place_of: Array,
    chosen: Array,
    counts: Array,
    drive: int,
) -> Array:
    """Return legs, offsets, candidates (number, cost in, time in, cost out, time out) and pairs."""
    gaps = places.shape[0] - 1
    offsets = np.zeros(gaps + 1, dtype=np.int64)
    pair_offsets = np.zeros(gaps + 1, dtype=np.int64)
    for gap in range(gaps):
        offsets[gap + 1] = offsets[gap] + counts[gap]
        pair_offsets[gap + 1] = pair_offsets[gap] + counts[gap] * counts[gap]
    legs = np.empty((gaps, 2), dtype=np.int64)
    near = np.empty((offsets[gaps], 5), dtype=np.int64)
    pairs = np.empty((pair_offsets[gaps], 2), dtype=np.int32)
    for gap in range(gaps):
        a, b = places[gap], places[gap + 1]
        m, s = way(mode, points, metres, seconds, factors, a, b)
        legs[gap, 0], legs[gap, 1] = m * drive, s
        for k in range(counts[gap]):
            d = chosen[gap, k]
            row = offsets[gap] + k
            near[row, 0] = d
            m, s = way(mode, points, metres, seconds, factors, a, place_of[d])
            near[row, 1], near[row, 2] = m * drive, s
            m, s = way(mode, points, metres, seconds, factors, place_of[d], b)
            near[row, 3], near[row, 4] = m * drive, s
            for n in range(counts[gap]):
                m, s = way(
                    mode, points, metres, seconds, factors, place_of[d], place_of[chosen[gap, n]]
                )
                pairs[pair_offsets[gap] + k * counts[gap] + n, 0] = m
                pairs[pair_offsets[gap] + k * counts[gap] + n, 1] = s
    return legs, offsets, near, pair_offsets, pairs


fill = compiled(_fill)

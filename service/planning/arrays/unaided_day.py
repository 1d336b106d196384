"""A vehicle's day by a plain rule, to see which jobs it will hardly reach in time. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.delays import tip_begins
from service.planning.arrays.inputs import (
    ACCEPT,
    BIT,
    BODY,
    CLOSE,
    FIRST_S,
    KG,
    LAST_S,
    LITRES,
    NEVER,
    PAYLOAD,
    SERVICE,
    SHIFT_END,
    START_BITS,
    START_KG,
    START_LITRES,
    START_S,
    TIN,
    TIP,
    TOUT,
    Road,
)


def _soonest(road: Road, gap: int, bits: int, clock: int) -> Array:
    """Return the candidate of a gap that takes these bits and delays least, -1 if there is none."""
    near, best, least = road.near, -1, NEVER
    for row in range(road.offsets[gap], road.offsets[gap + 1]):
        there = clock + near[row, TIN]
        if (bits & ~near[row, ACCEPT]) == 0 and there <= near[row, CLOSE]:
            over = tip_begins(near, row, there) + near[row, TIP] + near[row, TOUT]
            if over < least:
                best, least = row, over
    return best


soonest = compiled(_soonest)


def _late_plainly(rules: Array, road: Road) -> Array:
    """Return which jobs, and at the end whether the shift, are late by the plain rule.

    Load until the next lot will not fit or nothing near would take the mixture; then tip all at
    whatever delays least. Room is not looked at.
    """
    jobs, start, near = road.jobs, road.start, road.near
    n = jobs.shape[0]
    late = np.zeros(n + 1, dtype=np.bool_)
    clock, kg, litres, bits = (
        start[START_S],
        start[START_KG],
        start[START_LITRES],
        start[START_BITS],
    )
    for gap in range(n + 1):
        full = gap == n and kg > 0
        if gap < n and kg > 0:
            full = kg + jobs[gap, KG] > rules[PAYLOAD] or litres + jobs[gap, LITRES] > rules[BODY]
            full = full or soonest(road, gap, bits | jobs[gap, BIT], clock) < 0
        row = soonest(road, gap, bits, clock) if full else -1
        if row >= 0:
            clock = tip_begins(near, row, clock + near[row, TIN]) + near[row, TIP]
            clock += near[row, TOUT]
            kg, litres, bits = np.int64(0), np.int64(0), np.int64(0)
        else:
            clock += road.legs[gap, 1]
        if gap == n:
            late[gap] = clock > rules[SHIFT_END]
        else:
            late[gap] = clock > jobs[gap, LAST_S]
            clock = max(clock, jobs[gap, FIRST_S]) + jobs[gap, SERVICE]
            kg, litres, bits = kg + jobs[gap, KG], litres + jobs[gap, LITRES], bits | jobs[gap, BIT]
    return late


late_plainly = compiled(_late_plainly)

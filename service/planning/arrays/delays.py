"""What delays cost: later in a day, jobs and the end may be late. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    ACCEPT,
    CLOSE,
    FAR,
    FIRST_S,
    LAST_S,
    LATE,
    LATE_STEP_S,
    LATE_STEPS,
    LATER,
    OPEN,
    OVERTIME,
    PACE_BASE,
    PACE_CLOCK,
    PACE_SLOPE,
    PACE_SPARE,
    PAUSE,
    RESUME,
    SERVICE,
    SHIFT_END,
    START_S,
    TIN,
    TIP,
    TOUT,
    Road,
)


def _lateness(rules: Array, jobs: Array, legs: Array, gap: int, clock: int) -> Array:
    """Return the cost of lateness and overtime from the start of a gap on, if nothing is tipped.

    It is convex in the clock: a delay costs the least on the earliest day.
    """
    n = jobs.shape[0]
    cost = np.int64(0)
    for g in range(gap, n):
        clock += legs[g, 1]
        cost += max(clock - jobs[g, LAST_S], 0) * rules[LATE]
        clock = max(clock, jobs[g, FIRST_S]) + jobs[g, SERVICE]
    return cost + max(clock + legs[n, 1] - rules[SHIFT_END], 0) * rules[OVERTIME]


lateness = compiled(_lateness, inline=True)


def _spare(rules: Array, jobs: Array, legs: Array, gap: int, clock: int) -> Array:
    """Return by how many seconds a gap may start later before any job or the end is late.

    It is less than nothing if one is late already; waiting is not counted, so it may be more.
    """
    n, found = jobs.shape[0], np.int64(FAR)
    for g in range(gap, n):
        clock += legs[g, 1]
        found = min(found, jobs[g, LAST_S] - clock)
        clock = max(clock, jobs[g, FIRST_S]) + jobs[g, SERVICE]
    return min(found, rules[SHIFT_END] - clock - legs[n, 1])


spare = compiled(_spare)


def _tip_begins(near: Array, row: int, clock: int) -> Array:
    """Return when a tip begins of whoever is at a candidate by a clock: it waits for the gate."""
    begins = max(clock, near[row, OPEN])
    return max(begins, near[row, RESUME]) if begins > near[row, PAUSE] else begins


tip_begins = compiled(_tip_begins, inline=True)


def _delayed(rules: Array, road: Road, gap: int, seconds: int) -> Array:
    """Return what a delay of so many seconds, 0 or more, in a gap costs at least."""
    slope = road.pace[gap, PACE_SLOPE]
    if slope >= 0:
        return slope * seconds
    if seconds <= road.pace[gap, PACE_SPARE]:
        return np.int64(0)
    late = lateness(rules, road.jobs, road.legs, gap, road.pace[gap, PACE_CLOCK] + seconds)
    return late - road.pace[gap, PACE_BASE]


delayed = compiled(_delayed, inline=True)


def _delay(road: Road, gap: int, a: int, b: int) -> Array:
    """Return the seconds that a tip at row a, and then at b unless it is -1, takes in a gap."""
    near, first = road.near, road.offsets[gap]
    width = road.offsets[gap + 1] - first
    own = near[a, TIN] + near[a, TIP] - road.legs[gap, 1]
    if b < 0:
        return max(own + near[a, TOUT], 0)
    pair = road.pair_offsets[gap] + (a - first) * width + b - first
    return max(own + road.pairs[pair, 1] + near[b, TIP] + near[b, TOUT], 0)


delay = compiled(_delay, inline=True)


def _late_on_time(rules: Array, road: Road) -> None:
    """Fill in lateness to go, by clock, and what delays cost at least: on the earliest day.

    A candidate that is closed even then is shut.
    """
    jobs, legs, near, pace = road.jobs, road.legs, road.near, road.pace
    n, start = jobs.shape[0], road.start[START_S]
    clock = start
    for gap in range(n + 1):
        in_time = spare(rules, jobs, legs, gap, start)
        for step in range(LATE_STEPS):
            at = step * LATE_STEP_S
            late = lateness(rules, jobs, legs, gap, start + at) if at > in_time else np.int64(0)
            road.late[gap, step] = late
        pace[gap, PACE_SLOPE], pace[gap, PACE_CLOCK] = -1, clock
        pace[gap, PACE_BASE] = lateness(rules, jobs, legs, gap, clock)
        pace[gap, PACE_SPARE] = spare(rules, jobs, legs, gap, clock)
        for a in range(road.offsets[gap], road.offsets[gap + 1]):
            near[a, LATER] = delayed(rules, road, gap, delay(road, gap, a, -1))
            if clock + near[a, TIN] > near[a, CLOSE]:
                near[a, ACCEPT] = 0
        if gap < n:
            clock = max(clock + legs[gap, 1], jobs[gap, FIRST_S]) + jobs[gap, SERVICE]


late_on_time = compiled(_late_on_time)


def _late_at_prices(rules: Array, road: Road, prices: Array) -> None:
    """Fill in the same with lateness priced per second.

    ``prices`` has one entry a job and one for the end, 0 to what a late second costs: a job that
    is late by x s costs at least price times x, also if x is negative.
    """
    jobs, legs = road.jobs, road.legs
    n, start = jobs.shape[0], road.start[START_S]
    constant, slope = np.int64(0), np.int64(0)
    for gap in range(n, -1, -1):
        due = rules[SHIFT_END] if gap == n else jobs[gap, LAST_S]
        service = np.int64(0) if gap == n else jobs[gap, SERVICE]
        # from this gap's start at t: the job is reached at t + leg, left at t + leg + service
        constant += slope * (legs[gap, 1] + service) + prices[gap] * (legs[gap, 1] - due)
        slope += prices[gap]
        road.pace[gap, PACE_SLOPE] = slope
        for step in range(LATE_STEPS):
            road.late[gap, step] = constant + slope * (start + step * LATE_STEP_S)
        for a in range(road.offsets[gap], road.offsets[gap + 1]):
            road.near[a, LATER] = slope * delay(road, gap, a, -1)


late_at_prices = compiled(_late_at_prices)

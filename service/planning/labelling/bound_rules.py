# ruff: noqa: C901, PLR0917 - machine code wants flat branches, plain arguments
"""What a vehicle may do where its cheapest plan is bounded: at least what any plan may. Compiled.

Credits stay open side by side, litres are rounded down, and what a partial tip may have overfilled
is shed at the overflow price. What a plan may do stands in ``plan_rules``: neither knows the other,
and only ``mode`` chooses between them.
"""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    BODY,
    COUT,
    DRIVE,
    KG,
    LITRES,
    NEED,
    OVER,
    PAYLOAD,
    ROUNDING_M,
    SHED,
    TIPS,
    TRACK,
)
from service.planning.labelling.extension import (
    AFTER,
    BEYOND,
    COST,
    FLOOR,
    FREE,
    LIMIT,
    PRICE,
    ROW,
    count_in,
    may_spill,
    open_more,
    smallest_at,
)
from service.planning.labelling.labels import (
    CKG,
    CREDIT,
    CREDITS,
    CVOL,
    LOAD,
    MOST_CREDITS,
    ONE,
    RED,
    SHEDDABLE,
    SINCE,
    VOL,
    closed,
    draw,
    fitted,
)


def _load_up(s: Array, jobs: Array, gap: int, rules: Array) -> Array:
    """Make room for a lot by drawing on credit and by shedding; false if in vain."""
    kg, litres, payload, body = jobs[gap, KG], jobs[gap, LITRES], rules[PAYLOAD], rules[BODY]
    need, credit = max(s[LOAD] + kg - payload, 0), s[CREDIT]
    over_l = s[VOL] + litres - body
    if s[SINCE] + litres > body:
        return False
    if over_l > 0:
        if credit > 0 and s[CVOL] > 0:
            need = max(need, over_l * s[CKG] // s[CVOL])
        elif s[SHEDDABLE] == 0:
            return False
    if need > max(credit, s[SHEDDABLE]):
        return False
    if need > 0:
        # too few litres stay aboard, but those of later lots do
        drawn = min(need, credit)
        s[VOL] = max(s[VOL] + (-drawn * s[CVOL]) // s[CKG], s[SINCE])
        s[SHEDDABLE] = max(s[SHEDDABLE] - drawn, 0)
        draw(s, drawn)
    excess = max(s[LOAD] + kg - payload, 0)
    over_l = s[VOL] + litres - body
    if s[SHEDDABLE] == 0:
        s[VOL] = min(s[VOL], body - litres)  # what rounding leaves
        return excess == 0
    if over_l > 0:  # at the densest litres any part of the load may have
        thick, per = s[VOL], max(s[LOAD], 1)
        if s[CVOL] * per > thick * s[CKG]:
            thick, per = s[CVOL], s[CKG]
        excess = max(excess, over_l * per // max(thick, 1))
        s[VOL] = max(body - litres, 0)
    if excess > min(s[SHEDDABLE], s[LOAD]):
        return False
    if excess > 0:
        s[RED] += excess * rules[SHED]
        s[SHEDDABLE] -= excess
        s[LOAD] -= excess
        fitted(s, s[LOAD] - 1)
    return True


load_up = compiled(_load_up)


def _may_shed(near: Array, row: int) -> Array:
    """Tell whether a partial tip at a candidate may overfill it, to be paid when it is known."""
    return near[row, OVER] == 1


may_shed = compiled(_may_shed, inline=True)


def _floor_at(near: Array, row: int) -> Array:
    """Return the least that a tip may be: what is demanded.

    What whoever comes must bring is not asked: a lighter label stands for heavier ones.
    """
    return max(near[row, NEED], np.int64(0))


floor_at = compiled(_floor_at, inline=True)


def _astray(rules: Array, gaps: int) -> Array:
    """Return what rounding may save over all tips in so many gaps that a label need not make."""
    return rules[TIPS] * gaps * ROUNDING_M * rules[DRIVE]


astray = compiled(_astray, inline=True)


def _variants(deal: Array, near: Array, rules: Array) -> Array:
    """Return in how many ways a part may be tipped at a candidate."""
    short = deal[FREE] < max(smallest_at(near, deal[ROW], rules), deal[FLOOR])
    return 0 if short and not may_spill(deal, near) else 1


variants = compiled(_variants, inline=True)


def _tip_part(cur: Array, deal: Array, near: Array, rules: Array, asking: int, s: Array) -> Array:
    """Write into ``s`` what results from tipping a part; return its kilograms, 0 if nothing."""
    row, track, load = deal[ROW], near[deal[ROW], TRACK], cur[LOAD]
    least = max(smallest_at(near, row, rules), deal[FLOOR], asking)
    within = min(least, deal[FREE])
    cost = deal[COST] + within * deal[PRICE] + (least - within) * deal[BEYOND]
    if load - least < 1 or (within < least and not may_spill(deal, near)):
        return np.int64(0)
    if cost + near[row, COUT] + deal[AFTER] > deal[LIMIT]:
        return np.int64(0)
    s[:] = cur
    kept, at = np.int64(0), 0 if track >= 0 else MOST_CREDITS
    while at < MOST_CREDITS:  # a credit for the same room is covered by the new one
        here = CREDITS + at * ONE
        if s[here] > 0 and s[here + 2] == track:
            kept += s[here]
            closed(s, at)
        else:
            at += 1
    s[RED] = cost
    litres, credit = s[VOL], s[CREDIT]
    thick, per = litres, load
    if credit > 0:  # what an open credit could leave may be more bulky than the mix
        left_l, left_kg = litres - credit * s[CVOL] // s[CKG], load - credit
        if left_kg > 0 and left_l * per > thick * left_kg:
            thick, per = left_l, left_kg
    s[VOL] = max(litres - least * thick // per - 3, 0)
    if credit > 0 and s[CVOL] * per > thick * s[CKG]:
        thick, per = s[CVOL], s[CKG]
    s[CVOL], s[CKG] = thick, per
    open_more(s, load, least, deal, near, kept)
    if s[SHEDDABLE] > 0 or may_shed(near, row):
        s[SHEDDABLE] = load - least - 1
    count_in(s, deal, near, least)
    return least


tip_part = compiled(_tip_part, inline=True)

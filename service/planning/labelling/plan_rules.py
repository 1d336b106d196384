# ruff: noqa: PLR0917 - machine code wants flat branches, plain arguments
"""What a vehicle may do where plans are sought: every result is legal. Compiled.

A new partial tip closes the credit before it, and litres are rounded up. What a bound may do stands
in ``bound_rules``: neither knows the other, and only ``mode`` chooses between them.
"""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import BODY, COUT, KG, LITRES, NEED, PAYLOAD
from service.planning.labelling.extension import (
    AFTER,
    ALL_BARRED,
    BARRED,
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
    DRAWN,
    FIRST,
    LOAD,
    RED,
    SINCE,
    SKIP,
    USED,
    VOL,
    draw,
)

# How a partial tip ends an open credit: closed as it is; all of it drawn first; kept open, while
# here as much is dropped as goes.
ALL_DRAWN, KEPT_OPEN = 1, 2


def _load_up(s: Array, jobs: Array, gap: int, rules: Array) -> Array:
    """Make room for a lot by drawing on credit; false if in vain."""
    litres, body = jobs[gap, LITRES], rules[BODY]
    need = max(s[LOAD] + jobs[gap, KG] - rules[PAYLOAD], 0)
    over_l = s[VOL] + litres - body
    if s[SINCE] + litres > body:
        return False
    if over_l > 0:
        if s[CREDIT] == 0 or s[CVOL] == 0:
            return False
        need = max(need, -((-over_l * s[CKG]) // s[CVOL]))
    if need > s[CREDIT]:
        return False
    if need > 0:
        s[VOL] -= need * s[CVOL] // s[CKG]
        draw(s, need)
    return s[VOL] + litres <= body


load_up = compiled(_load_up)


def _barred(cur: Array, track: int) -> Array:
    """Return which credits may not be drawn on with a tip at a tracked destination.

    What was left open at the same one competes with the tip for its room.
    """
    return ALL_BARRED if cur[CREDIT] > 0 and cur[CREDITS + 2] == track else track


barred = compiled(_barred, inline=True)


def _variants(cur: Array, deal: Array, near: Array, rules: Array) -> Array:
    """Return in how many ways a part may be tipped at a candidate."""
    if deal[FREE] < max(smallest_at(near, deal[ROW], rules), deal[FLOOR]) and not may_spill(
        deal, near
    ):
        return 0
    return 1 if cur[CREDIT] == 0 or deal[BARRED] == ALL_BARRED else 3


variants = compiled(_variants, inline=True)


def _floor_at(near: Array, row: int) -> Array:
    """Return the least that a tip may be: what is demanded, or what whoever comes must bring."""
    return max(near[row, NEED], -near[row, NEED])


floor_at = compiled(_floor_at, inline=True)


def _drawn_first(cur: Array, variant: int) -> Array:
    """Return what was drawn on credit before the part was tipped."""
    return cur[CREDIT] if variant == ALL_DRAWN else np.int64(0)


drawn_first = compiled(_drawn_first, inline=True)


def _tip_part(
    cur: Array, deal: Array, near: Array, rules: Array, variant: int, asking: int, s: Array
) -> Array:
    """Write into ``s`` what results from tipping a part; return how much is tipped, 0 if nothing.

    There is one credit at most.
    """
    row = deal[ROW]
    least = max(smallest_at(near, row, rules), deal[FLOOR], asking)
    drawn = drawn_first(cur, variant)
    left = cur[LOAD] - drawn
    amount = least if variant != KEPT_OPEN else min(deal[FREE], left - cur[CREDIT] - 1)
    within = min(amount, deal[FREE])
    cost = deal[COST] + within * deal[PRICE] + (amount - within) * deal[BEYOND]
    if drawn > 0:
        cost += drawn * cur[CREDITS + 1]
    if left - amount < 1 or amount < least:
        return np.int64(0)
    if least > deal[FREE] and not may_spill(deal, near):
        return np.int64(0)
    if cost + near[row, COUT] + deal[AFTER] > deal[LIMIT]:
        return np.int64(0)
    if variant == KEPT_OPEN and cur[SKIP] > 0:
        return np.int64(0)
    s[:] = cur
    if drawn > 0:
        s[VOL] -= drawn * cur[CVOL] // cur[CKG]
        if cur[CREDITS + 2] >= 0:
            s[USED + cur[CREDITS + 2]] += drawn
    s[RED] = cost
    litres = s[VOL]
    s[VOL] = litres - amount * litres // left
    if variant == KEPT_OPEN:
        s[LOAD], s[DRAWN], s[SKIP], s[SINCE] = left - amount, 0, 1, 0
        if litres * cur[CKG] < cur[CVOL] * left:
            s[CVOL], s[CKG] = litres, left
    else:
        s[CVOL], s[CKG] = litres, left
        s[CREDITS:USED] = 0
        open_more(s, left, amount, deal, near, np.int64(0))
    count_in(s, deal, near, amount)
    return amount


tip_part = compiled(_tip_part, inline=True)


def _stays_aboard(cur: Array, gap: int, final: int) -> Array:
    """Tell whether what is left lies mixed in the body, with lots still to come.

    What is left stays on its own lawn, so it lies alone; or aboard, when no lot comes any more.
    """
    return not final and (gap == 0 or cur[FIRST] != gap)


stays_aboard = compiled(_stays_aboard, inline=True)

# ruff: noqa: C901, PLR0912, PLR0917 - machine code wants flat, plain functions
"""Tip a part of what is aboard, and leave open how much more. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.compiled import Array, compiled
from service.planning.moves import (
    AFTER,
    ALL_BARRED,
    ASKING,
    BARRED,
    CLOCK,
    COST,
    FLOOR,
    FREE,
    GAP,
    HEIGHT,
    LEFT,
    LIMIT,
    MEETS,
    NUMBER,
    PRICE,
    ROW,
    note,
)
from service.planning.roads import (
    ASK_BIT,
    BOUND,
    CIN,
    DEST,
    NEVER,
    OVER,
    PARTS,
    ROUNDING_S,
    SMALLEST,
    TIN,
    TIPS,
    TRACK,
)
from service.planning.states import (
    AT,
    CKG,
    CREDIT,
    CREDITS,
    CVOL,
    DEPTH,
    DRAWN,
    HEEDED,
    LOAD,
    MET,
    MOST_CREDITS,
    NODE,
    ONE,
    RED,
    SHEDDABLE,
    SKIP,
    TIME,
    USED,
    VOL,
    closed,
    open_credit,
    rest,
)


def _part(s: Array, load: int, least: int, deal: Array, track: int, bound: int, kept: int) -> None:
    """Drop the least that counts as a tip, and open a credit for more; litres are in ``s``.

    The new credit covers what was ``kept`` of others for the same room, too.
    """
    litres, price = s[VOL], deal[PRICE]
    new_credit = max(min(deal[FREE] + kept, deal[LEFT], load - 1) - least, 0)
    if bound == 1:
        thick, per = litres, load
        credit = s[CREDIT]
        if credit > 0:  # what an open credit could leave may be more bulky than the mix
            left_l, left_kg = litres - credit * s[CVOL] // s[CKG], load - credit
            if left_kg > 0 and left_l * per > thick * left_kg:
                thick, per = left_l, left_kg
        s[VOL] = max(litres - least * thick // per - 3, 0)
        if credit > 0 and s[CVOL] * per > thick * s[CKG]:
            thick, per = s[CVOL], s[CKG]
        s[CVOL], s[CKG] = thick, per
    else:
        s[VOL] = litres - least * litres // load
        s[CVOL], s[CKG] = litres, load
        s[CREDITS:USED] = 0
    open_credit(s, new_credit, price, track, load - least - 1)
    s[LOAD] = load - least
    s[DRAWN] = 0
    s[SKIP] = 0


part = compiled(_part)

Given = tuple[Array, Array, Array, int]
CLOSED, ALL_DRAWN, KEPT_OPEN = range(3)


def _tip_part(
    cur: Array,
    deal: Array,
    near: Array,
    rules: Array,
    variant: int,
    asking: int,
    s: Array,
) -> Array:
    """Write into ``s`` what results from tipping a part; return how much is tipped, 0 if nothing.

    The variants end an open credit: closed as it is; all of it drawn first; kept open, while here
    as much is dropped as goes.
    """
    row, track, bound = deal[ROW], near[deal[ROW], TRACK], rules[BOUND]
    least = max(rules[SMALLEST], deal[FLOOR], asking)
    credit = np.int64(0) if deal[BARRED] == ALL_BARRED else cur[CREDIT]
    drawn = credit if variant == ALL_DRAWN else np.int64(0)
    left = cur[LOAD] - drawn
    amount = least if variant != KEPT_OPEN else min(deal[FREE], left - credit - 1)
    cost = deal[COST] + amount * deal[PRICE]
    if drawn > 0:  # only in plan mode, where there is one credit
        cost += drawn * cur[CREDITS + 1]
    if (
        left - amount < 1
        or amount < least
        or least > deal[FREE]
        or cost + deal[AFTER] > deal[LIMIT]
    ):
        return np.int64(0)
    if variant == KEPT_OPEN and cur[SKIP] > 0:
        return np.int64(0)
    s[:] = cur
    kept = np.int64(0)
    if bound == 1 and track >= 0:  # a credit for the same room is covered by the new one
        at = 0
        while at < MOST_CREDITS:
            here = CREDITS + at * ONE
            if s[here] > 0 and s[here + 2] == track:
                kept += s[here]
                closed(s, at)
            else:
                at += 1
    if drawn > 0:
        s[VOL] -= drawn * cur[CVOL] // cur[CKG]
    s[RED] = cost
    if variant == KEPT_OPEN:
        litres = s[VOL]
        s[VOL] = litres - amount * litres // left
        s[LOAD], s[DRAWN], s[SKIP] = left - amount, 0, 1
        if litres * cur[CKG] < cur[CVOL] * left:
            s[CVOL], s[CKG] = litres, left
    else:
        part(s, left, amount, deal, track, bound, kept)
        if bound == 1 and near[row, OVER] == 1:
            s[SHEDDABLE] = NEVER
        if s[SHEDDABLE] > 0:
            s[SHEDDABLE] = left - amount - 1
    if drawn > 0 and cur[CREDITS + 2] >= 0:
        s[USED + cur[CREDITS + 2]] += drawn
    if track >= 0:
        s[USED + track] += amount
    if 0 < deal[ASKING] <= amount:
        s[HEEDED] |= 1 << near[row, ASK_BIT]
    return amount


tip_part = compiled(_tip_part)


def _may_tip_part(cur: Array, deal: Array, n: int, rules: Array) -> Array:
    """Return how many variants of a partial tip there are: none in the last tip of the day."""
    last = deal[GAP] == n and cur[DEPTH] + 1 >= rules[TIPS]
    if last or cur[DEPTH] >= rules[PARTS] or deal[FREE] < max(rules[SMALLEST], deal[FLOOR]):
        return 0
    return 1 if rules[BOUND] == 1 or cur[CREDIT] == 0 or deal[BARRED] == ALL_BARRED else 3


may_tip_part = compiled(_may_tip_part)


def _tip_parts(
    cur: Array,
    deal: Array,
    near: Array,
    rules: Array,
    given: Given,
    stack: Array,
    nodes: Array,
    counts: Array,
) -> None:
    """Push what results from tipping a part at one candidate, in all variants that may pay.

    What is given: costs to go, those of lateness; the day's start [s], a step of load [kg], the
    number of the last gap; how many tips the gap demands.
    """
    row, gap, limit = deal[ROW], deal[GAP], deal[LIMIT]
    togo, late, clocks, needed = given
    t0, step, n = clocks[0], clocks[1], clocks[2]
    variants = may_tip_part(cur, deal, n, rules)
    asks = 2 if deal[ASKING] > max(rules[SMALLEST], deal[FLOOR]) else 1
    for number in range(variants * asks):
        variant, asking = number % variants, deal[ASKING] * (number // variants)
        s = stack[counts[HEIGHT]]
        amount = tip_part(cur, deal, near, rules, variant, asking, s)
        if amount == 0:
            continue
        # from here the rest costs no less than from the gap's start, but the way
        s[TIME] = deal[CLOCK] - near[row, TIN] - ROUNDING_S
        least = s[RED] - near[row, CIN] + rest(togo, late, gap, s, t0, step)
        if needed == 0 and least > limit:
            continue
        prev = cur[NODE]
        drawn = cur[DRAWN] + (cur[CREDIT] if variant == ALL_DRAWN else 0)
        if drawn > 0:
            prev = note(nodes, counts, prev, -1, cur[SKIP], drawn)
        s[NODE] = note(nodes, counts, prev, gap, near[row, DEST], amount)
        s[TIME], s[AT] = deal[CLOCK], deal[NUMBER]
        s[DEPTH], s[MET] = cur[DEPTH] + 1, deal[MEETS]
        counts[HEIGHT] += 1


tip_parts = compiled(_tip_parts)

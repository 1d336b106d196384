# ruff: noqa: C901, PLR0912, PLR0917 - machine code wants flat, plain functions
"""Tip a part of what is aboard, and leave open how much more. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    ASK_BIT,
    ASTRAY,
    BOUND,
    CIN,
    COUT,
    DEST,
    FIX,
    KG,
    LATE_STEP_S,
    LATE_STEPS,
    NEVER,
    OVER,
    PARTS,
    PAYLOAD,
    ROUNDING_S,
    SMALLEST,
    TIN,
    TIP,
    TIPS,
    TOUT,
    TRACK,
)
from service.planning.labelling.extension import (
    AFTER,
    ALL_BARRED,
    ASKING,
    BARRED,
    BEYOND,
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
    is_tip,
    note,
)
from service.planning.labelling.label_bound import (
    DAY_START,
    DEMANDED,
    LAST_GAP,
    SHED_PRICE,
    STEP,
    STRAIGHT_S,
    rest,
)
from service.planning.labelling.labels import (
    AT,
    CKG,
    CREDIT,
    CREDITS,
    CVOL,
    DEPTH,
    DRAWN,
    FIRST,
    HEEDED,
    LOAD,
    MET,
    MOST_CREDITS,
    NODE,
    ONE,
    RED,
    SHEDDABLE,
    SINCE,
    SKIP,
    TIME,
    USED,
    VOL,
    closed,
    open_credit,
)
from service.planning.labelling.load_steps import step_at


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
    s[DRAWN] = s[SKIP] = s[SINCE] = 0


part = compiled(_part, inline=True)

CLOSED, ALL_DRAWN, KEPT_OPEN = range(3)


def _smallest_at(near: Array, row: int, rules: Array) -> Array:
    """Return the least that counts as a tip at a candidate; what is left may be any amount."""
    return rules[SMALLEST] if is_tip(near, row) == 1 else np.int64(1)


smallest_at = compiled(_smallest_at, inline=True)


def _may_spill(deal: Array, near: Array) -> Array:
    """Tell whether the least that counts as a tip may be more than there is room for.

    It is the room that is short then, not the end of a piece of the tolls.
    """
    return near[deal[ROW], OVER] == 1 and deal[FREE] == deal[LEFT]


may_spill = compiled(_may_spill, inline=True)


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
    least = max(smallest_at(near, row, rules), deal[FLOOR], asking)
    credit = np.int64(0) if deal[BARRED] == ALL_BARRED else cur[CREDIT]
    drawn = credit if variant == ALL_DRAWN else np.int64(0)
    left = cur[LOAD] - drawn
    amount = least if variant != KEPT_OPEN else min(deal[FREE], left - credit - 1)
    within = min(amount, deal[FREE])
    cost = deal[COST] + within * deal[PRICE] + (amount - within) * deal[BEYOND]
    if drawn > 0:  # only in plan mode, where there is one credit
        cost += drawn * cur[CREDITS + 1]
    if (
        left - amount < 1
        or amount < least
        or (least > deal[FREE] and not may_spill(deal, near))
        or cost + near[row, COUT] + deal[AFTER] > deal[LIMIT]
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
        s[LOAD], s[DRAWN], s[SKIP], s[SINCE] = left - amount, 0, 1, 0
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


tip_part = compiled(_tip_part, inline=True)


def _may_tip_part(cur: Array, deal: Array, near: Array, n: int, rules: Array) -> Array:
    """Return how many variants of a partial tip there are: none in the last tip of the day."""
    row = deal[ROW]
    last = deal[GAP] == n and cur[DEPTH] + is_tip(near, row) >= rules[TIPS]
    if last or cur[DEPTH] >= rules[PARTS]:
        return 0
    if deal[FREE] < max(smallest_at(near, row, rules), deal[FLOOR]) and not may_spill(deal, near):
        return 0
    return 1 if rules[BOUND] == 1 or cur[CREDIT] == 0 or deal[BARRED] == ALL_BARRED else 3


may_tip_part = compiled(_may_tip_part, inline=True)


def _in_vain(
    cur: Array,
    deal: Array,
    jobs: Array,
    near: Array,
    rules: Array,
    togo: Array,
    after: Array,
    begins: Array,
    late: Array,
    day: Array,
) -> Array:
    """Tell whether no part that could be tipped here leads to a day within the limit.

    Even if as much left as may, for the price of the least that counts as a tip.
    """
    row, gap, first = deal[ROW], deal[GAP], cur[FIRST]
    sheds = cur[SHEDDABLE] > 0 or is_tip(near, row) == 0
    if day[DEMANDED] > 0 or sheds or cur[DEPTH] + 2 < rules[TIPS]:
        return False
    smallest = max(rules[SMALLEST], deal[FLOOR])
    load = cur[LOAD] - min(max(deal[FREE], smallest) + cur[CREDIT], cur[LOAD] - 1)
    at_last = cur[DEPTH] + 2 > rules[TIPS]  # of this gap's tips
    may_shed = rules[BOUND] == 1 and near[row, OVER] == 1
    if at_last:
        if gap == day[LAST_GAP]:
            return False
        load += jobs[gap, KG]
        if load > rules[PAYLOAD] and not may_shed:
            return True
    clock = deal[CLOCK] + near[row, TOUT] - day[STRAIGHT_S] - ROUNDING_S
    slot = min(max((clock - day[DAY_START]) // LATE_STEP_S, 0), LATE_STEPS - 1)
    least = deal[COST] + smallest * deal[PRICE] + near[row, COUT]
    least += late[gap, slot]
    if least > deal[LIMIT]:
        return True
    load, then = min(load, rules[PAYLOAD]), gap + 1 if at_last else gap
    high = step_at(load, begins[then, first], day[STEP], togo.shape[3] - 1)
    for k in range(high, -1 if may_shed else high - 1, -1):
        more = togo[0, then, first, k] if at_last else after[0, then, first, k]
        if least + more <= deal[LIMIT]:
            return False
        least += day[SHED_PRICE] * (day[STEP] if k < high else 1)
        if least > deal[LIMIT]:
            break
    return True


in_vain = compiled(_in_vain, inline=True)


def _tip_parts(
    cur: Array,
    deal: Array,
    jobs: Array,
    near: Array,
    rules: Array,
    togo: Array,
    after: Array,
    begins: Array,
    late: Array,
    day: Array,
    stack: Array,
    nodes: Array,
    counts: Array,
) -> None:
    """Push what results from tipping a part at one candidate, in all variants that may pay.

    ``togo`` and ``after`` are the costs of a ``ToGo``, after a gap's start and after its first tip.
    """
    row, gap, limit = deal[ROW], deal[GAP], deal[LIMIT]
    once_more = cur[DEPTH] + 2 == rules[TIPS] and is_tip(near, row) == 1
    variants = may_tip_part(cur, deal, near, day[LAST_GAP], rules)
    if variants == 0 or in_vain(cur, deal, jobs, near, rules, togo, after, begins, late, day):
        return
    asks = 2 if deal[ASKING] > max(smallest_at(near, row, rules), deal[FLOOR]) else 1
    for number in range(variants * asks):
        variant, asking = number % variants, deal[ASKING] * (number // variants)
        s = stack[counts[HEIGHT]]
        amount = tip_part(cur, deal, near, rules, variant, asking, s)
        if amount == 0:
            continue
        if day[DEMANDED] == 0:
            # from here the rest costs no less than from the gap's start, but the way
            # (which a matrix may make longer, by the stop and the tip that are saved at most)
            longer_s = max(min(near[row, TIP], rules[ASTRAY]), ROUNDING_S)
            s[TIME] = deal[CLOCK] - near[row, TIN] - longer_s
            least = s[RED] - near[row, CIN] - min(near[row, FIX], rules[ASTRAY])
            least += rest(togo, begins, late, day, gap, s)
            if least <= limit and once_more:  # over one more the way is no shorter than straight on
                s[TIME] = deal[CLOCK] + near[row, TOUT] - day[STRAIGHT_S] - ROUNDING_S
                least = s[RED] + near[row, COUT] + rest(after, begins, late, day, gap, s)
            if least > limit:
                continue
        prev = cur[NODE]
        drawn = cur[DRAWN] + (cur[CREDIT] if variant == ALL_DRAWN else 0)
        if drawn > 0:
            prev = note(nodes, counts, prev, -1, cur[SKIP], drawn)
        s[NODE] = note(nodes, counts, prev, gap, near[row, DEST], amount)
        s[TIME], s[AT] = deal[CLOCK], deal[NUMBER]
        s[DEPTH], s[MET] = cur[DEPTH] + is_tip(near, row), deal[MEETS]
        counts[HEIGHT] += 1


tip_parts = compiled(_tip_parts, inline=True)

# ruff: noqa: C901, PLR0911, PLR0912, PLR0917 - machine code wants flat, plain functions
"""What a vehicle may do in a gap: leave it, tip all it has, tip a part. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.compiled import Array, compiled
from service.planning.roads import (
    BIT,
    BODY,
    BOUND,
    COUT,
    DEST,
    FIRST_S,
    KG,
    LAST_S,
    LATE,
    LITRES,
    NEED,
    NEVER,
    OVER,
    OVERTIME,
    PAYLOAD,
    SERVICE,
    SHED,
    SHIFT_END,
    SMALLEST,
    TIPS,
    TOUT,
    TRACK,
)
from service.planning.states import (
    AT,
    BITS,
    CKG,
    COF,
    CPRICE,
    CREDIT,
    CVOL,
    DEAR,
    DEPTH,
    DOF,
    DPRICE,
    DRAWN,
    FIRST,
    LEAST,
    LOAD,
    MET,
    NODE,
    RED,
    SHEDDABLE,
    SKIP,
    STATE,
    TIME,
    USED,
    VOL,
    draw,
    open_credit,
)

# Positions in ``counts``: states on the stack, tips in the log.
HEIGHT, NODES = range(2)
# Positions in ``deal``, what a tip at one candidate comes to: row, number in the gap, gap, cost and
# clock when it is over, room, price within and beyond it, whether it may be overfull, open credits
# as far as they do not compete for the same room, tips that had to be met, least cost of the rest.
ROW, NUMBER, GAP, COST, CLOCK, FREE, PRICE, BEYOND, MAY, CHEAP, LOW, RICH, HIGH, SHIFTED = range(14)
MEETS, AFTER, LIMIT = range(14, 17)
DEAL = 17


def _note(nodes: Array, counts: Array, prev: int, gap: int, d: int, kg: int) -> Array:
    """Write down a tip in the log and return its number.

    Gap -1 stands for so much more at the tip before, or, if ``d`` is 1, at the one before that.
    """
    node = counts[NODES]
    nodes[node, 0], nodes[node, 1], nodes[node, 2], nodes[node, 3] = prev, gap, d, kg
    counts[NODES] = node + 1
    return node


note = compiled(_note)


def _load_up(s: Array, jobs: Array, gap: int, rules: Array) -> Array:
    """Make room for a lot by drawing on credit, in bound mode by shedding; false if in vain."""
    kg, litres, bound = jobs[gap, KG], jobs[gap, LITRES], rules[BOUND]
    payload, body = rules[PAYLOAD], rules[BODY]
    need = max(s[LOAD] + kg - payload, 0)
    over_l = s[VOL] + litres - body
    credit = s[CREDIT] + s[DEAR]
    if over_l > 0:
        if credit > 0 and s[CVOL] > 0:
            by_litres = over_l * s[CKG] // s[CVOL]
            if bound == 0:
                by_litres = -((-over_l * s[CKG]) // s[CVOL])
            need = max(need, by_litres)
        elif bound == 0 or s[SHEDDABLE] == 0:
            return False
    if need > 0:
        if bound == 0:
            if need > credit:
                return False
            draw(s, need, bound)
            return s[VOL] + litres <= body
        if need > max(credit, s[SHEDDABLE]):
            return False
        draw(s, min(need, credit), bound)
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
        spare = max(s[LOAD] - 1, 0)
        s[CREDIT] = min(s[CREDIT], spare)
        s[DEAR] = min(s[DEAR], spare - s[CREDIT])
    return True


load_up = compiled(_load_up)


def _depart(
    out: Array, jobs: Array, legs: Array, near: Array, rules: Array, gap: int, row: int
) -> None:
    """Drive on from the gap's start (row -1) or a candidate; wait, be late, and do the job."""
    out[RED] += legs[gap, 0] if row < 0 else near[row, COUT]
    out[TIME] += legs[gap, 1] if row < 0 else near[row, TOUT]
    if gap == jobs.shape[0]:
        out[RED] += max(out[TIME] - rules[SHIFT_END], 0) * rules[OVERTIME]
        out[LEAST] = out[RED]
        return
    out[RED] += max(out[TIME] - jobs[gap, LAST_S], 0) * rules[LATE]
    out[TIME] = max(out[TIME], jobs[gap, FIRST_S]) + jobs[gap, SERVICE]


depart = compiled(_depart)


def _take_on(out: Array, jobs: Array, gap: int) -> None:
    """Add a lot to what is aboard."""
    empty = out[LOAD] == 0
    if empty:
        out[FIRST], out[BITS], out[VOL] = gap + 1, 0, 0
    out[LOAD] += jobs[gap, KG]
    out[VOL] += jobs[gap, LITRES]
    out[BITS] |= jobs[gap, BIT]
    if out[CREDIT] == 0 or empty:
        out[CREDIT], out[CPRICE], out[COF] = 0, 0, -1
        out[DEAR], out[CVOL], out[CKG] = 0, 0, 1
    if empty:
        out[SHEDDABLE] = 0


take_on = compiled(_take_on)


def _tip_all(
    cur: Array, deal: Array, near: Array, stack: Array, nodes: Array, counts: Array
) -> None:
    """Tip the whole load, after drawing whatever credit is cheaper; push what results."""
    row, price, beyond, free = deal[ROW], deal[PRICE], deal[BEYOND], deal[FREE]
    cheap, low, rich, high = deal[CHEAP], deal[LOW], deal[RICH], deal[HIGH]
    load = cur[LOAD]
    drawn = np.int64(0)
    if low < price:
        drawn = cheap + (rich if high < price else 0)
    over = max(load - drawn - free, 0)
    if over > 0 and drawn < cheap and low < beyond:
        more = min(over, cheap - drawn)
        drawn, over = drawn + more, over - more
    if over > 0 and cheap <= drawn < cheap + rich and high < beyond:
        more = min(over, cheap + rich - drawn)
        drawn, over = drawn + more, over - more
    if (over > 0 and deal[MAY] == 0) or load - drawn < near[row, NEED]:
        return
    first = min(drawn, cheap)
    cost = deal[COST] + first * low + (drawn - first) * high
    cost += (load - drawn - over) * price + over * beyond
    if cost + near[row, COUT] + deal[AFTER] > deal[LIMIT]:
        return
    prev = cur[NODE]
    if cur[DRAWN] + drawn > 0:
        prev = note(nodes, counts, prev, -1, cur[SKIP], cur[DRAWN] + drawn)
    s = stack[counts[HEIGHT]]
    for k in range(STATE):
        s[k] = cur[k] if k >= USED else 0
    if cur[COF] >= 0 and deal[SHIFTED] == 0:
        s[USED + cur[COF]] += first
    if near[row, TRACK] >= 0:
        s[USED + near[row, TRACK]] += load - drawn - over
    s[RED], s[TIME], s[CKG], s[COF] = cost, deal[CLOCK], 1, -1
    s[NODE] = note(nodes, counts, prev, deal[GAP], near[row, DEST], load - drawn)
    s[AT], s[DEPTH], s[MET] = deal[NUMBER], cur[DEPTH] + 1, deal[MEETS]
    counts[HEIGHT] += 1


tip_all = compiled(_tip_all)


def _part(s: Array, load: int, least: int, deal: Array, track: int, bound: int) -> None:
    """Drop the least that counts as a tip, and open a credit for more; litres are in ``s``."""
    litres, price = s[VOL], deal[PRICE]
    new_credit = min(deal[FREE], load - 1) - least
    if bound == 1:
        thick, per = litres, load
        credit = s[CREDIT] + s[DEAR]
        if credit > 0:  # what an open credit could leave may be more bulky than the mix
            left_l, left_kg = litres - credit * s[CVOL] // s[CKG], load - credit
            if left_kg > 0 and left_l * per > thick * left_kg:
                thick, per = left_l, left_kg
        s[VOL] = max(litres - least * thick // per - 3, 0)
        if credit > 0 and s[CVOL] * per > thick * s[CKG]:
            thick, per = s[CVOL], s[CKG]
        s[CVOL], s[CKG] = thick, per
        open_credit(s, max(new_credit, 0), price, track, load - least - 1)
    else:
        s[VOL] = litres - least * litres // load
        s[CVOL], s[CKG] = litres, load
        s[CREDIT], s[CPRICE], s[COF], s[DEAR] = new_credit, price, track, 0
    s[LOAD] = load - least
    s[DRAWN] = 0
    s[SKIP] = 0


part = compiled(_part)

CLOSED, ALL_DRAWN, KEPT_OPEN = range(3)


def _tip_part(cur: Array, deal: Array, near: Array, rules: Array, variant: int, s: Array) -> Array:
    """Write into ``s`` what results from tipping a part; return how much is tipped, 0 if nothing.

    The variants end an open credit: closed as it is; all of it drawn first; kept open, while here
    as much is dropped as goes.
    """
    row, track, bound = deal[ROW], near[deal[ROW], TRACK], rules[BOUND]
    least = max(rules[SMALLEST], near[row, NEED])
    drawn = deal[CHEAP] if variant == ALL_DRAWN else np.int64(0)
    left = cur[LOAD] - drawn
    amount = least if variant != KEPT_OPEN else min(deal[FREE], left - deal[CHEAP] - 1)
    cost = deal[COST] + drawn * deal[LOW] + amount * deal[PRICE]
    if left - amount < 1 or amount < least or cost + deal[AFTER] > deal[LIMIT]:
        return np.int64(0)
    if variant == KEPT_OPEN and cur[SKIP] > 0:
        return np.int64(0)
    for k in range(STATE):
        s[k] = cur[k]
    if bound == 1 and track >= 0:  # a credit for the same room is covered by the new one
        if cur[DOF] == track:
            s[DEAR] = 0
        if cur[COF] == track:
            s[CREDIT], s[CPRICE], s[COF] = s[DEAR], cur[DPRICE], cur[DOF]
            s[DEAR] = 0
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
        part(s, left, amount, deal, track, bound)
        if bound == 1 and near[row, OVER] == 1:
            s[SHEDDABLE] = NEVER
        if s[SHEDDABLE] > 0:
            s[SHEDDABLE] = left - amount - 1
    if drawn > 0 and cur[COF] >= 0:
        s[USED + cur[COF]] += drawn
    if track >= 0:
        s[USED + track] += amount
    return amount


tip_part = compiled(_tip_part)


def _may_tip_part(cur: Array, deal: Array, near: Array, n: int, rules: Array) -> Array:
    """Return how many variants of a partial tip there are: none in the last tip of the day."""
    last = deal[GAP] == n and cur[DEPTH] + 1 >= rules[TIPS]
    if last or deal[FREE] < max(rules[SMALLEST], near[deal[ROW], NEED]):
        return 0
    return 1 if rules[BOUND] == 1 or deal[CHEAP] == 0 else 3


may_tip_part = compiled(_may_tip_part)

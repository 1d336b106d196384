# ruff: noqa: C901, PLR0917 - machine code wants flat, plain functions
"""What a vehicle may do in a gap: leave it, or tip all it has. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    ASK_BIT,
    BIT,
    COUT,
    DEST,
    FIRST_S,
    IDLE,
    KG,
    LAST_S,
    LATE,
    LITRES,
    NEVER,
    OVER,
    OVERTIME,
    ROUNDING_S,
    SERVICE,
    SHIFT_END,
    SMALLEST,
    TOUT,
    TRACK,
    WAIT,
)
from service.planning.labelling.labels import (
    AT,
    BITS,
    CKG,
    CREDIT,
    CREDITS,
    CVOL,
    DEPTH,
    DRAWN,
    FIRST,
    HEEDED,
    LEAST,
    LOAD,
    MET,
    NODE,
    ONE,
    RED,
    SHEDDABLE,
    SINCE,
    SKIP,
    STATE,
    TIME,
    USED,
    VOL,
    open_credit,
)

# Positions in ``counts``: states on the stack, tips in the log, states that tipped all.
HEIGHT, NODES, WHOLES = range(3)
# Positions in ``deal``, what a tip at one candidate comes to: row, number in the gap, gap, cost and
# clock when it is over, room, price within and beyond it, whether it may be overfull, which credits
# compete for the same room and may not be drawn on with it, tips that had to be met, least cost of
# the rest.
ROW, NUMBER, GAP, COST, CLOCK, FREE, PRICE, BEYOND, MAY, BARRED, MEETS, AFTER, LIMIT = range(13)
ASKING = 13  # kilograms that heed what is asked, 0 if that is done or nothing is asked
FLOOR, LEFT = 14, 15  # kilograms that are tipped at least; room, whatever tolls the tip pays
OPENS = 16  # the last second at which a gate or a job opens that is still to come
NONE_BARRED, ALL_BARRED = -1, -2  # else the number of a tracked destination


def _note(nodes: Array, counts: Array, prev: int, gap: int, d: int, kg: int) -> Array:
    """Write down a tip in the log and return its number.

    Gap -1 stands for so much more at the tip before, or, if ``d`` is 1, at the one before that.
    """
    node = counts[NODES]
    nodes[node, 0], nodes[node, 1], nodes[node, 2], nodes[node, 3] = prev, gap, d, kg
    counts[NODES] = node + 1
    return node


note = compiled(_note, inline=True)


def _is_tip(near: Array, row: int) -> Array:
    """Return 1 if what a candidate takes is tipped there, 0 if it is left where it lies."""
    return 1 if near[row, DEST] >= 0 else 0


is_tip = compiled(_is_tip, inline=True)


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
    wait_s = max(jobs[gap, FIRST_S] - out[TIME], 0)
    out[RED] += wait_s * rules[WAIT]
    if out[LOAD] == 0 and out[NODE] < 0:  # no way round it: there was nothing to tip
        out[RED] += wait_s * rules[IDLE]
    out[TIME] = max(out[TIME], jobs[gap, FIRST_S]) + jobs[gap, SERVICE]


depart = compiled(_depart, inline=True)


def _waited_out(red: int, clock: int, opens: int, rules: Array) -> Array:
    """Return a cost less the time until the last opening, at the price of waiting.

    Who comes sooner may wait for longer, but never past that second. So one who is no later makes
    another useless if this is no dearer.
    """
    return red - min(clock, opens) * rules[WAIT]


waited_out = compiled(_waited_out, inline=True)


def _overtaken(
    front: Array, fronts: int, jobs: Array, near: Array, rules: Array, deal: Array, astray: int
) -> Array:
    """Tell whether the next job is reached cheaper, by so much, and sooner with an empty body.

    What is compared is at a candidate; rounding may let it arrive sooner over another one.
    """
    if fronts == 0:
        return False
    row, gap = deal[ROW], deal[GAP]
    there = deal[CLOCK] + near[row, TOUT]
    clock = there - ROUNDING_S
    red = deal[COST] + near[row, COUT] - astray + max(clock - jobs[gap, LAST_S], 0) * rules[LATE]
    clock = max(clock, jobs[gap, FIRST_S]) + jobs[gap, SERVICE]
    # what it comes sooner, rounded ways are cheaper by
    red += max(jobs[gap, FIRST_S] - there, 0) * rules[WAIT]
    there = max(there, jobs[gap, FIRST_S]) + jobs[gap, SERVICE]
    red = waited_out(red, there, deal[OPENS], rules)
    k = 0
    while k < fronts and (front[k, 0] > red or front[k, 1] > clock):
        k += 1
    return k < fronts


overtaken = compiled(_overtaken, inline=True)


def _take_on(out: Array, jobs: Array, gap: int) -> None:
    """Add a lot to what is aboard."""
    empty = out[LOAD] == 0
    if empty:
        out[FIRST], out[BITS], out[VOL], out[SINCE] = gap + 1, 0, 0, 0
    out[LOAD] += jobs[gap, KG]
    out[VOL] += jobs[gap, LITRES]
    out[SINCE] += jobs[gap, LITRES]
    out[BITS] |= jobs[gap, BIT]
    if out[CREDIT] == 0 or empty:
        out[CREDITS:USED] = 0
        out[CREDIT], out[CVOL], out[CKG] = 0, 0, 1
    if empty:
        out[SHEDDABLE] = 0


take_on = compiled(_take_on, inline=True)


def _tip_rest(
    cur: Array, deal: Array, near: Array, wholes: Array, nodes: Array, counts: Array, least: int
) -> Array:
    """Tip the whole load but what is drawn on cheaper credit; push what results, if it may be.

    At least so many kilograms are tipped here. Returns how many, 0 if nothing was pushed.
    """
    row, price, load, credit = deal[ROW], deal[PRICE], cur[LOAD], cur[CREDIT]
    beyond = deal[BEYOND] if deal[MAY] == 1 else NEVER  # where none may be, any credit is cheaper
    over = max(load - deal[FREE] - credit, 0)
    if load < least or (over > 0 and deal[MAY] == 0):
        return np.int64(0)
    lowest = min(price, cur[CREDITS + 1]) if credit > 0 else price
    cost = deal[COST] + (load - over) * lowest + over * beyond
    if cost + near[row, COUT] + deal[AFTER] > deal[LIMIT]:
        return np.int64(0)
    s = wholes[counts[WHOLES]]
    s[:USED] = 0
    s[USED:STATE] = cur[USED:STATE]
    drawn, cost, over = np.int64(0), deal[COST], max(load - deal[FREE], 0)
    for k in range(CREDITS, USED, ONE):
        if cur[k] == 0 or (cur[k + 1] >= price and (over == 0 or cur[k + 1] >= beyond)):
            break
        if deal[BARRED] == ALL_BARRED or (deal[BARRED] >= 0 and cur[k + 2] == deal[BARRED]):
            continue
        kg = min(cur[k] if cur[k + 1] < price else min(over, cur[k]), load - least - drawn)
        if kg <= 0:
            break
        drawn += kg
        over = max(over - kg, 0)
        cost += kg * cur[k + 1]
        if cur[k + 2] >= 0:
            s[USED + cur[k + 2]] += kg
    if (over > 0 and deal[MAY] == 0) or load - drawn < least:
        return np.int64(0)
    cost += (load - drawn - over) * price + over * beyond
    if cost + near[row, COUT] + deal[AFTER] > deal[LIMIT]:
        return np.int64(0)
    prev = cur[NODE]
    if cur[DRAWN] + drawn > 0:
        prev = note(nodes, counts, prev, -1, cur[SKIP], cur[DRAWN] + drawn)
    if near[row, TRACK] >= 0:
        s[USED + near[row, TRACK]] += load - drawn - over
    s[RED], s[TIME], s[CKG], s[HEEDED] = cost, deal[CLOCK], 1, cur[HEEDED]
    if 0 < deal[ASKING] <= load - drawn:
        s[HEEDED] |= 1 << near[row, ASK_BIT]
    s[NODE] = note(nodes, counts, prev, deal[GAP], near[row, DEST], load - drawn)
    s[AT], s[DEPTH], s[MET] = deal[NUMBER], cur[DEPTH] + is_tip(near, row), deal[MEETS]
    counts[WHOLES] += 1
    return load - drawn


tip_rest = compiled(_tip_rest, inline=True)


def _tip_all(
    cur: Array, deal: Array, near: Array, wholes: Array, nodes: Array, counts: Array
) -> None:
    """Tip the whole load, after drawing whatever credit is cheaper; push what results."""
    need, asking = deal[FLOOR], deal[ASKING]
    if 0 < asking <= cur[LOAD]:
        kg = tip_rest(cur, deal, near, wholes, nodes, counts, max(need, asking))
        if kg > asking:  # no credit was kept back for the sake of what is asked
            return
    tip_rest(cur, deal, near, wholes, nodes, counts, need)


tip_all = compiled(_tip_all, inline=True)


def _count_in(s: Array, deal: Array, near: Array, kg: int) -> None:
    """Count a partial tip where room is tracked, and what is asked and heeded by it."""
    row = deal[ROW]
    if near[row, TRACK] >= 0:
        s[USED + near[row, TRACK]] += kg
    if 0 < deal[ASKING] <= kg:
        s[HEEDED] |= 1 << near[row, ASK_BIT]


count_in = compiled(_count_in, inline=True)


def _open_more(s: Array, load: int, least: int, deal: Array, near: Array, kept: int) -> None:
    """Drop the least that counts as a tip, and open a credit for more; litres are in ``s``.

    The new credit covers what was ``kept`` of others for the same room, too.
    """
    credit = max(min(deal[FREE] + kept, deal[LEFT], load - 1) - least, 0)
    open_credit(s, credit, deal[PRICE], near[deal[ROW], TRACK], load - least - 1)
    s[LOAD] = load - least
    s[DRAWN] = s[SKIP] = s[SINCE] = 0


open_more = compiled(_open_more)  # the states that call it are few, and its loops are long


def _may_spill(deal: Array, near: Array) -> Array:
    """Tell whether the least that counts as a tip may be more than there is room for.

    It is the room that is short then, not the end of a piece of the tolls.
    """
    return near[deal[ROW], OVER] == 1 and deal[FREE] == deal[LEFT]


may_spill = compiled(_may_spill, inline=True)


def _smallest_at(near: Array, row: int, rules: Array) -> Array:
    """Return the least that counts as a tip at a candidate; what is left may be any amount."""
    return rules[SMALLEST] if is_tip(near, row) == 1 else np.int64(1)


smallest_at = compiled(_smallest_at, inline=True)

# ruff: noqa: PLR0917 - machine code wants plain arguments
"""What a tip at one candidate comes to. Compiled."""

from __future__ import annotations

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.delays import tip_begins
from service.planning.arrays.inputs import (
    ACCEPT,
    ASK,
    ASK_BIT,
    CIN,
    CLOSE,
    COUT,
    DEST,
    DRIVE,
    ELEMENTARY,
    FIX,
    LATE_STEP_S,
    LATE_STEPS,
    NEED,
    OVER,
    ROUNDING_S,
    SHED,
    TIN,
    TIP,
    TOUT,
    TRACK,
    UNTIL,
    WAIT,
)
from service.planning.labelling.extension import (
    AFTER,
    ALL_BARRED,
    ASKING,
    BARRED,
    BEYOND,
    CLOCK,
    COST,
    FREE,
    GAP,
    LIMIT,
    MAY,
    MEETS,
    NONE_BARRED,
    NUMBER,
    PRICE,
    ROW,
)
from service.planning.labelling.labels import (
    AT,
    BITS,
    DRAWN,
    HEEDED,
    MET,
    NODE,
    RED,
    SHEDDABLE,
    SKIP,
    TIME,
    USED,
    tipped,
)
from service.planning.labelling.mode import barred, stays_aboard


def _too_late(near: Array, until: Array, row: int, bits: int, clock: int) -> Array:
    """Tell whether it is closed on arrival, or for any of what is aboard when the tip begins."""
    closed, ends = clock > near[row, CLOSE], near[row, UNTIL]
    if ends >= 0:
        begins = tip_begins(near, row, clock)
        for bit in range(until.shape[1]):
            closed = closed or ((bits >> bit) & 1 == 1 and begins > until[ends, bit])
    return closed


too_late = compiled(_too_late)


def _deal(
    cur: Array,
    near: Array,
    pairs: Array,
    pair: int,
    late: Array,
    until: Array,
    straight_there_s: int,
    rules: Array,
    nodes: Array,
    deal: Array,
    final: int,
) -> Array:
    """Work out what a tip at one candidate comes to; false if it is out of the question.

    Room and prices stand in ``deal`` already; ``pair`` is the way from where the vehicle is. The
    day's start and the way straight to the next job take ``straight_there_s``; ``final`` tells the
    last gap.
    """
    gap, row = deal[GAP], deal[ROW]
    at, free = cur[AT], deal[FREE]
    if deal[NUMBER] == at or free < 0 or (cur[BITS] & ~near[row, ACCEPT]) != 0:
        return False
    if near[row, DEST] < 0 and stays_aboard(cur, gap, final, rules):
        return False
    if at < 0:
        red, t = cur[RED] + near[row, CIN], cur[TIME] + near[row, TIN]
    else:
        red, t = cur[RED] + pairs[pair, 0] * rules[DRIVE], cur[TIME] + pairs[pair, 1]
    red += near[row, FIX]
    if too_late(near, until, row, cur[BITS], t):
        return False
    # after the last job nothing waits for the crew
    begins = tip_begins(near, row, t)
    red += (not final) * (begins - t) * rules[WAIT]
    t = begins + near[row, TIP]
    # over one more tip the next job is reached no sooner, see ``triangle``
    late_s = t + near[row, TOUT] - ROUNDING_S - straight_there_s
    slot = min(max(late_s // LATE_STEP_S, 0), LATE_STEPS - 1)
    deal[AFTER] += late[gap, slot]
    if red + near[row, COUT] + deal[AFTER] > deal[LIMIT]:
        return False
    deal[COST], deal[CLOCK] = red, t
    deal[MAY] = near[row, OVER]
    if cur[SHEDDABLE] > 0:
        deal[PRICE] = min(deal[PRICE], rules[SHED])
        deal[BEYOND], deal[MAY] = rules[SHED], 1
    deal[BARRED] = NONE_BARRED
    track = near[row, TRACK]
    if track >= 0:
        free = max(free - cur[USED + track], 0)
        deal[BARRED] = barred(cur, track, rules)
    elif rules[ELEMENTARY] == 1 and cur[NODE] >= 0:
        kg, mine = tipped(nodes, cur[NODE], cur[DRAWN], cur[SKIP], near[row, DEST])
        free = max(free - kg, 0)
        if mine:
            deal[BARRED] = ALL_BARRED
    deal[FREE] = free
    heeded = (cur[HEEDED] >> near[row, ASK_BIT]) & 1 == 1
    deal[ASKING] = 0 if heeded else near[row, ASK]
    deal[MEETS] = cur[MET] + (1 if near[row, NEED] > 0 else 0)
    return True


deal_at = compiled(_deal, inline=True)

# ruff: noqa: PLR0917 - machine code wants flat, plain functions
"""Tip a part of what is aboard, and leave open how much more. Compiled."""

from __future__ import annotations

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    ASTRAY,
    CIN,
    COUT,
    DEST,
    FIX,
    KG,
    LATE_STEP_S,
    LATE_STEPS,
    PARTS,
    PAYLOAD,
    ROUNDING_S,
    SMALLEST,
    TIN,
    TIP,
    TIPS,
    TOUT,
)
from service.planning.labelling.extension import (
    ASKING,
    CLOCK,
    COST,
    FLOOR,
    FREE,
    GAP,
    HEIGHT,
    LIMIT,
    MEETS,
    NUMBER,
    PRICE,
    ROW,
    is_tip,
    note,
    smallest_at,
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
    CREDIT,
    DEPTH,
    DRAWN,
    FIRST,
    LOAD,
    MET,
    NODE,
    RED,
    SHEDDABLE,
    SKIP,
    TIME,
)
from service.planning.labelling.load_steps import step_at
from service.planning.labelling.mode import drawn_first, may_shed, tip_part
from service.planning.labelling.mode import variants as variants_of


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
    shed = may_shed(near, row, rules)
    if at_last:
        if gap == day[LAST_GAP]:
            return False
        load += jobs[gap, KG]
        if load > rules[PAYLOAD] and not shed:
            return True
    clock = deal[CLOCK] + near[row, TOUT] - day[STRAIGHT_S] - ROUNDING_S
    slot = min(max((clock - day[DAY_START]) // LATE_STEP_S, 0), LATE_STEPS - 1)
    least = deal[COST] + smallest * deal[PRICE] + near[row, COUT]
    least += late[gap, slot]
    if least > deal[LIMIT]:
        return True
    load, then = min(load, rules[PAYLOAD]), gap + 1 if at_last else gap
    high = step_at(load, begins[then, first], day[STEP], togo.shape[3] - 1)
    for k in range(high, -1 if shed else high - 1, -1):
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
    last = gap == day[LAST_GAP] and cur[DEPTH] + is_tip(near, row) >= rules[TIPS]
    if last or cur[DEPTH] >= rules[PARTS]:  # with the last one of the day all is tipped
        return
    variants = variants_of(cur, deal, near, rules)
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
        drawn = cur[DRAWN] + drawn_first(cur, variant, rules)
        if drawn > 0:
            prev = note(nodes, counts, prev, -1, cur[SKIP], drawn)
        s[NODE] = note(nodes, counts, prev, gap, near[row, DEST], amount)
        s[TIME], s[AT] = deal[CLOCK], deal[NUMBER]
        s[DEPTH], s[MET] = cur[DEPTH] + is_tip(near, row), deal[MEETS]
        counts[HEIGHT] += 1


tip_parts = compiled(_tip_parts, inline=True)

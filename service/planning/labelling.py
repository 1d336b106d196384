# ruff: noqa: C901, FBT001, PLR0911, PLR0912, PLR0915, PLR0917, PLR1730 - machine code wants flat loops and
#     plain arguments by position; numba knows no keyword-only ones, and a bare `if` is its fastest minimum
"""The cheapest tip plan of one vehicle at given prices, by labelling. Compiled.

The jobs are in order; in every gap between them the vehicle may tip at a few destinations. States
and their credits are explained in ``states``. Two modes. In *plan* mode a new partial tip closes
the credit of the one before, litres are rounded up, a destination's room shrinks by what this plan
has tipped there: every result is a legal plan. In *bound* mode credits stay open side by side,
litres are rounded down, a destination's room counts for each tip (over the whole plan only if the
destination is tracked), and any load may be shed at the overflow price: the result is never above
the cheapest legal plan of the vehicle, whatever its splits.
"""

from __future__ import annotations

import numpy as np

from service.planning.compiled import Array, compiled
from service.planning.completion import (
    ACCEPT,
    CIN,
    CLOSE,
    COUT,
    DEST,
    FAR,
    FIX,
    LATE_STEP_S,
    LATE_STEPS,
    NEED,
    OPEN,
    OVER,
    STEPS,
    TIN,
    TIP,
    TOUT,
    TRACK,
    completions,
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
    WIDTH,
    draw,
    grown,
    keep,
    open_credit,
    rest,
    tipped,
)

# Positions in ``rules``.
PAYLOAD, BODY, SHIFT_END, TIPS_MADE, SMALLEST, TIPS, LATE, OVERTIME, DRIVE = range(9)
RESULTS, BOUND, SHED, CUTOFF, ELEMENTARY, STRICT, BEAM = range(9, 16)
NEVER = 4_000_000_000_000_000_000


def _note(nodes: Array, count: int, prev: int, gap: int, d: int, kg: int) -> Array:
    """Write down a tip; return the log and its length.

    Gap -1 stands for so much more at the tip before, or, if ``d`` is 1, at the one before that.
    """
    if count == nodes.shape[0]:
        nodes = grown(nodes)
    nodes[count, 0], nodes[count, 1], nodes[count, 2], nodes[count, 3] = prev, gap, d, kg
    return nodes, count + 1


note = compiled(_note)


def _load_up(
    s: Array, kg: int, litres: int, payload: int, body: int, bound: int, shed: int
) -> Array:
    """Make room for a lot by drawing on credit (bound mode: then by shedding); false if none helps."""
    need = max(s[LOAD] + kg - payload, 0)
    over_l = s[VOL] + litres - body
    credit = s[CREDIT] + s[DEAR]
    if over_l > 0:
        if credit > 0 and s[CVOL] > 0:
            by_litres = (
                over_l * s[CKG] // s[CVOL] if bound == 1 else -((-over_l * s[CKG]) // s[CVOL])
            )
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
        s[RED] += excess * shed
        s[SHEDDABLE] -= excess
        s[LOAD] -= excess
        spare = max(s[LOAD] - 1, 0)
        s[CREDIT] = min(s[CREDIT], spare)
        s[DEAR] = min(s[DEAR], spare - s[CREDIT])
    return True


load_up = compiled(_load_up)


def _part(
    s: Array, load: int, litres: int, least: int, free: int, price: int, track: int, bound: int
) -> None:
    """Drop the least that counts as a tip, and open a credit for more, in a state about to tip."""
    new_credit = min(free, load - 1) - least
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


part = compiled(_part)


def _label(
    rules: Array,
    start: Array,
    jobs: Array,
    legs: Array,
    offsets: Array,
    near: Array,
    pair_offsets: Array,
    pairs: Array,
    gap_rule: Array,
    togo: Array,
    late: Array,
    kg_price: Array,
    over_price: Array,
    room: Array,
    cutoff: int,
) -> Array:
    """Return the cheapest tip plans: reduced costs, lengths, and tips (gap, destination, kg).

    ``gap_rule`` is 0 if tips are free in a gap, 1 if forbidden, 2 if there must be one.
    ``togo`` and ``late`` bound from below what comes after; labels above the cutoff are dropped,
    so an empty answer means that nothing is cheaper than the cutoff.
    ``kg_price``, ``over_price`` and ``room`` belong to candidates; room -1 closes one.
    """
    n, bound, strict = jobs.shape[0], rules[BOUND], rules[STRICT]
    step, t0 = (rules[PAYLOAD] + STEPS - 1) // STEPS, start[0]
    labels = np.zeros((256, WIDTH), dtype=np.int64)
    new = np.empty((1024, WIDTH), dtype=np.int64)
    stack = np.zeros((256, STATE), dtype=np.int64)
    nodes = np.empty((1024, 4), dtype=np.int64)
    front = np.empty((48, 2), dtype=np.int64)
    cur, out = np.zeros(STATE, dtype=np.int64), np.zeros(STATE, dtype=np.int64)
    node_count, made, count = 0, 0, 1
    labels[0, TIME], labels[0, LOAD], labels[0, VOL], labels[0, BITS] = (
        start[0],
        start[1],
        start[2],
        start[3],
    )
    labels[0, NODE], labels[0, CKG] = -1, 1
    for gap in range(n + 1):
        last = gap == n
        new_count, fronts, first_row = 0, 0, offsets[gap]
        width = offsets[gap + 1] - first_row
        needed = 0
        for row in range(first_row, first_row + width):
            needed += 1 if near[row, NEED] > 0 else 0
        for position in range(count):
            stack[0, :WIDTH] = labels[position]
            stack[0, AT], stack[0, MET] = -1, 0
            stack[0, DEPTH] = rules[TIPS_MADE] if gap == 0 else 0
            height = 1
            while height > 0:
                height -= 1
                cur[:] = stack[height]
                at, load = cur[AT], cur[LOAD]
                # --- leave the gap
                if (
                    cur[MET] == needed
                    and not (gap_rule[gap] == 2 and at < 0)
                    and (not last or load == 0)
                ):
                    out[:] = cur
                    out[RED] += legs[gap, 0] if at < 0 else near[first_row + at, COUT]
                    out[TIME] += legs[gap, 1] if at < 0 else near[first_row + at, TOUT]
                    fits = True
                    if last:
                        out[RED] += max(out[TIME] - rules[SHIFT_END], 0) * rules[OVERTIME]
                        fits = out[RED] <= cutoff
                        out[LEAST] = out[RED]
                    else:
                        out[RED] += max(out[TIME] - jobs[gap, 4], 0) * rules[LATE]
                        out[TIME] = max(out[TIME], jobs[gap, 3]) + jobs[gap, 5]
                        for k in range(fronts):
                            if front[k, 0] <= out[RED] and front[k, 1] <= out[TIME]:
                                fits = False
                                break
                        fits = fits and load_up(
                            out,
                            jobs[gap, 0],
                            jobs[gap, 1],
                            rules[PAYLOAD],
                            rules[BODY],
                            bound,
                            rules[SHED],
                        )
                        if fits:
                            empty = out[LOAD] == 0
                            red, t = out[RED], out[TIME]
                            if empty:
                                out[FIRST], out[BITS], out[VOL] = gap + 1, 0, 0
                            out[LOAD] += jobs[gap, 0]
                            out[VOL] += jobs[gap, 1]
                            out[BITS] |= jobs[gap, 2]
                            if out[CREDIT] == 0 or empty:
                                out[CREDIT], out[CPRICE], out[COF] = 0, 0, -1
                                out[DEAR], out[CVOL], out[CKG] = 0, 0, 1
                            out[LEAST] = red + rest(togo, late, gap + 1, out, t0, step)
                            spare = cutoff - out[LEAST]
                            fits = spare >= 0
                            if out[SHEDDABLE] > 0:
                                may_shed = spare // rules[SHED]
                                credit = out[CREDIT] + out[DEAR]
                                out[SHEDDABLE] = min(out[SHEDDABLE], credit + may_shed)
                                if empty or may_shed <= 0 or out[SHEDDABLE] <= credit:
                                    out[SHEDDABLE] = 0
                            if (
                                fits
                                and empty
                                and fronts < 48
                                and strict == 0
                                and not out[USED:WIDTH].any()
                            ):
                                front[fronts, 0], front[fronts, 1] = red, t
                                fronts += 1
                    if fits:
                        if new_count == new.shape[0]:
                            new = grown(new)
                        if out[CREDIT] == 0 and out[DRAWN] > 0:
                            nodes, node_count = note(
                                nodes, node_count, out[NODE], -1, out[SKIP], out[DRAWN]
                            )
                            out[NODE], out[DRAWN], out[SKIP] = node_count - 1, 0, 0
                        new[new_count] = out[:WIDTH]
                        new_count += 1
                # --- tip once more
                if load <= 0 or cur[DEPTH] >= rules[TIPS] or gap_rule[gap] == 1:
                    continue
                emptied = np.int64(0)
                if not last:
                    emptied = togo[gap + 1, gap + 1, min(jobs[gap, 0] // step, STEPS)]
                for c in range(width):
                    row = first_row + c
                    free, price, beyond = room[row], kg_price[row], over_price[row]
                    may_overflow = near[row, OVER] == 1
                    if cur[SHEDDABLE] > 0:
                        price, beyond, may_overflow = min(price, rules[SHED]), rules[SHED], True
                    if c == at or free < 0 or (cur[BITS] & ~near[row, ACCEPT]) != 0:
                        continue
                    if at < 0:
                        red, t = cur[RED] + near[row, CIN], cur[TIME] + near[row, TIN]
                    else:
                        pair = pair_offsets[gap] + at * width + c
                        red, t = (
                            cur[RED] + pairs[pair, 0] * rules[DRIVE],
                            cur[TIME] + pairs[pair, 1],
                        )
                    red += near[row, FIX]
                    if t > near[row, CLOSE] or red + near[row, COUT] + emptied > cutoff:
                        continue
                    t = max(t, near[row, OPEN]) + near[row, TIP]
                    slot = min(max((t - near[row, TIN] - t0) // LATE_STEP_S, 0), LATE_STEPS - 1)
                    after = emptied + late[gap, slot]
                    if red + near[row, COUT] + after > cutoff:
                        continue
                    cheap, dear, shift = cur[CREDIT], cur[DEAR], False
                    track = near[row, TRACK]
                    if track >= 0:
                        free = max(free - cur[USED + track], 0)
                        # what was left open there competes with this tip for the same room
                        if dear > 0 and cur[DOF] == track:
                            dear = np.int64(0)
                        if cheap > 0 and cur[COF] == track:
                            cheap, shift = np.int64(0), True
                    elif rules[ELEMENTARY] == 1 and cur[NODE] >= 0:
                        kg, mine = tipped(nodes, cur[NODE], cur[DRAWN], cur[SKIP], near[row, DEST])
                        free = max(free - kg, 0)
                        if mine:
                            cheap = np.int64(0)
                    met = cur[MET] + (1 if near[row, NEED] > 0 else 0)
                    low, high = cur[CPRICE], cur[DPRICE]
                    if shift:
                        cheap, low, dear = dear, high, np.int64(0)
                    # the whole load, after drawing whatever credit is cheaper
                    drawn = np.int64(0)
                    if low < price:
                        drawn = cheap + (dear if high < price else 0)
                    over = max(load - drawn - free, 0)
                    if over > 0 and drawn < cheap and low < beyond:
                        more = min(over, cheap - drawn)
                        drawn, over = drawn + more, over - more
                    if over > 0 and cheap <= drawn < cheap + dear and high < beyond:
                        more = min(over, cheap + dear - drawn)
                        drawn, over = drawn + more, over - more
                    if (over == 0 or may_overflow) and load - drawn >= near[row, NEED]:
                        first_part = min(drawn, cheap)
                        cost = red + first_part * low + (drawn - first_part) * high
                        cost += (load - drawn - over) * price + over * beyond
                        if cost + near[row, COUT] + after <= cutoff:
                            prev = cur[NODE]
                            if cur[DRAWN] + drawn > 0:
                                nodes, node_count = note(
                                    nodes, node_count, prev, -1, cur[SKIP], cur[DRAWN] + drawn
                                )
                                prev = node_count - 1
                            nodes, node_count = note(
                                nodes, node_count, prev, gap, near[row, DEST], load - drawn
                            )
                            if height == stack.shape[0]:
                                stack = grown(stack)
                            s = stack[height]
                            s[:USED] = 0
                            s[USED:] = cur[USED:]
                            if cur[COF] >= 0 and not shift:
                                s[USED + cur[COF]] += first_part
                            if track >= 0:
                                s[USED + track] += load - drawn - over
                            s[RED], s[TIME], s[CKG], s[NODE], s[COF] = (
                                cost,
                                t,
                                1,
                                node_count - 1,
                                -1,
                            )
                            s[AT], s[DEPTH], s[MET] = c, cur[DEPTH] + 1, met
                            height += 1
                    # a part of the load
                    least = max(rules[SMALLEST], near[row, NEED])
                    if (last and cur[DEPTH] + 1 >= rules[TIPS]) or free < least:
                        continue
                    # variants: close the credit as it is; draw all of it first; keep it open, and
                    # drop here as much as goes
                    for variant in range(1 if bound == 1 or cheap == 0 else 3):
                        drawn = cheap if variant == 1 else np.int64(0)
                        left = load - drawn
                        amount = least if variant < 2 else min(free, left - cheap - 1)
                        cost = red + drawn * low + amount * price
                        if left - amount < 1 or amount < least or cost + after > cutoff:
                            continue
                        if variant == 2 and cur[SKIP] > 0:
                            continue
                        if height == stack.shape[0]:
                            stack = grown(stack)
                        s = stack[height]
                        s[:] = cur
                        if bound == 1 and track >= 0:
                            if cur[DOF] == track:
                                s[DEAR] = 0
                            if cur[COF] == track:
                                s[CREDIT], s[CPRICE], s[COF] = s[DEAR], cur[DPRICE], cur[DOF]
                                s[DEAR] = 0
                        litres = cur[VOL] - (drawn * cur[CVOL] // cur[CKG] if drawn > 0 else 0)
                        s[RED] = cost
                        if variant == 2:
                            s[VOL] = litres - amount * litres // left
                            s[LOAD], s[DRAWN], s[SKIP] = left - amount, 0, 1
                            if litres * cur[CKG] < cur[CVOL] * left:
                                s[CVOL], s[CKG] = litres, left
                        else:
                            part(s, left, litres, amount, free, price, track, bound)
                            s[SKIP] = 0
                            if bound == 1 and near[row, OVER] == 1:
                                s[SHEDDABLE] = NEVER
                            if s[SHEDDABLE] > 0:
                                s[SHEDDABLE] = left - amount - 1
                        # from here the rest costs no less than from the gap's start, but for the way
                        s[TIME] = t - near[row, TIN]
                        if cost - near[row, CIN] + rest(togo, late, gap, s, t0, step) > cutoff:
                            continue
                        prev = cur[NODE]
                        if cur[DRAWN] + drawn > 0:
                            nodes, node_count = note(
                                nodes, node_count, prev, -1, cur[SKIP], cur[DRAWN] + drawn
                            )
                            prev = node_count - 1
                        nodes, node_count = note(
                            nodes, node_count, prev, gap, near[row, DEST], amount
                        )
                        s[TIME], s[NODE] = t, node_count - 1
                        if drawn > 0 and cur[COF] >= 0:
                            s[USED + cur[COF]] += drawn
                        if track >= 0:
                            s[USED + track] += amount
                        s[AT], s[DEPTH], s[MET] = c, cur[DEPTH] + 1, met
                        height += 1
        made += new_count
        labels, count = keep(
            new, new_count, labels, rules[RESULTS] if last else 0, strict, rules[BEAM]
        )
        if count == 0:
            break
    return _unrolled(labels, count, nodes, (n + 1) * rules[TIPS], made)


def _unrolled_(labels: Array, count: int, nodes: Array, most: int, made: int) -> Array:
    """Return reduced costs, lengths and tips of the labels, read back from the log."""
    reds = np.empty(count, dtype=np.int64)
    lengths = np.zeros(count, dtype=np.int64)
    tips = np.empty((count, most, 3), dtype=np.int64)
    for k in range(count):
        reds[k] = labels[k, RED]
        node = labels[k, NODE]
        while node >= 0:
            lengths[k] += 1 if nodes[node, 1] >= 0 else 0
            node = nodes[node, 0]
        node, length, extra, later = labels[k, NODE], lengths[k], np.int64(0), np.int64(0)
        while node >= 0:
            if nodes[node, 1] >= 0:
                length -= 1
                tips[k, length, 0], tips[k, length, 1] = nodes[node, 1], nodes[node, 2]
                tips[k, length, 2] = nodes[node, 3] + extra
                extra, later = later, np.int64(0)
            elif nodes[node, 2] == 1:
                later += nodes[node, 3]
            else:
                extra += nodes[node, 3]
            node = nodes[node, 0]
    return reds, lengths, tips, made


_unrolled = compiled(_unrolled_)
label = compiled(_label)


def _price(
    rules: Array,
    start: Array,
    jobs: Array,
    legs: Array,
    offsets: Array,
    near: Array,
    pair_offsets: Array,
    pairs: Array,
    gap_rule: Array,
    late: Array,
    of_pairs: Array,
    kg_price: Array,
    over_price: Array,
    room: Array,
) -> Array:
    """Return the cheapest tip plans below ``rules[CUTOFF]``, see ``_label``.

    The search starts with a low cutoff, a little above the least possible, and raises it until
    something is found: what is found first is the cheapest.
    """
    togo = completions(
        rules[PAYLOAD], rules[BODY], rules[SMALLEST], rules[TIPS], rules[DRIVE], rules[SHED], start,
        jobs, legs, offsets, near, pair_offsets, pairs, of_pairs, kg_price, room,
    )  # fmt: skip
    step = (rules[PAYLOAD] + STEPS - 1) // STEPS
    least = togo[0, 0, min(start[1] // step, STEPS)] + late[0, 0]
    slack = max(least // 100, 1)
    while True:
        limit = min(rules[CUTOFF], least + slack)
        reds, lengths, tips, made = label(
            rules, start, jobs, legs, offsets, near, pair_offsets, pairs, gap_rule, togo, late,
            kg_price, over_price, room, limit,
        )  # fmt: skip
        if len(reds) > 0 or limit >= rules[CUTOFF] or slack > FAR:
            return reds, lengths, tips, made
        slack *= 2


price = compiled(_price)

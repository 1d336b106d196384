"""The cheapest tip plan of one vehicle at given prices, by labelling. Compiled.

The jobs are in order; in every gap between them the vehicle may tip at a few destinations. A label
is a state right after a job. How much a partial tip drops is left open: the label keeps a *credit*,
so many kilograms that may still be said to have been dropped there, at that destination's price,
and draws on it when a later lot would not fit. So one label stands for every split.

Two modes. In *plan* mode a new partial tip closes the credit of the one before, litres are rounded
up, a destination's room shrinks by what this plan has tipped there: every result is a legal plan.
In *bound* mode credits add up at the lower price, litres are rounded down, room is not tracked
within the vehicle, and any load may be shed at the overflow price: the result is never above the
cheapest legal plan of the vehicle, whatever its splits.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from service.planning.compiled import compiled

# Columns of a label, and of a state on its way through a gap.
RED, TIME, LOAD, VOL, BITS, CREDIT, CPRICE, CVOL, CKG, DRAWN, NODE = range(11)
AT, DEPTH, NEEDED = 11, 12, 13
# Columns of the candidates: destination, cost and time in and out, and its own rules.
DEST, CIN, TIN, COUT, TOUT, FIX, ACCEPT, OPEN, CLOSE, TIP, OVER, NEED = range(12)
# Positions in ``rules``.
PAYLOAD, BODY, SHIFT_END, TIPS_MADE, SMALLEST, TIPS, LATE, OVERTIME, DRIVE = range(9)
RESULTS, BOUND, SHED, CUTOFF, ELEMENTARY, STRICT = range(9, 15)
NEVER = 4_000_000_000_000_000_000


def _grown(rows: Any) -> Any:
    """Return the rows in twice the space."""
    more = np.empty((2 * rows.shape[0], rows.shape[1]), dtype=np.int64)
    more[: rows.shape[0]] = rows
    return more


grown = compiled(_grown)


def _tipped(nodes: Any, node: int, drawn: int, d: int) -> int:
    """Return what a plan has tipped at a destination so far; ``drawn`` belongs to the last tip."""
    kg = 0
    extra = drawn
    while node >= 0:
        if nodes[node, 1] < 0:
            extra += nodes[node, 3]
        else:
            if nodes[node, 2] == d:
                kg += nodes[node, 3] + extra
            extra = 0
        node = nodes[node, 0]
    return kg


tipped = compiled(_tipped)


def _keep(new: Any, count: int, old: Any, last: bool, results: int, strict: bool) -> Any:
    """Return the labels that no other makes useless, cheapest first, and how many they are.

    A label is useless if another is no dearer, no later, no heavier, no fuller, carries no other
    bits, and can draw on its credit as well, or is already below what the first can draw down to.
    """
    order = np.argsort(new[:count, RED], kind="mergesort")
    kept = 0
    if old.shape[0] < count:
        old = np.empty((count + 64, old.shape[1]), dtype=np.int64)
    for position in range(count):
        b = new[order[position]]
        useless = False
        for k in range(kept):
            a = old[k]
            if (
                a[TIME] <= b[TIME]
                and a[LOAD] <= b[LOAD]
                and a[VOL] <= b[VOL]
                and (a[BITS] & ~b[BITS]) == 0
                and (not strict or a[LOAD] == b[LOAD])
            ):
                if (
                    b[CREDIT] == 0
                    or (
                        a[CREDIT] >= b[CREDIT]
                        and a[CPRICE] <= b[CPRICE]
                        and a[CVOL] * b[CKG] >= b[CVOL] * a[CKG]
                    )
                    or (
                        a[LOAD] <= b[LOAD] - b[CREDIT]
                        and (b[VOL] - a[VOL]) * b[CKG] >= b[CREDIT] * b[CVOL]
                    )
                ):
                    useless = True
                    break
        if not useless or (last and kept < results):
            old[kept, :NODE + 1] = b[:NODE + 1]
            kept += 1
            if last and kept >= results:
                break
    return old, kept


keep = compiled(_keep)


def _price(
    rules: Any,
    start: Any,
    jobs: Any,
    legs: Any,
    offsets: Any,
    near: Any,
    pair_offsets: Any,
    pairs: Any,
    gap_rule: Any,
    togo: Any,
    kg_price: Any,
    over_price: Any,
    room: Any,
) -> Any:
    """Return the cheapest tip plans: reduced costs, lengths, and tips (gap, destination, kg).

    ``gap_rule`` is 0 if tips are free in a gap, 1 if forbidden, 2 if there must be one.
    ``togo`` bounds from below what comes after a gap; labels above ``rules[CUTOFF]`` are dropped,
    so an empty answer means that nothing is cheaper than the cutoff.
    ``kg_price``, ``over_price`` and ``room`` belong to candidates; room -1 closes one.
    """
    n = jobs.shape[0]
    bound = rules[BOUND] == 1
    elementary = rules[ELEMENTARY] == 1
    strict = rules[STRICT] == 1
    smallest, tips_allowed, shed = rules[SMALLEST], rules[TIPS], rules[SHED]
    payload, body, cutoff, results = rules[PAYLOAD], rules[BODY], rules[CUTOFF], rules[RESULTS]
    labels = np.empty((256, 11), dtype=np.int64)
    new = np.empty((1024, 11), dtype=np.int64)
    stack = np.empty((256, 14), dtype=np.int64)
    nodes = np.empty((1024, 4), dtype=np.int64)
    front = np.empty((48, 2), dtype=np.int64)
    node_count = 0
    made = 0
    labels[0] = 0
    labels[0, TIME], labels[0, LOAD], labels[0, VOL], labels[0, BITS] = start[0], start[1], start[2], start[3]
    labels[0, NODE] = -1
    count = 1
    for gap in range(n + 1):
        last = gap == n
        new_count = 0
        fronts = 0
        first_row = offsets[gap]
        width = offsets[gap + 1] - first_row
        needed = 0
        for c in range(first_row, first_row + width):
            if near[c, NEED] > 0:
                needed += 1
        depth0 = rules[TIPS_MADE] if gap == 0 else 0
        for position in range(count):
            stack[0, :11] = labels[position]
            stack[0, AT], stack[0, DEPTH], stack[0, NEEDED] = -1, depth0, 0
            height = 1
            while height > 0:
                height -= 1
                red, t, load, vol = stack[height, RED], stack[height, TIME], stack[height, LOAD], stack[height, VOL]
                bits, credit, cprice = stack[height, BITS], stack[height, CREDIT], stack[height, CPRICE]
                cvol, ckg, drawn, node = stack[height, CVOL], stack[height, CKG], stack[height, DRAWN], stack[height, NODE]
                at, depth, met = stack[height, AT], stack[height, DEPTH], stack[height, NEEDED]
                # --- leave the gap
                may_leave = met == needed and not (gap_rule[gap] == 2 and at < 0)
                if may_leave:
                    out_red = red + (legs[gap, 0] if at < 0 else near[first_row + at, COUT])
                    out_t = t + (legs[gap, 1] if at < 0 else near[first_row + at, TOUT])
                    if last:
                        if load > 0 and bound:
                            draw = credit if cprice < shed else 0
                            out_red += draw * cprice + (load - draw) * shed
                            load_out = 0
                        else:
                            load_out = load
                        if load_out == 0:
                            if out_t > rules[SHIFT_END]:
                                out_red += (out_t - rules[SHIFT_END]) * rules[OVERTIME]
                            if out_red <= cutoff:
                                if new_count == new.shape[0]:
                                    new = grown(new)
                                b = new[new_count]
                                b[:] = 0
                                b[RED], b[TIME], b[NODE] = out_red, out_t, node
                                new_count += 1
                    else:
                        if out_t < jobs[gap, 3]:
                            out_t = jobs[gap, 3]
                        elif out_t > jobs[gap, 4]:
                            out_red += (out_t - jobs[gap, 4]) * rules[LATE]
                        o_load, o_vol, o_credit, o_drawn = load, vol, credit, drawn
                        over_kg = o_load + jobs[gap, 0] - payload
                        over_l = o_vol + jobs[gap, 1] - body
                        fits = True
                        if over_kg > 0 or over_l > 0:
                            draw = max(over_kg, 0)
                            if over_l > 0:
                                if credit > 0 and cvol > 0:
                                    draw = max(draw, over_l * ckg // cvol if bound else -((-over_l * ckg) // cvol))
                                else:
                                    draw = max(draw, np.int64(1) if bound else load + 1)
                            from_credit = min(draw, credit)
                            if bound and shed < cprice:
                                from_credit = 0
                            o_load -= from_credit
                            o_credit -= from_credit
                            o_drawn += from_credit
                            out_red += from_credit * cprice
                            if credit > 0 and ckg > 0:
                                o_vol -= from_credit * cvol // ckg if not bound else -((-from_credit * cvol) // ckg)
                            if from_credit < draw or o_vol + jobs[gap, 1] > body:
                                fits = from_credit == draw and o_vol + jobs[gap, 1] <= body
                                if bound and o_load > 0:
                                    # shed the rest: at the densest litres any part of the load may have
                                    rest = max(o_load + jobs[gap, 0] - payload, 0)
                                    rest_l = o_vol + jobs[gap, 1] - body
                                    if rest_l > 0:
                                        litres, per = o_vol, o_load
                                        if ckg > 0 and cvol * per > litres * ckg:
                                            litres, per = cvol, ckg
                                        rest = max(rest, rest_l * per // max(litres, 1))
                                    rest = min(rest, o_load)
                                    out_red += rest * shed
                                    o_load -= rest
                                    o_vol = min(o_vol, body - jobs[gap, 1]) if o_load > 0 else 0
                                    o_credit = min(o_credit, max(o_load - 1, 0))
                                    fits = True
                        if fits and out_red + togo[gap + 1] <= cutoff:
                            o_t = out_t + jobs[gap, 5]
                            hidden = False
                            for k in range(fronts):
                                if front[k, 0] <= out_red and front[k, 1] <= o_t:
                                    hidden = True
                                    break
                            if not hidden:
                                if o_load == 0 and fronts < 48 and not strict:
                                    front[fronts, 0], front[fronts, 1] = out_red, o_t
                                    fronts += 1
                                if new_count == new.shape[0]:
                                    new = grown(new)
                                b = new[new_count]
                                b[RED], b[TIME] = out_red, o_t
                                b[LOAD], b[VOL] = o_load + jobs[gap, 0], o_vol + jobs[gap, 1]
                                b[BITS] = (bits if o_load > 0 else 0) | jobs[gap, 2]
                                b[CREDIT], b[CPRICE], b[CVOL], b[CKG] = o_credit, cprice, cvol, ckg
                                b[DRAWN], b[NODE] = o_drawn, node
                                if o_load == 0 or o_credit <= 0:
                                    b[CREDIT], b[CPRICE], b[CVOL], b[CKG] = 0, 0, 0, 1
                                    if o_drawn > 0:
                                        if node_count == nodes.shape[0]:
                                            nodes = grown(nodes)
                                        nodes[node_count, 0], nodes[node_count, 1] = node, -1
                                        nodes[node_count, 2], nodes[node_count, 3] = -1, o_drawn
                                        b[NODE], b[DRAWN] = node_count, 0
                                        node_count += 1
                                new_count += 1
                # --- tip once more
                if load <= 0 or depth >= tips_allowed or gap_rule[gap] == 1:
                    continue
                for c in range(width):
                    row = first_row + c
                    free = room[row]
                    if c == at or free < 0 or (bits & ~near[row, ACCEPT]) != 0:
                        continue
                    if at < 0:
                        there_red, there_t = red + near[row, CIN], t + near[row, TIN]
                    else:
                        pair = pair_offsets[gap] + at * width + c
                        there_red = red + pairs[pair, 0] * rules[DRIVE]
                        there_t = t + pairs[pair, 1]
                    if there_t > near[row, CLOSE]:
                        continue
                    there_red += near[row, FIX]
                    if there_red + togo[gap + 1] > cutoff:
                        continue
                    there_t = max(there_t, near[row, OPEN]) + near[row, TIP]
                    price = kg_price[row]
                    need = near[row, NEED]
                    can_draw = credit
                    if elementary and node >= 0:
                        free -= tipped(nodes, node, drawn, near[row, DEST])
                        if nodes[node, 2] == near[row, DEST]:
                            can_draw = np.int64(0)
                        if free < 0:
                            free = np.int64(0)
                    now_met = met + (1 if need > 0 else 0)
                    # the whole load
                    draw = can_draw if cprice < price else np.int64(0)
                    over = load - draw - free
                    if over > 0 and can_draw > draw and cprice < over_price[row]:
                        more = min(over, can_draw - draw)
                        draw += more
                        over -= more
                    over = max(over, np.int64(0))
                    if (over == 0 or near[row, OVER] == 1) and load - draw >= need:
                        cost = there_red + draw * cprice + (load - draw - over) * price + over * over_price[row]
                        if cost + togo[gap + 1] <= cutoff:
                            if node_count + 2 > nodes.shape[0]:
                                nodes = grown(nodes)
                            prev = node
                            if drawn + draw > 0:
                                nodes[node_count, 0], nodes[node_count, 1] = prev, -1
                                nodes[node_count, 2], nodes[node_count, 3] = -1, drawn + draw
                                prev = node_count
                                node_count += 1
                            nodes[node_count, 0], nodes[node_count, 1] = prev, gap
                            nodes[node_count, 2], nodes[node_count, 3] = near[row, DEST], load - draw
                            if height == stack.shape[0]:
                                stack = grown(stack)
                            s = stack[height]
                            s[:] = 0
                            s[RED], s[TIME], s[CKG], s[NODE] = cost, there_t, 1, node_count
                            s[AT], s[DEPTH], s[NEEDED] = c, depth + 1, now_met
                            node_count += 1
                            height += 1
                    # a part of the load
                    least = max(smallest, need)
                    if (last and depth + 1 >= tips_allowed) or free < least:
                        continue
                    for variant in range(2):
                        draw = np.int64(0)
                        if variant == 1:
                            if can_draw == 0 or cprice >= price or bound:
                                break
                            draw = can_draw
                        rest, litres = load - draw, vol
                        if draw > 0:
                            litres -= draw * cvol // ckg
                        if rest - least < 1:
                            continue
                        cost = there_red + draw * cprice + least * price
                        if cost + togo[gap + 1] > cutoff:
                            continue
                        if node_count + 2 > nodes.shape[0]:
                            nodes = grown(nodes)
                        prev = node
                        if drawn + draw > 0:
                            nodes[node_count, 0], nodes[node_count, 1] = prev, -1
                            nodes[node_count, 2], nodes[node_count, 3] = -1, drawn + draw
                            prev = node_count
                            node_count += 1
                        nodes[node_count, 0], nodes[node_count, 1] = prev, gap
                        nodes[node_count, 2], nodes[node_count, 3] = near[row, DEST], least
                        if height == stack.shape[0]:
                            stack = grown(stack)
                        s = stack[height]
                        s[RED], s[TIME], s[LOAD], s[BITS] = cost, there_t, rest - least, bits
                        s[CREDIT], s[CPRICE] = min(free, rest - 1) - least, price
                        s[CVOL], s[CKG], s[DRAWN], s[NODE] = litres, rest, 0, node_count
                        s[AT], s[DEPTH], s[NEEDED] = c, depth + 1, now_met
                        if bound:
                            # litres that may be gone: at the best ratio an open credit could leave
                            if credit > 0 and rest - credit > 0:
                                thick = litres - credit * cvol // ckg
                                if thick * rest > litres * (rest - credit):
                                    s[CVOL], s[CKG] = thick, rest - credit
                            s[VOL] = max(litres - (least * s[CVOL] // s[CKG]) - 3, 0)
                            if credit > 0:
                                s[CREDIT] = min(s[CREDIT] + credit, rest - least - 1)
                                s[CPRICE] = min(price, cprice)
                                if cvol * s[CKG] > s[CVOL] * ckg:
                                    s[CVOL], s[CKG] = cvol, ckg
                        else:
                            s[VOL] = litres - (least * litres // rest)
                        node_count += 1
                        height += 1
        made += new_count
        labels, count = keep(new, new_count, labels, last, results, strict)
        if count == 0:
            break
    reds = np.empty(count, dtype=np.int64)
    lengths = np.zeros(count, dtype=np.int64)
    tips = np.empty((count, (n + 1) * tips_allowed, 3), dtype=np.int64)
    for k in range(count):
        reds[k] = labels[k, RED]
        length = 0
        node = labels[k, NODE]
        while node >= 0:
            if nodes[node, 1] >= 0:
                length += 1
            node = nodes[node, 0]
        lengths[k] = length
        node = labels[k, NODE]
        extra = 0
        while node >= 0:
            if nodes[node, 1] < 0:
                extra += nodes[node, 3]
            else:
                length -= 1
                tips[k, length, 0] = nodes[node, 1]
                tips[k, length, 1] = nodes[node, 2]
                tips[k, length, 2] = nodes[node, 3] + extra
                extra = 0
            node = nodes[node, 0]
    return reds, lengths, tips, made


price = compiled(_price)

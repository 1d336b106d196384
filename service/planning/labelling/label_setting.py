# ruff: noqa: C901, PLR0912, PLR0915, PLR0917 - machine code wants flat loops, plain arguments
"""The cheapest tip plan of one vehicle at given prices, by labelling. Compiled.

States and their credits are explained in ``states``. Where plans are sought every result is a legal
plan; where they are bounded none is above the vehicle's cheapest plan: ``plan_rules`` and
``bound_rules`` say what each may do, and room counts for each tip, over the whole plan if the
destination is tracked.
"""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    ASK,
    ASK_BIT,
    ASKED,
    BEAM,
    EFFORT,
    FIRST_S,
    KG,
    NEED,
    NEVER,
    NO_CAP,
    OPEN,
    RESULTS,
    RESUME,
    SHED,
    START_BITS,
    START_KG,
    START_LITRES,
    START_S,
    TIPS,
    TIPS_MADE,
    WAIT,
    Offer,
    Road,
)
from service.planning.arrays.uncounted import borrowed
from service.planning.labelling.deals import deal_at
from service.planning.labelling.extension import (
    AFTER,
    BEYOND,
    CLOCK,
    COST,
    FLOOR,
    FREE,
    GAP,
    HEIGHT,
    LEFT,
    LIMIT,
    MAY,
    NODES,
    NUMBER,
    OPENS,
    PRICE,
    ROW,
    WHOLES,
    depart,
    note,
    overtaken,
    take_on,
    tip_all,
    waited_out,
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
from service.planning.labelling.label_log import thinned, unrolled
from service.planning.labelling.labels import (
    AT,
    BITS,
    CKG,
    CREDIT,
    DEPTH,
    DRAWN,
    HEEDED,
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
    grown,
    keep,
)
from service.planning.labelling.load_steps import ToGo, step_at
from service.planning.labelling.mode import astray as astray_in
from service.planning.labelling.mode import floor_at, load_up
from service.planning.labelling.partial_tips import tip_parts

FRONT = 48  # remembered departures with an empty body
ROOM = 32  # states and tips that one candidate may add


def _label(
    rules: Array,
    road: Road,
    offer: Offer,
    togo: ToGo,
    after: ToGo,
    cutoff: int,
    used: Array,
    used_offsets: Array,
) -> Array:
    """Return the cheapest tip plans: reduced costs, lengths, tips (gap, destination, kg), effort.

    ``togo`` bounds from below what comes after a job, ``after`` what comes after a gap's first
    tip; labels above the cutoff are dropped, so an empty answer means that nothing is cheaper than
    the cutoff; or, with an effort of -1, that a bound gave up. ``used`` are the candidates by gap.
    """
    jobs, near, start = borrowed(road.jobs), borrowed(road.near), road.start
    legs, pairs, late = borrowed(road.legs), borrowed(road.pairs), borrowed(road.late)
    until = borrowed(road.until)
    prices, beyond, room = borrowed(offer.price), borrowed(offer.beyond), borrowed(offer.room)
    toll_kg, toll = borrowed(offer.toll_kg), borrowed(offer.toll)
    costs, after_costs = borrowed(togo.cost), borrowed(after.cost)
    begins, limits = borrowed(togo.begins), borrowed(rules)
    pieces = toll_kg.shape[1] + 1
    n, t0 = jobs.shape[0], start[START_S]
    own_labels = np.zeros((256, WIDTH), dtype=np.int64)
    own_new = np.empty((1024, WIDTH), dtype=np.int64)
    own_stack = np.zeros((256, STATE), dtype=np.int64)
    own_wholes = np.zeros((64, STATE), dtype=np.int64)
    own_nodes = np.empty((1024, 4), dtype=np.int64)
    own_front = np.empty((FRONT, 2), dtype=np.int64)
    labels, new, nodes = borrowed(own_labels), borrowed(own_new), borrowed(own_nodes)
    stack, wholes, front = borrowed(own_stack), borrowed(own_wholes), borrowed(own_front)
    own = np.zeros((5, STATE), dtype=np.int64)
    cur, out, counts = borrowed(own[0]), borrowed(own[1]), borrowed(own[2])
    deal, day = borrowed(own[3]), borrowed(own[4])
    no_tips = np.empty((0, 0, 3), dtype=np.int64)
    made, looked, count, beam = 0, 0, 1, rules[BEAM]
    day[DAY_START], day[STEP], day[SHED_PRICE], day[LAST_GAP] = t0, togo.step, rules[SHED], n
    # what must be aboard so that what is demanded later can be tipped, whatever happens
    floors = np.zeros((n + 2, costs.shape[0]), dtype=np.int64)
    opens = np.zeros(n + 2, dtype=np.int64)  # the last second at which it pays to have been waited
    for gap in range(n, -1, -1):
        if gap < n:
            floors[gap] = floors[gap + 1] - jobs[gap, KG]
            opens[gap] = max(opens[gap + 1], jobs[gap, FIRST_S])
        for row in range(road.offsets[gap], road.offsets[gap + 1]):
            if gap < n:
                opens[gap] = max(opens[gap], near[row, OPEN], near[row, RESUME])
            floors[gap, 0] = max(floors[gap, 0], near[row, NEED])
            if near[row, ASK] > 0:
                bit = 1 + near[row, ASK_BIT]
                floors[gap, bit] = max(floors[gap, bit], near[row, ASK])
    labels[0, TIME], labels[0, LOAD] = start[START_S], start[START_KG]
    labels[0, VOL], labels[0, BITS] = start[START_LITRES], start[START_BITS]
    labels[0, NODE], labels[0, CKG] = -1, 1
    for gap in range(n + 1):
        last, first_row = gap == n, road.offsets[gap]
        width, pair_first = road.offsets[gap + 1] - first_row, road.pair_offsets[gap]
        new_count, fronts, needed, emptied, limit = 0, 0, 0, np.int64(0), cutoff
        for row in range(first_row, first_row + width):
            needed += 1 if near[row, NEED] > 0 else 0
        day[STRAIGHT_S], day[DEMANDED], there_s = legs[gap, 1], needed, t0 + legs[gap, 1]
        astray = astray_in(rules, n - gap + 1)
        deal[OPENS] = opens[gap + 1]
        if not last:
            lowest = step_at(jobs[gap, KG], begins[gap + 1, gap + 1], togo.step, costs.shape[3] - 1)
            emptied = costs[0, gap + 1, gap + 1, lowest]
        for position in range(count):
            stack[0, :WIDTH] = labels[position]
            stack[0, AT], stack[0, MET] = -1, 0
            stack[0, DEPTH] = rules[TIPS_MADE] if gap == 0 else 0
            counts[HEIGHT] = 1
            while counts[HEIGHT] + counts[WHOLES] > 0:
                # first those that tipped all: others may be no better than one of them
                if counts[WHOLES] > 0:
                    counts[WHOLES] -= 1
                    cur[:] = wholes[counts[WHOLES]]
                else:
                    counts[HEIGHT] -= 1
                    cur[:] = stack[counts[HEIGHT]]
                looked += 1
                if beam == 0 and looked > rules[EFFORT]:
                    return np.empty(0, np.int64), np.empty(0, np.int64), no_tips, -1
                while counts[NODES] + ROOM > nodes.shape[0]:
                    own_nodes = grown(own_nodes)
                    nodes = borrowed(own_nodes)
                at, load = cur[AT], cur[LOAD]
                if at >= 0 and load > 0:
                    deal[GAP], deal[ROW], deal[COST], deal[CLOCK] = (
                        gap,
                        first_row + at,
                        cur[RED],
                        cur[TIME],
                    )
                    if overtaken(front, fronts, jobs, near, limits, deal, astray):
                        continue
                done = load == 0 and cur[HEEDED] == rules[ASKED]
                if cur[MET] == needed and (not last or done):
                    out[:] = cur
                    depart(out, jobs, legs, near, limits, gap, -1 if at < 0 else first_row + at)
                    fits = not last or out[RED] <= limit
                    if not last:
                        t = out[TIME]
                        front_red = waited_out(out[RED], t, opens[gap + 1], limits)
                        for k in range(fronts):
                            if front[k, 0] <= front_red - astray and front[k, 1] <= t:
                                fits = False
                                break
                        fits = fits and load_up(out, jobs, gap, limits)
                        if fits:
                            empty, red = out[LOAD] == 0, out[RED]
                            take_on(out, jobs, gap)
                            out[LEAST] = red + rest(costs, begins, late, day, gap + 1, out)
                            fits = out[LEAST] <= limit
                            if out[SHEDDABLE] > 0 and rules[SHED] > 0:
                                may_shed = (cutoff - out[LEAST]) // rules[SHED]
                                out[SHEDDABLE] = min(out[SHEDDABLE], out[CREDIT] + may_shed)
                                if may_shed <= 0 or out[SHEDDABLE] <= out[CREDIT]:
                                    out[SHEDDABLE] = 0
                            plain = out[HEEDED] == rules[ASKED] and not out[USED:WIDTH].any()
                            plain = plain and jobs[gap, KG] >= floors[gap + 1, 0]
                            if fits and empty and fronts < FRONT and plain:
                                front[fronts, 0], front[fronts, 1] = front_red, t
                                fronts += 1
                    if fits:
                        if beam > 0 and new_count == 8 * beam:
                            # too many to look at: from here on, only what is more promising
                            limit = np.partition(new[:new_count, LEAST], 2 * beam)[2 * beam]
                            new_count = thinned(new, new_count, limit)
                        if new_count == new.shape[0]:
                            own_new = grown(own_new)
                            new = borrowed(own_new)
                        if out[CREDIT] == 0 and out[DRAWN] > 0:
                            out[NODE] = note(nodes, counts, out[NODE], -1, out[SKIP], out[DRAWN])
                            out[DRAWN], out[SKIP] = 0, 0
                        new[new_count] = out[:WIDTH]
                        new_count += 1
                if load <= 0 or cur[DEPTH] >= rules[TIPS]:
                    continue
                for place in range(used_offsets[gap], used_offsets[gap + 1]):
                    row = used[place]
                    c = row - first_row
                    deal[GAP], deal[ROW], deal[NUMBER] = gap, row, c
                    deal[AFTER], deal[LIMIT] = emptied, limit
                    deal[FREE], deal[PRICE], deal[BEYOND] = room[row], prices[row], beyond[row]
                    pair = pair_first + at * width + c
                    if not deal_at(
                        cur, near, pairs, pair, late, until, there_s, limits, nodes, deal, last
                    ):
                        continue
                    if overtaken(front, fronts, jobs, near, limits, deal, astray):
                        continue
                    cost, free, may = deal[COST], deal[FREE], deal[MAY]
                    price_beyond, deal[LEFT] = deal[BEYOND], free
                    charged = pieces > 1 and toll_kg[row, 0] < NO_CAP
                    for piece in range(pieces if charged else 1):
                        # amounts that pay the same toll
                        low = toll_kg[row, piece - 1] if piece > 0 else 0
                        if low > min(load, free):
                            break
                        deal[FLOOR], deal[COST] = max(floor_at(near, row, limits), low), cost
                        deal[COST] += toll[row, piece - 1] if piece > 0 else 0
                        deal[FREE], deal[MAY], deal[BEYOND] = free, may, price_beyond
                        top = toll_kg[row, piece] - 1 if charged and piece < pieces - 1 else NO_CAP
                        if top < free:
                            deal[FREE] = top
                            if cur[SHEDDABLE] == 0:
                                deal[MAY], deal[BEYOND] = 0, NEVER
                        while counts[NODES] + ROOM > nodes.shape[0]:
                            own_nodes = grown(own_nodes)
                            nodes = borrowed(own_nodes)
                        while counts[HEIGHT] + ROOM > stack.shape[0]:
                            own_stack = grown(own_stack)
                            stack = borrowed(own_stack)
                        while counts[WHOLES] + ROOM > wholes.shape[0]:
                            own_wholes = grown(own_wholes)
                            wholes = borrowed(own_wholes)
                        tip_all(cur, deal, near, wholes, nodes, counts)
                        tip_parts(
                            cur,
                            deal,
                            jobs,
                            near,
                            limits,
                            costs,
                            after_costs,
                            begins,
                            late,
                            day,
                            stack,
                            nodes,
                            counts,
                        )
        made += new_count
        results = rules[RESULTS] if last else 0
        own_labels, count = keep(
            own_new,
            new_count,
            own_labels,
            results,
            floors[gap + 1],
            beam,
            astray,
            rules[WAIT],
            opens[gap + 1],
        )
        labels = borrowed(own_labels)
        if count == 0:
            break
    reds, lengths, tips = unrolled(own_labels, count, own_nodes, (n + 1) * (rules[TIPS] + 1))
    own[0, 0] = own_front[0, 0] = own_stack[0, 0] = own_wholes[0, 0] = 0  # borrowed until here
    return reds, lengths, tips, made


label = compiled(_label)

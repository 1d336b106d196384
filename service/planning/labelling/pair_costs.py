# ruff: noqa: PLR0917 - machine code wants flat loops, plain arguments
"""What it costs at least to pass a gap by two of its candidates. Compiled."""

from __future__ import annotations

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.delays import delay, delayed
from service.planning.arrays.inputs import ACCEPT, CIN, COUT, DRIVE, FAR, FIX, SHED, Offer, Road
from service.planning.labelling.load_steps import step_of


def _by_both(rules: Array, road: Road, gap: int, a: int, b: int, most: int) -> Array:
    """Return the least cost to pass a gap by two of its candidates, before any kilogram.

    If it is ``most`` or more already without what their delay costs, that is left out.
    """
    near, first = road.near, road.offsets[gap]
    width = road.offsets[gap + 1] - first
    pair = road.pair_offsets[gap] + a * width + b
    turned = road.pair_offsets[gap] + b * width + a
    one, two = first + a, first + b
    there = near[one, CIN] + road.pairs[pair, 0] * rules[DRIVE] + near[two, COUT]
    back = near[two, CIN] + road.pairs[turned, 0] * rules[DRIVE] + near[one, COUT]
    fixed = near[one, FIX] + near[two, FIX]
    if there + fixed < most:
        there += delayed(rules, road, gap, delay(road, gap, one, two))
    if back + fixed < most:
        back += delayed(rules, road, gap, delay(road, gap, two, one))
    return min(there, back) + fixed


by_both = compiled(_by_both, inline=True)


def _shared(
    offer: Offer,
    step: int,
    a: int,
    b: int,
    at_a: Array,
    at_b: Array,
    shed: int,
    cost: int,
    costs: Array,
    ends: Array,
) -> None:
    """Lower ``costs`` to those of tips at two candidates, the cheaper step first.

    ``at_a`` and ``at_b`` are what each step costs more there; what both rooms lack is shed.
    """
    both, steps = offer.room[a] + offer.room[b], costs.shape[0]
    last = min(steps - 1, both // step)
    most_a, most_b = offer.room[a] // step + 1, offer.room[b] // step + 1
    here, there, added = 0, 0, 0
    for k in range(last + 1):
        costs[k] = min(costs[k], cost)
        if here < most_a and (there == most_b or at_a[here] <= at_b[there]):
            added = at_a[here]
            here += 1
        elif there < most_b:
            added = at_b[there]
            there += 1
        cost += added
        ends[k] = min(ends[k], cost)
    if last + 1 < steps:
        cost += max(shed * step - added, 0) * ((last + 1) * step - both) // step
        costs[last + 1] = min(costs[last + 1], cost)


shared = compiled(_shared, inline=True)


def _may_lower(cost: int, gentle: int, last: int, costs: Array, ends: Array) -> Array:
    """Tell whether costs that rise by so much a step at least may be below those known."""
    for k in range(min(last + 2, costs.shape[0])):
        if cost < costs[k] or cost + gentle < ends[k]:
            return True
        cost += gentle
    return False


may_lower = compiled(_may_lower, inline=True)


def _worth_both(price: int, step: int, shed: int, costs: Array, ends: Array, worth: Array) -> None:
    """Fill ``worth``: two candidates that reach so many steps may lower a cost from below it only.

    Dropping k steps at both costs their fixed cost and at least k x step x the smaller of the
    cheaper one's ``price`` and what is shed; so that must be below every cost known, for a k up to
    one step above what their rooms hold.
    """
    rises, more, least = min(price, shed) * step, shed * step, FAR
    for k in range(costs.shape[0]):
        least = min(costs[k], least + more)
        worth[k] = max(least, min(ends[k], least + more) - rises) - rises * k
        if k > 0:
            worth[k] = max(worth[k], worth[k - 1])


worth_both = compiled(_worth_both, inline=True)


def _with_dearer(
    rules: Array,
    road: Road,
    offer: Offer,
    gap: int,
    bits: int,
    a: int,
    more: Array,
    worth: Array,
    costs: Array,
    ends: Array,
) -> None:
    """Lower ``costs`` to those of tips at a candidate and another one of the gap that is dearer.

    ``more`` is what each step costs more at each if there are tolls, ``worth`` see ``_worth_both``.
    """
    near, first, steps, step = road.near, road.offsets[gap], costs.shape[0], step_of(rules)
    row, tolls = first + a, offer.toll_kg.shape[1] > 0
    room, price, shed = offer.room[row], offer.price[row], rules[SHED]
    charged = tolls and offer.toll_kg[row, 0] <= room
    for b in range(road.offsets[gap + 1] - first):
        other = first + b
        dearer = offer.price[other]
        if b == a or offer.room[other] < 0 or (bits & ~near[other, ACCEPT]) != 0:
            continue
        if dearer < price or (dearer == price and b < a):
            continue
        k, last = room // step, min(steps - 1, (room + offer.room[other]) // step)
        most = worth[min(last + 1, steps - 1)]
        fixed = near[row, FIX] + near[other, FIX]
        there, back = near[row, CIN] + near[other, COUT], near[other, CIN] + near[row, COUT]
        if min(there, back) + fixed >= most:
            continue
        cost = by_both(rules, road, gap, a, b, most)
        if cost >= most:
            continue
        if charged or (tolls and offer.toll_kg[other, 0] <= offer.room[other]):
            gentle = min(more[a, 0], more[b, 0])
            if may_lower(cost, gentle, (room + offer.room[other]) // step, costs, ends):
                shared(offer, step, row, other, more[a], more[b], shed, cost, costs, ends)
            continue
        # fill the cheaper one, then the dearer one; whichever is met first on the way
        cost += k * price * step
        while k <= last:
            costs[k] = min(costs[k], cost)
            k += 1
            # the step that straddles the first one's room counts at the lower price
            cost += (price if k * step <= room + step else dearer) * step
            ends[k - 1] = min(ends[k - 1], cost)
        if last < steps - 1:
            cost += (shed - dearer) * (k * step - room - offer.room[other])
            costs[k] = min(costs[k], cost)


with_dearer = compiled(_with_dearer, inline=True)

# ruff: noqa: PLR0917 - machine code wants flat loops, plain arguments
"""What it costs at least to pass a gap and drop so much in it. Compiled."""

from __future__ import annotations

from service.planning.compiled import Array, compiled
from service.planning.roads import (
    ACCEPT,
    CIN,
    COUT,
    DRIVE,
    FAR,
    FIX,
    LATER,
    NEED,
    PAYLOAD,
    SHED,
    STEPS,
    TIPS,
    Offer,
    Road,
)


def _demanded(near: Array, first: int, last: int) -> Array:
    """Return the first candidate of a gap that must be tipped at, -1 if there is none."""
    for row in range(first, last):
        if near[row, NEED] > 0:
            return row
    return -1


demanded = compiled(_demanded)


def _by_both(rules: Array, road: Road, gap: int, a: int, b: int) -> Array:
    """Return the least cost to pass a gap by two of its candidates, before any kilogram."""
    near, first = road.near, road.offsets[gap]
    width = road.offsets[gap + 1] - first
    pair = road.pair_offsets[gap] + a * width + b
    turned = road.pair_offsets[gap] + b * width + a
    one, two = first + a, first + b
    there = near[one, CIN] + road.pairs[pair, 0] * rules[DRIVE] + near[two, COUT]
    back = near[two, CIN] + road.pairs[turned, 0] * rules[DRIVE] + near[one, COUT]
    cost = min(there + road.of_pairs[pair], back + road.of_pairs[turned])
    return cost + near[one, FIX] + near[two, FIX]


by_both = compiled(_by_both)


def _tip_costs(rules: Array, road: Road, offer: Offer, gap: int, bits: int, costs: Array) -> None:
    """Fill ``costs`` with the least cost to pass a gap and drop k steps of load there, k from 0."""
    near, first, steps = road.near, road.offsets[gap], costs.shape[0]
    width, two = road.offsets[gap + 1] - first, rules[TIPS] > 1
    step = (rules[PAYLOAD] + STEPS - 1) // STEPS
    costs[:] = FAR
    for a in range(width):
        row = first + a
        room, price = offer.room[row], offer.price[row]
        if room < 0 or (bits & ~near[row, ACCEPT]) != 0:
            continue
        cost = near[row, CIN] + near[row, COUT] + near[row, FIX] + near[row, LATER]
        for k in range(min(steps - 1, room // step) + 1):
            costs[k] = min(costs[k], cost)
            cost += price * step
        if not two:
            continue
        for b in range(width):
            other = first + b
            if b == a or offer.room[other] < 0 or (bits & ~near[other, ACCEPT]) != 0:
                continue
            # fill the cheaper one, then the dearer one; whichever is met first on the way
            if offer.price[other] < price or (offer.price[other] == price and b < a):
                continue
            cost = by_both(rules, road, gap, a, b)
            k = room // step
            cost += k * price * step
            last = min(steps - 1, (room + offer.room[other]) // step)
            # the step that straddles the first one's room counts at the lower price
            while k <= last:
                costs[k] = min(costs[k], cost)
                k += 1
                cost += (price if k * step <= room + step else offer.price[other]) * step
    for k in range(1, steps):
        costs[k] = min(costs[k], costs[k - 1] + rules[SHED] * step)


tip_costs = compiled(_tip_costs)


def _must_costs(
    rules: Array,
    road: Road,
    offer: Offer,
    gap: int,
    bits: int,
    must: int,
    low: int,
    costs: Array,
) -> None:
    """Fill ``costs`` like ``tip_costs``, for tips of at least ``low`` kilograms at one candidate.

    Another candidate may take the rest. Rooms are counted up to whole steps, prices from below.
    """
    near, first, steps = road.near, road.offsets[gap], costs.shape[0]
    step = (rules[PAYLOAD] + STEPS - 1) // STEPS
    costs[:] = FAR
    if offer.room[must] < low or (bits & ~near[must, ACCEPT]) != 0:
        return
    least, price, room = low // step, offer.price[must], offer.room[must] // step + 1
    alone = near[must, CIN] + near[must, COUT] + near[must, FIX] + near[must, LATER]
    for k in range(min(steps - 1, room) + 1):
        costs[k] = alone + max(k, least) * price * step
    for b in range(road.offsets[gap + 1] - first if rules[TIPS] > 1 else 0):
        other = first + b
        if other == must or offer.room[other] < 0 or (bits & ~near[other, ACCEPT]) != 0:
            continue
        both = by_both(rules, road, gap, must - first, b)
        theirs = offer.room[other] // step + 1
        for k in range(steps):
            more = max(k - least, 0)
            here = max(room - least, 0)
            there = min(more, theirs) if offer.price[other] < price else more - min(more, here)
            if there > theirs or more - there > here:
                break
            kg = (least + more - there) * step
            costs[k] = min(costs[k], both + kg * price + there * step * offer.price[other])
    for k in range(1, steps):
        costs[k] = min(costs[k], costs[k - 1] + rules[SHED] * step)


must_costs = compiled(_must_costs)

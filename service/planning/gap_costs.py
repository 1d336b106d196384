# ruff: noqa: C901, PLR0917 - machine code wants flat loops, plain arguments
"""What it costs at least to pass a gap and drop so much in it. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.compiled import Array, compiled
from service.planning.roads import (
    ACCEPT,
    CIN,
    COUT,
    DRIVE,
    FAR,
    FIX,
    GRID,
    LATER,
    NEED,
    PAYLOAD,
    SHED,
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


def _toll_of(toll_kg: Array, toll: Array, row: int, kg: int) -> Array:
    """Return the toll on a tip of so many kilograms."""
    paid = np.int64(0)
    for step in range(toll_kg.shape[1]):
        if toll_kg[row, step] > kg:
            break
        paid = toll[row, step]
    return paid


toll_of = compiled(_toll_of)


def _steadily(offer: Offer, row: int, step: int, more: Array) -> None:
    """Fill ``more`` with what each step of load costs more at a candidate, never less than before.

    The sums bound price and tolls from below also between the steps: tolls count as their convex
    hull does, at its slope where a step begins.
    """
    room, pieces = offer.room[row], offer.toll_kg.shape[1]
    corner_kg, corner = np.int64(0), np.int64(0)
    end_kg, end, slope = np.int64(0), np.int64(0), np.int64(0)
    for k in range(more.shape[0]):
        while end_kg <= k * step and end_kg < room:
            corner_kg, corner = end_kg, end
            end_kg = np.int64(-1)
            for piece in range(pieces + 1):  # the end of a piece that is reached most gently
                kg, paid = room, np.int64(0)
                if piece < pieces:
                    kg = min(offer.toll_kg[row, piece] - 1, room)
                if piece > 0:
                    paid = offer.toll[row, piece - 1]
                rise, run = paid - corner, kg - corner_kg
                if run > 0 and (end_kg < 0 or rise * (end_kg - corner_kg) <= (end - corner) * run):
                    end_kg, end = kg, paid
                if kg == room:
                    break
            slope = (end - corner) * step // (end_kg - corner_kg)
        more[k] = offer.price[row] * step + slope


steadily = compiled(_steadily)


def _shared(
    offer: Offer, step: int, a: int, b: int, at_a: Array, at_b: Array, cost: int, costs: Array
) -> None:
    """Lower ``costs`` to those of tips at two candidates, the cheaper step first.

    ``at_a`` and ``at_b`` are what each step costs more there; rooms count up to whole steps.
    """
    last = min(costs.shape[0] - 1, (offer.room[a] + offer.room[b]) // step)
    most_a, most_b = offer.room[a] // step + 1, offer.room[b] // step + 1
    here, there = 0, 0
    for k in range(last + 1):
        costs[k] = min(costs[k], cost)
        if k == last:
            break
        if here < most_a and (there == most_b or at_a[here] <= at_b[there]):
            cost += at_a[here]
            here += 1
        elif there < most_b:
            cost += at_b[there]
            there += 1
        else:
            break


shared = compiled(_shared)


def _tip_costs(rules: Array, road: Road, offer: Offer, gap: int, bits: int, costs: Array) -> None:
    """Fill ``costs`` with the least cost to pass a gap and drop k steps of load there, k from 0."""
    near, first, steps = road.near, road.offsets[gap], costs.shape[0]
    width, two = road.offsets[gap + 1] - first, rules[TIPS] > 1
    step, tolls = (rules[PAYLOAD] + rules[GRID] - 1) // rules[GRID], offer.toll_kg.shape[1] > 0
    costs[:] = FAR
    more = np.empty((width if tolls and two else 0, steps), dtype=np.int64)
    for a in range(more.shape[0]):
        steadily(offer, first + a, step, more[a])
    for a in range(width):
        row = first + a
        room, price = offer.room[row], offer.price[row]
        if room < 0 or (bits & ~near[row, ACCEPT]) != 0:
            continue
        cost = near[row, CIN] + near[row, COUT] + near[row, FIX] + near[row, LATER]
        charged = tolls and offer.toll_kg[row, 0] <= room
        for k in range(min(steps - 1, room // step) + 1):
            toll = toll_of(offer.toll_kg, offer.toll, row, k * step) if charged else 0
            costs[k] = min(costs[k], cost + toll)
            cost += price * step
        if not two:
            continue
        for b in range(width):
            other = first + b
            if b == a or offer.room[other] < 0 or (bits & ~near[other, ACCEPT]) != 0:
                continue
            if charged or (tolls and offer.toll_kg[other, 0] <= offer.room[other]):
                if b > a:
                    both = by_both(rules, road, gap, a, b)
                    shared(offer, step, row, other, more[a], more[b], both, costs)
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
    step = (rules[PAYLOAD] + rules[GRID] - 1) // rules[GRID]
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

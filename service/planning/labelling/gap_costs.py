# ruff: noqa: PLR0917 - machine code wants flat loops, plain arguments
"""What it costs at least to pass a gap and drop so much in it. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    ACCEPT,
    CIN,
    COUT,
    DRIVE,
    FAR,
    FIX,
    LATER,
    NEED,
    OVER,
    SHED,
    TIPS,
    Offer,
    Road,
)
from service.planning.labelling.cut_tolls import steadily, toll_of
from service.planning.labelling.load_steps import step_of
from service.planning.labelling.pair_costs import by_both, with_dearer, worth_both


def _demanded(near: Array, first: int, last: int) -> Array:
    """Return the first candidate of a gap that must be tipped at, -1 if there is none."""
    for row in range(first, last):
        if near[row, NEED] > 0:
            return row
    return -1


demanded = compiled(_demanded)


def _alone(
    rules: Array, offer: Offer, row: int, step: int, cost: int, costs: Array, ends: Array
) -> None:
    """Lower ``costs`` to those of a tip at one candidate; what its room lacks is shed."""
    room, price, most = offer.room[row], offer.price[row], costs.shape[0] - 1
    charged = offer.toll_kg.shape[1] > 0 and offer.toll_kg[row, 0] <= room
    toll, within = np.int64(0), min(most, room // step)
    for k in range(within + 1):
        if charged:
            toll = toll_of(offer.toll_kg, offer.toll, row, k * step)
        costs[k] = min(costs[k], cost + toll)
        cost += price * step
        ends[k] = min(ends[k], cost + toll)
    if within < most:
        cost += (rules[SHED] - price) * ((within + 1) * step - room)
        costs[within + 1] = min(costs[within + 1], cost + toll)


alone = compiled(_alone, inline=True)


def _shed_and_rise(rules: Array, step: int, costs: Array, ends: Array, rise: Array) -> None:
    """Let what is above the rooms be shed, and work out what each step costs more at least.

    ``ends`` are the least costs at the steps' ends, if no room ended between: between whole steps
    the cost is never below the straight line to them, since it is the least of straight lines.
    """
    more = rules[SHED] * step
    for k in range(costs.shape[0]):
        if k > 0:
            costs[k] = min(costs[k], costs[k - 1] + more)
        rise[k] = min(more, max(ends[k] - costs[k], 0)) if costs[k] < FAR else 0


shed_and_rise = compiled(_shed_and_rise)


def _detours(rules: Array, road: Road, gap: int, before: int) -> Array:
    """Return by candidate of a gap by how much a way over another one is longer at least with it.

    With ``before``, also if it comes first. A way over two candidates is no shorter than the way
    over one, but for what rounding may hide.
    """
    near, first = road.near, road.offsets[gap]
    width = road.offsets[gap + 1] - first
    found = np.full(width, FAR, dtype=np.int64)
    for a in range(width):
        for b in range(width):
            if a != b:
                pair = road.pairs[road.pair_offsets[gap] + a * width + b, 0] * rules[DRIVE]
                after = pair + near[first + b, COUT] - near[first + a, COUT]
                found[b] = min(found[b], after)
                if before:
                    sooner = pair + near[first + a, CIN] - near[first + b, CIN]
                    found[a] = min(found[a], sooner)
    return found


detours = compiled(_detours)


def _second_costs(
    rules: Array,
    road: Road,
    offer: Offer,
    gap: int,
    bits: int,
    longer: Array,
    costs: Array,
    rise: Array,
) -> None:
    """Fill ``costs`` with the least cost to drop k steps at one more candidate of a gap.

    ``longer`` are the candidates' ``detours``.
    """
    near, step = road.near, step_of(rules)
    ends = np.full(costs.shape[0], FAR, dtype=np.int64)
    costs[:] = FAR
    for row in range(road.offsets[gap], road.offsets[gap + 1]):
        if (bits & ~near[row, ACCEPT]) == 0 and offer.room[row] > 0 and rules[TIPS] > 1:
            cost = near[row, FIX] + longer[row - road.offsets[gap]]
            alone(rules, offer, row, step, cost, costs, ends)
    costs[0] = 0
    shed_and_rise(rules, step, costs, ends, rise)


second_costs = compiled(_second_costs)


def _tip_costs(
    rules: Array, road: Road, offer: Offer, gap: int, bits: int, costs: Array, rise: Array
) -> None:
    """Fill ``costs`` with the least cost to pass a gap and drop k steps of load there, k from 0.

    ``rise`` is what the next step costs more at least, evenly.
    """
    near, first, steps = road.near, road.offsets[gap], costs.shape[0]
    width, two, step = road.offsets[gap + 1] - first, rules[TIPS] > 1, step_of(rules)
    ends, worth = np.full(steps, FAR, dtype=np.int64), np.empty(steps, dtype=np.int64)
    costs[:] = FAR
    more = np.empty((width if offer.toll_kg.shape[1] > 0 and two else 0, steps), dtype=np.int64)
    for a in range(more.shape[0]):
        steadily(offer, first + a, step, more[a])
    least_in, least_out, least_fix = np.int64(FAR), np.int64(FAR), np.int64(FAR)
    for row in range(first, first + width):
        if offer.room[row] >= 0 and (bits & ~near[row, ACCEPT]) == 0:
            cost = near[row, CIN] + near[row, COUT] + near[row, FIX] + near[row, LATER]
            alone(rules, offer, row, step, cost, costs, ends)
            least_in, least_out = min(least_in, near[row, CIN]), min(least_out, near[row, COUT])
            least_fix = min(least_fix, near[row, FIX])
    for a in range(width if two else 0):
        row = first + a
        if offer.room[row] < 0 or (bits & ~near[row, ACCEPT]) != 0:
            continue
        worth_both(offer.price[row], step, rules[SHED], costs, ends, worth)
        both = min(near[row, CIN] + least_out, least_in + near[row, COUT])
        if both + near[row, FIX] + least_fix < worth[steps - 1]:
            with_dearer(rules, road, offer, gap, bits, a, more, worth, costs, ends)
    shed_and_rise(rules, step, costs, ends, rise)


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
    Where a destination may be overfull, what is demanded may be more than there is room for.
    """
    near, first, steps = road.near, road.offsets[gap], costs.shape[0]
    step = step_of(rules)
    costs[:] = FAR
    short = offer.room[must] < (low if near[must, OVER] == 0 else 0)
    if short or (bits & ~near[must, ACCEPT]) != 0:
        return
    least, price, room = low // step, offer.price[must], offer.room[must] // step + 1
    alone = near[must, CIN] + near[must, COUT] + near[must, FIX] + near[must, LATER]
    demanded = (min(least, room) * price + max(least - room, 0) * rules[SHED]) * step
    for k in range(min(steps - 1, max(least, room)) + 1):
        costs[k] = alone + demanded + max(k - least, 0) * price * step
    for b in range(road.offsets[gap + 1] - first if rules[TIPS] > 1 else 0):
        other = first + b
        if other == must or offer.room[other] < 0 or (bits & ~near[other, ACCEPT]) != 0:
            continue
        both = by_both(rules, road, gap, must - first, b, FAR)
        theirs = offer.room[other] // step + 1
        for k in range(steps):
            more = max(k - least, 0)
            here = max(room - least, 0)
            there = min(more, theirs) if offer.price[other] < price else more - min(more, here)
            if there > theirs or more - there > here:
                break
            apart = (more - there) * price + there * offer.price[other]
            costs[k] = min(costs[k], both + demanded + apart * step)
    for k in range(1, steps):
        costs[k] = min(costs[k], costs[k - 1] + rules[SHED] * step)


must_costs = compiled(_must_costs)

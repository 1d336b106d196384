"""What a gap costs at least, against every amount at every candidate and at every two of them."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from service.planning.arrays.delays import late_on_time
from service.planning.arrays.inputs import (
    ACCEPT,
    CANDIDATE_COLUMNS,
    CIN,
    CLOSE,
    COUT,
    DEST,
    DRIVE,
    FIX,
    GRID,
    LATE_STEPS,
    NO_CAP,
    OVERTIME,
    PAYLOAD,
    SHED,
    SHIFT_END,
    START_S,
    TIN,
    TIP,
    TIPS,
    TOUT,
    UNTIL,
    Offer,
    Road,
)
from service.planning.labelling.gap_costs import tip_costs
from service.planning.labelling.load_steps import cost_of

RULES = 19
SOME = 1 << 40  # more than anything here costs


def directed_ways(chance, count):
    """Return metres or seconds between places, longer uphill, no way round shorter."""
    places, heights = chance.integers(0, 300, (count, 2)), chance.integers(0, 300, count)
    flat = np.abs(places[:, None] - places[None, :]).sum(axis=2)
    return flat + np.maximum(heights[None, :] - heights[:, None], 0)


def one_gap(chance):
    """Return the rules, the road and the offer of one gap with a few candidates."""
    count, payload = int(chance.integers(2, 7)), int(chance.integers(20, 110))
    rules = np.zeros(RULES, dtype=np.int64)
    rules[[PAYLOAD, TIPS, GRID]] = payload, 2, chance.choice([3, 5, 8])
    rules[[DRIVE, OVERTIME]] = chance.integers(0, 3), chance.choice([0, 5])
    rules[[SHIFT_END, SHED]] = chance.integers(0, 4000), chance.choice([20, 100, 100_000])
    metres, seconds = directed_ways(chance, count + 2), directed_ways(chance, count + 2)
    near = np.zeros((count, CANDIDATE_COLUMNS), dtype=np.int64)
    near[:, DEST], near[:, ACCEPT], near[:, CLOSE] = np.arange(count), 3, 10**6
    near[:, CIN], near[:, TIN] = metres[count, :count] * rules[DRIVE], seconds[count, :count]
    near[:, COUT] = metres[:count, count + 1] * rules[DRIVE]
    near[:, TOUT] = seconds[:count, count + 1]
    near[:, UNTIL] = -1
    near[:, FIX], near[:, TIP] = chance.integers(0, 300, count), chance.integers(0, 300, count)
    pairs = np.stack([metres[:count, :count], seconds[:count, :count]], axis=2).reshape(-1, 2)
    straight = (metres[count, count + 1] * rules[DRIVE], seconds[count, count + 1])
    road = Road(
        start=np.array([chance.integers(0, 3000), payload, 1, 3]),
        jobs=np.zeros((0, 6), dtype=np.int64),
        legs=np.array([straight]),
        offsets=np.array([0, count]),
        near=near,
        pair_offsets=np.array([0, count * count]),
        pairs=pairs.astype(np.int32),
        late=np.zeros((2, LATE_STEPS), dtype=np.int64),
        pace=np.zeros((1, 4), dtype=np.int64),
        until=np.zeros((0, 0), dtype=np.int64),
    )
    late_on_time(rules, road)
    return rules, road, an_offer(chance, count, payload)


def an_offer(chance, count, payload):
    """Return prices, rooms of which some are none, and tolls."""
    price, steps = chance.integers(0, 20, count), int(chance.integers(0, 3))
    toll_kg = np.sort(chance.integers(1, payload + 30, (count, steps)), axis=1)
    toll_kg[chance.random(count) < 0.4] = NO_CAP
    return Offer(
        price=price,
        beyond=price + 5,
        room=chance.integers(-1, payload + 30, count) * (chance.random(count) < 0.8),
        toll_kg=toll_kg,
        toll=np.cumsum(chance.integers(1, 2000, (count, steps)), axis=1),
    )


def at_one(rules, offer, row, payload):
    """Return what each amount costs at a candidate; what its room lacks is shed."""
    amounts = np.arange(payload + 1)
    cost = int(offer.price[row]) * amounts
    for step in range(offer.toll_kg.shape[1]):
        more = offer.toll[row, step] - (offer.toll[row, step - 1] if step else 0)
        cost = cost + more * (amounts >= offer.toll_kg[row, step])
    room = min(int(offer.room[row]), payload)
    return np.where(amounts <= room, cost, cost[room] + rules[SHED] * (amounts - room))


@pytest.mark.parametrize("number", range(80))
def test_no_amount_costs_less_than_the_gap_is_said_to(number):
    chance = np.random.default_rng(number)
    rules, road, offer = one_gap(chance)
    payload, count, near = int(rules[PAYLOAD]), len(road.near), road.near
    costs, rise = np.empty((2, rules[GRID] + 2), dtype=np.int64)
    tip_costs(rules, road, offer, 0, 1, costs, rise)
    there = {
        row: at_one(rules, offer, row, payload) for row in range(count) if offer.room[row] >= 0
    }
    least = np.full(payload + 1, SOME)
    over = road.start[START_S] + road.legs[0, 1] - rules[SHIFT_END]

    def later(seconds):
        return (max(over + max(seconds - road.legs[0, 1], 0), 0) - max(over, 0)) * rules[OVERTIME]

    for row, amounts in there.items():
        fixed = near[row, CIN] + near[row, COUT] + near[row, FIX]
        fixed += later(near[row, TIN] + near[row, TIP] + near[row, TOUT])
        least = np.minimum(least, fixed + amounts)
    for one, two in itertools.permutations(there, 2):
        metres, seconds = road.pairs[one * count + two]
        fixed = near[one, CIN] + int(metres) * rules[DRIVE] + near[two, COUT]
        fixed += near[one, FIX] + near[two, FIX]
        fixed += later(
            near[one, TIN] + near[one, TIP] + int(seconds) + near[two, TIP] + near[two, TOUT]
        )
        both = [(there[one][: kg + 1] + there[two][kg::-1]).min() for kg in range(payload + 1)]
        least = np.minimum(least, fixed + np.array(both))
    step = -(-payload // int(rules[GRID]))
    told = np.array([cost_of.py_func(costs, rise, kg, step) for kg in range(payload + 1)])
    assert (told <= least).all()
    assert not there or told[0] == least[0]

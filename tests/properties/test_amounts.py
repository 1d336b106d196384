"""Amounts of tips, chosen together for stops that are known."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from service.planning.arrays.inputs import KG
from service.planning.arrays.tables import UNITS_PER_CENT, tables_of
from service.planning.model.problem import Problem
from service.planning.search.lateness_prices import Market
from service.planning.search.tip_amounts import with_best_amounts
from service.planning.search.vehicle_bounds import labelled_least
from service.planning.tip_plans.columns import best_columns, true_cost
from service.planning.tip_plans.kept_tips import stands
from service.planning.tip_plans.shortlists import of_rows
from tests.bench.planning.days import day, small_day
from tests.properties.test_planning_bounds import DEAR, every_destination, random_tolls


def scarce_day(number, *, charged):
    """Return a day's tables and prices at which room is scarce, with tolls if they are charged."""
    problem = Problem.from_json(
        small_day(f"amounts-{number}", jobs=12, vehicles=3, beds=24, sites=3)
    )
    tables = tables_of(problem)
    chance = np.random.default_rng(number)
    count = len(problem.destinations)
    scarce = chance.integers(0, 20 * UNITS_PER_CENT, count) * chance.integers(0, 2, count)
    return tables, Market(
        prices=tables.destinations.fee + scarce,
        room=tables.destinations.capacity_kg,
        tolls=random_tolls(chance, count, 600) if charged else None,
    )


@pytest.mark.parametrize("charged", [False, True])
@pytest.mark.parametrize("number", range(6))
def test_amounts_chosen_together_are_legal_and_cost_no_more_than_those_of_the_labelling(
    number, charged
):
    tables, market = scarce_day(number, charged=charged)
    for vehicle in tables.vehicles:
        every = every_destination(tables, vehicle)
        least, relaxed = labelled_least(tables, vehicle, every, market, known=DEAR)
        for cost, tips in best_columns(
            tables,
            vehicle,
            every,
            prices=market.prices,
            room=market.room,
            results=5,
            tolls=market.tolls,
        ):
            if any(kg > market.room[place] for _, place, kg in tips):
                continue  # overflow is not for these amounts
            found = with_best_amounts(tables, vehicle, tips, market)
            assert found is not None
            assert least <= found[0] <= cost
        found = with_best_amounts(tables, vehicle, relaxed, market)
        if found is None:
            continue
        reduced, tips = found
        assert stands(tables, vehicle, tips)
        assert [tip[:2] for tip in tips] == [tip[:2] for tip in relaxed]
        used = np.zeros(len(market.room), dtype=np.int64)
        for _, place, kg in tips:
            used[place] += kg
        assert (used <= market.room).all()
        extra = sum(
            int(market.prices[place] - tables.destinations.fee[place]) * kg
            + (0 if market.tolls is None else market.tolls.on(place, kg))
            for _, place, kg in tips
        )
        assert least <= reduced == true_cost(tables, vehicle, tips) + extra


def one_vehicle(cents_by_place):
    """Return a vehicle of 1,000 kg with seven lots, and a market of ample room at these prices.

    It loads 540, 340, 120, 290, 120, 180 and 100 kg; before the fourth lot it is full.
    """
    tables = tables_of(Problem.from_json(day("M", 2)))
    prices = tables.destinations.fee.copy()
    for place, cents in cents_by_place.items():
        prices[place] = cents * UNITS_PER_CENT
    room = np.full(len(prices), 10_000)
    return tables, tables.vehicles[21], Market(prices=prices, room=room)


@pytest.mark.parametrize(
    ("told", "cents", "chosen"),
    [
        # no more goes at the dear bed than must be gone for later lots
        (((3, 13, 300), (7, 116, 1390)), {13: 9, 116: 1}, ((3, 13, 690), (7, 116, 1000))),
        # a part is 30 kg at least
        (
            ((3, 13, 300), (4, 52, 300), (7, 116, 1090)),
            {13: 5, 52: 9, 116: 1},
            ((3, 13, 660), (4, 52, 30), (7, 116, 1000)),
        ),
        # a part is not everything
        (((3, 13, 300), (7, 116, 1390)), {13: 1, 116: 9}, ((3, 13, 999), (7, 116, 691))),
        # where all was gone all goes
        (
            ((3, 13, 400), (3, 52, 600), (7, 116, 690)),
            {13: 5, 52: 1, 116: 1},
            ((3, 13, 30), (3, 52, 970), (7, 116, 690)),
        ),
    ],
)
def test_amounts_keep_to_what_is_aboard_and_what_a_vehicle_carries(told, cents, chosen):
    tables, vehicle, market = one_vehicle(cents)
    assert vehicle.jobs[:, KG].tolist() == [540, 340, 120, 290, 120, 180, 100]
    assert with_best_amounts(tables, vehicle, told, market)[1] == chosen


def test_no_amounts_are_given_where_none_are_legal():
    tables, vehicle, market = one_vehicle({13: 9, 116: 1})
    # what is aboard after the first lot is less than what must be gone
    assert with_best_amounts(tables, vehicle, ((1, 13, 300), (7, 116, 1390)), market) is None
    told = ((3, 13, 300), (7, 116, 1390))
    locked = replace(vehicle, locks=np.array([[3, 13, 700]]))
    assert with_best_amounts(tables, locked, told, market) is None
    shut = replace(tables.destinations, close_s=np.zeros_like(tables.destinations.close_s))
    closed = replace(tables, destinations=shut)
    assert with_best_amounts(closed, vehicle, told, market) is None
    full = Market(prices=market.prices, room=np.full(len(market.room), -1))
    assert with_best_amounts(tables, vehicle, told, full) is None


def test_three_parts_of_one_load_come_out_as_cheap_as_their_bound():
    # a vehicle of 1,000 kg that stops at four beds: three tips in a row leave a part
    # aboard, and only with all of the dearest one's room but 40 kg is everything gone
    tables = tables_of(Problem.from_json(day("M", 2)))
    vehicle = tables.vehicles[21]
    stops = {3: [13], 4: [52], 7: [49, 116]}
    rows = [np.array(stops.get(gap, []), dtype=np.int64) for gap in range(8)]
    listed = of_rows(tables, vehicle, rows, 14)
    prices = tables.destinations.fee.copy()
    for place, cents in ((13, 1.48), (52, 0.0), (49, 0.01), (116, 0.3)):
        prices[place] += round(cents * UNITS_PER_CENT)
    market = Market(prices=prices, room=tables.destinations.capacity_kg)
    assert [int(market.room[place]) for place in (13, 52, 49, 116)] == [590, 340, 270, 530]
    least, relaxed = labelled_least(tables, vehicle, listed, market, known=DEAR)
    (cost, _), *_ = best_columns(tables, vehicle, listed, prices=prices, room=market.room)
    reduced, tips = with_best_amounts(tables, vehicle, relaxed, market)
    assert least == reduced < cost
    assert tips == ((3, 13, 550), (4, 52, 340), (7, 49, 270), (7, 116, 530))


def test_no_amounts_are_chosen_where_stops_are_none_or_take_what_nobody_does():
    tables, market = scarce_day(0, charged=False)
    assert with_best_amounts(tables, tables.vehicles[0], (), market) is None
    assert with_best_amounts(tables, tables.vehicles[0], ((0, -1, 10),), market) is None

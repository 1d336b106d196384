"""Bounds that must not lie above the truth: of one vehicle, of a node, of a whole day."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from service.planning.arrays.inputs import NO_CAP
from service.planning.arrays.tables import UNITS_PER_CENT, tables_of
from service.planning.checker.check import check_plan
from service.planning.model.problem import Problem
from service.planning.model.stop_rule import StopRule
from service.planning.search import vehicle_bounds as leasts
from service.planning.search.branching_demands import demanded, halves_of, merged, obeys
from service.planning.search.construction import Fleet
from service.planning.search.lateness_prices import Market, as_before, foreseen, root_of
from service.planning.search.vehicle_bounds import Case, labelled_least, least_reduced
from service.planning.search.whole_search import ALONE
from service.planning.solve import solve
from service.planning.tip_plans.capacity_cuts import (
    EVEN,
    Tolls,
    even,
    uneven,
    violated,
    within_overflow,
)
from service.planning.tip_plans.columns import Column, best_columns, true_cost
from service.planning.tip_plans.shortlists import of_rows, shortlist
from service.planning.warm import one_job
from tests.bench.planning.days import day, small_day
from tests.properties.test_planning_truth import tiny
from tests.unit.planning.exhaustive import days_of

DEAR = 1 << 60
PAIRS = leasts.PAIRS


def every_destination(tables, vehicle):
    every = np.arange(len(vehicle.accepts))
    return of_rows(tables, vehicle, [every] * (len(vehicle.points) - 1), 14)


def toll_on(tolls, number, kg):
    """Return the toll on a tip [units]."""
    place = int(np.searchsorted(tolls.kg[number], kg, side="right"))
    return int(tolls.cost[number, place - 1]) if place else 0


def random_tolls(chance, count, most_kg):
    """Return tolls from up to four random amounts on, at most destinations."""
    kg = np.sort(chance.integers(31, most_kg, (count, 4)), axis=1)
    kg[chance.random((count, 4)) < 0.3] = NO_CAP
    cost = np.cumsum(chance.integers(1, 400 * UNITS_PER_CENT, (count, 4)), axis=1)
    kg.sort(axis=1)
    return Tolls(kg=kg, cost=cost, relief=np.zeros(count, dtype=np.int64))


@pytest.mark.parametrize("pairs", [PAIRS, 200, 30])
@pytest.mark.parametrize("charged", [False, True])
@pytest.mark.parametrize("number", range(12))
def test_destinations_that_a_bound_leaves_out_would_not_have_lowered_it(
    number, charged, pairs, monkeypatch
):
    monkeypatch.setattr(leasts, "PAIRS", pairs)
    problem = Problem.from_json(small_day(f"reach-{number}", jobs=12, vehicles=3, beds=24, sites=3))
    tables = tables_of(problem)
    chance = np.random.default_rng(number)
    count = len(problem.destinations)
    scarce = chance.integers(0, 2500 * 60, count) * chance.integers(0, 2, count)
    market = Market(
        prices=tables.destinations.fee + scarce,
        room=tables.destinations.capacity_kg,
        tolls=random_tolls(chance, count, 600) if charged else None,
    )
    fleet = Fleet.of(tables, count=14)
    for vehicle in tables.vehicles:
        every = every_destination(tables, vehicle)
        truth, _ = labelled_least(tables, vehicle, every, market, known=DEAR)
        few = shortlist(tables, vehicle, market.prices, worth=360_000, count=1)
        cost, tips = best_columns(
            tables,
            vehicle,
            fleet.lists[vehicle.index],
            prices=market.prices,
            room=market.room,
            tolls=market.tolls,
        )[0]
        known = int(cost * (1 + chance.random() / (4 if charged else 1)))
        case = Case(
            tables=tables,
            vehicle=vehicle,
            listed=few,
            market=market,
            column=Column(vehicle=vehicle.index, cost=cost, tips=tips),
            known=known,
        )
        least, looked_at = least_reduced(case, ceiling=known)
        if pairs == PAIRS:
            assert least == min(truth, known)
        else:  # what there was no room for is bounded all the same, and never too high
            assert least <= min(truth, known)
            assert (np.diff(looked_at.wide.road.offsets) ** 2).sum() <= 400


@pytest.mark.parametrize("number", range(6))
@pytest.mark.parametrize("low", [100, 250])
def test_a_vehicle_asked_to_tip_somewhere_is_bounded_by_its_cheapest_day_that_does(number, low):
    problem = tiny(number)
    tables = tables_of(problem)
    room = np.full(len(problem.destinations), 10_000)
    market = Market(prices=tables.destinations.fee, room=room)
    checked = 0
    for vehicle, record in zip(tables.vehicles, problem.vehicles, strict=True):
        every = every_destination(tables, vehicle)
        free, _ = labelled_least(tables, vehicle, every, market, known=DEAR)
        days = days_of(problem, record, 50, again=False)
        for place, destination in enumerate(problem.destinations):
            asked = demanded(every, vehicle.index, (((vehicle.index, place), low, NO_CAP),))
            least, _ = labelled_least(tables, vehicle, asked, market, known=DEAR)
            assert least >= free
            truth = min(
                (cost for use, cost in days.items() if dict(use).get(destination.id, 0) >= low),
                default=Fraction(DEAR),
            )
            assert least <= truth * UNITS_PER_CENT
            forbidden = demanded(every, vehicle.index, (((vehicle.index, place), 0, 0),))
            least, _ = labelled_least(tables, vehicle, forbidden, market, known=DEAR)
            without = min(cost for use, cost in days.items() if destination.id not in dict(use))
            assert free <= least <= without * UNITS_PER_CENT
            checked += 1
    assert checked


def alone(day_of_one):
    """Return the only vehicle of a day, which leaves nothing, with every destination at its fee."""
    tables = tables_of(Problem.from_json(day_of_one))
    vehicle, destinations = replace(tables.vehicles[0], may_leave=False), tables.destinations
    market = Market(prices=destinations.fee, room=destinations.capacity_kg)
    return tables, vehicle, every_destination(tables, vehicle), market


def cheapest_day(tables, vehicle, every, market):
    return best_columns(tables, vehicle, every, prices=market.prices, room=market.room, results=1)[
        0
    ]


def test_a_bound_loses_nothing_to_loads_while_no_part_of_them_is_tipped():
    day_of_odd_loads = one_job()
    job, (first, *_) = day_of_odd_loads["jobs"][0], day_of_odd_loads["destinations"]
    day_of_odd_loads["jobs"] = [
        {**job, "id": f"J{kg}", "mass_kg": kg} for kg in (37, 101, 53, 89, 71, 113, 97)
    ]
    day_of_odd_loads["vehicles"][0]["jobs"] = [job["id"] for job in day_of_odd_loads["jobs"]]
    day_of_odd_loads["destinations"] = [
        {**first, "capacity_kg": 1000, "fee_cents_per_t": 30_000, "stop_cents": 5_000}
    ]
    tables, vehicle, every, market = alone(day_of_odd_loads)
    cost, tips = cheapest_day(tables, vehicle, every, market)
    assert sum(kg for _, _, kg in tips) == 37 + 101 + 53 + 89 + 71 + 113 + 97
    assert cost - UNITS_PER_CENT < root_of(tables, vehicle, every, market) <= cost


def test_what_was_tipped_before_makes_no_room_for_the_litres_of_later_lots():
    # Places to tip are at the first jobs; the two lots after them do not fit in the body together.
    bulky = one_job()
    lots = (
        ("J1", "there", 430, 2124),
        ("J2", "there", 350, 930),
        ("J3", "beyond", 440, 2371),
        ("J4", "beyond", 240, 1184),
    )
    bulky["places"] = [*bulky["places"], {"id": "beyond", "x_m": 20_000, "y_m": 0}]
    bulky["vehicles"] = [
        {**bulky["vehicles"][0], "body_l": 3000, "jobs": [name for name, *_ in lots]}
    ]
    bulky["jobs"] = [
        {**bulky["jobs"][0], "id": name, "place": place, "mass_kg": kg, "volume_l": litres}
        for name, place, kg, litres in lots
    ]
    bulky["destinations"] = [
        {**bulky["destinations"][1], "id": name, "place": place, "capacity_kg": kg}
        for name, place, kg in (
            ("bed", "there", 400),
            ("next", "there", 740),
            ("yard", "here", 5000),
        )
    ]
    tables, vehicle, every, market = alone(bulky)
    cost, tips = cheapest_day(tables, vehicle, every, market)
    assert 3 in [gap for gap, _, _ in tips]
    least, _ = labelled_least(tables, vehicle, every, market, known=cost)
    assert least == cost


@pytest.mark.parametrize("number", range(12))
def test_a_vehicle_that_pays_tolls_is_bounded_by_its_cheapest_day(number):
    problem = tiny(number)
    tables = tables_of(problem)
    chance = np.random.default_rng(number)
    count = len(problem.destinations)
    scarce = chance.integers(0, 5 * UNITS_PER_CENT, count)
    tolls = random_tolls(chance, count, 400)
    market = Market(
        prices=tables.destinations.fee + scarce, room=np.full(count, 10_000), tolls=tolls
    )
    places = {destination.id: place for place, destination in enumerate(problem.destinations)}
    for vehicle, record in zip(tables.vehicles, problem.vehicles, strict=True):
        every = every_destination(tables, vehicle)
        least, _ = labelled_least(tables, vehicle, every, market, known=DEAR)
        assert root_of(tables, vehicle, every, market) <= least
        truth = min(
            cost * UNITS_PER_CENT
            + sum(int(scarce[places[d]]) * kg + toll_on(tolls, places[d], kg) for d, kg in use)
            for use, cost in days_of(problem, record, 50, again=False).items()
        )
        assert least <= truth
        red, tips = best_columns(
            tables, vehicle, every, prices=market.prices, room=market.room, tolls=tolls
        )[0]
        assert least <= red
        paid = sum(int(scarce[d]) * kg + toll_on(tolls, d, kg) for _, d, kg in tips)
        assert red == true_cost(tables, vehicle, tips) + paid


def test_tips_that_fit_together_keep_to_every_cut_and_others_overfill_by_what_it_says():
    chance = random.Random(5)  # noqa: S311 - repeatable, no secret
    seen = 0
    for _ in range(4_000):
        room = chance.randrange(20, 800)
        tips = [chance.randrange(1, room + 1) for _ in range(chance.randrange(1, 9))]
        over = max(0, sum(tips) - room)
        cuts = [even(0, room, most) for most in EVEN]
        for cut in [*cuts, *(uneven(0, room, kg) for kg in tips)]:
            if cut is None:
                continue
            excess = sum(cut.points(kg) for kg in tips) - cut.most
            assert excess <= 0 or over >= excess * cut.spare_kg
            seen += excess > 0
    assert seen > 1_000


def test_a_half_and_half_mixture_of_large_tips_breaks_a_cut_and_a_whole_one_does_not():
    room = np.array([600, 600])
    mixed = [(0, 590, 0.5), (0, 580, 0.5), (1, 600, 1.0)]
    assert violated(room, mixed, set(), 0.01) == []
    crowded = [(0, 590, 0.5), (0, 400, 0.5), (0, 350, 0.5)]
    found = violated(room, crowded, set(), 0.01)
    assert [cut.number for cut in found] == [0]
    assert violated(room, crowded, set(found), 0.5) == []


def test_overflow_still_costs_something_beside_the_dearest_cuts():
    cuts = [even(0, 600, 1), even(0, 600, 2), even(1, 300, 1)]
    prices, overflow = np.array([50_000, 0]), 100_000
    scaled = within_overflow(cuts, np.array([900_000, 900_000, 10]), prices, overflow)
    tolls = Tolls.of(cuts, scaled, 2)
    assert (prices + tolls.relief <= overflow).all()
    assert scaled[2] == 10


@pytest.mark.parametrize("number", range(4))
def test_pricing_lateness_never_bounds_a_late_day_above_its_cost(number):
    document = small_day(f"late-{number}", jobs=12, vehicles=2, beds=6, sites=2)
    for job in document["jobs"]:
        job["window_s"][1] = max(job["window_s"][0], job["window_s"][1] - 4200)
    problem = Problem.from_json(document)
    tables = tables_of(problem)
    market = Market(prices=tables.destinations.fee, room=tables.destinations.capacity_kg)
    for vehicle in tables.vehicles:
        every = every_destination(tables, vehicle)
        priced = foreseen(tables, vehicle, every, market)
        plain, _ = labelled_least(tables, vehicle, every, market, known=DEAR)
        least, _ = labelled_least(tables, vehicle, priced, market, known=DEAR)
        assert least == plain


@pytest.mark.parametrize("number", range(6))
def test_no_price_of_a_late_second_hides_a_plan_from_a_bound(number):
    # far from late, lateness at a price is worth much: what is pruned must count that, too
    problem = Problem.from_json(small_day(f"early-{number}", jobs=8, vehicles=2, beds=6, sites=2))
    tables = tables_of(problem)
    market = Market(prices=tables.destinations.fee, room=tables.destinations.capacity_kg)
    chance = np.random.default_rng(number)
    full = np.array([*[tables.late] * 4, tables.overtime], dtype=np.int64)
    for vehicle in tables.vehicles:
        every = every_destination(tables, vehicle)
        plain, _ = labelled_least(tables, vehicle, every, market, known=DEAR)
        for _ in range(4):
            prices = full * chance.integers(0, 5, len(full)) // 4
            priced = as_before(tables, vehicle, every_destination(tables, vehicle), prices)
            least, _ = labelled_least(tables, vehicle, priced, market, known=plain + 1)
            assert least <= plain


def test_every_tip_plan_does_as_exactly_one_half_of_a_node_demands():
    chance = random.Random(3)  # noqa: S311 - repeatable, no secret
    for _ in range(200):
        plans = [
            Column(
                vehicle=1,
                cost=1,
                tips=tuple(
                    (gap, chance.randrange(3), chance.randrange(30, 500)) for gap in range(3)
                ),
            )
            for _ in range(4)
        ]
        weights = [chance.random() for _ in plans]
        total = sum(weights)
        halves = halves_of(zip(plans, [w / total for w in weights], strict=True))
        assert halves is not None
        more, less = ((half,) for half in halves)
        assert all(obeys(plan, more) != obeys(plan, less) for plan in plans)
        # and so the mixture itself lies in neither half
        assert {obeys(plan, more) for plan in plans} == {True, False}
        assert merged(more, halves[1])[0][1] > merged(more, halves[1])[0][2]


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5])
def test_a_day_of_few_vehicles_is_proven_within_three_per_mille(seed):
    problem = Problem.from_json(day("S", seed))
    plan = solve(problem, explain=False)
    assert check_plan(problem, plan) == []
    assert plan.bound_proven
    assert plan.gap_permille <= 3.0


@pytest.mark.parametrize("number", range(3))
def test_a_bound_with_cuts_is_no_more_than_the_best_plan_known(number):
    problem = Problem.from_json(
        small_day(f"cuts-{number}", jobs=40, vehicles=ALONE + 3, beds=12, sites=2)
    )
    rough = solve(problem, stop=StopRule(gap_permille=0.0, rounds=6), explain=False)
    patient = solve(problem, stop=StopRule(gap_permille=0.0, rounds=150), seed=9, explain=False)
    for plan in (rough, patient):
        assert check_plan(problem, plan) == []
        assert plan.bound_proven, plan.bound_note  # a bound above its own plan would not be
        assert plan.bound_cents <= min(rough.cost_cents.total, patient.cost_cents.total)

"""The choice of one whole tip plan a vehicle, held against every choice there is."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from service.planning.arrays.tables import UNITS_PER_CENT, tables_of
from service.planning.model.problem import Problem
from service.planning.search.master import Master
from service.planning.tip_plans.columns import Column
from tests.bench.planning.days import small_day


@pytest.mark.parametrize("number", range(20))
def test_the_best_whole_choice_is_found_wherever_the_search_starts(number):
    # a release of the solver took the choice it started from for the best one, at a wrong cost
    problem = small_day(f"whole-{number}", jobs=12, vehicles=4, beds=3, sites=1)
    tables = tables_of(Problem.from_json(problem))
    chance = np.random.default_rng(number)
    some = np.flatnonzero(tables.destinations.may_overflow)[:4].tolist()
    roomy = np.full(len(tables.destinations.place), 1_000_000)
    for _ in range(25):
        room = roomy.copy()
        room[some] = [int(chance.integers(5, 31)) for _ in some]
        vehicles = list(range(chance.integers(1, 5)))
        master = Master(tables, room=room, vehicles=vehicles)
        of_vehicle: list[list[Column]] = []
        for vehicle in vehicles:
            of_vehicle.append([])
            for _ in range(chance.integers(2, 7)):
                tips = tuple(
                    (0, d, int(chance.integers(1, 21))) for d in some if chance.random() < 0.5
                )
                cost = int(chance.integers(10, 2_001)) * UNITS_PER_CENT
                column = Column(vehicle=vehicle, cost=cost, tips=tips)
                if master.add(column):
                    of_vehicle[-1].append(column)
        start = [columns[chance.integers(len(columns))] for columns in of_vehicle]
        chosen = master.whole(1000, start)
        assert chosen is not None
        least = min(master.worth(list(choice)) for choice in itertools.product(*of_vehicle))
        assert master.worth(chosen) <= least * 1.0001


def test_columns_shut_in_any_order_and_twice_are_open_again():
    # the solver refuses unsorted or doubled numbers without a word
    tables = tables_of(Problem.from_json(small_day("shut", jobs=3, vehicles=1, beds=2, sites=1)))
    room = np.full(len(tables.destinations.place), 1_000_000)
    master = Master(tables, room=room, vehicles=[0])
    master.add_all(
        Column(vehicle=0, cost=cost * UNITS_PER_CENT, tips=((0, 0, cost),))
        for cost in (30, 40, 10, 20)
    )
    assert master.solve().cents == pytest.approx(10)
    master.close([3, 2, 2])
    assert master.solve().cents == pytest.approx(30)
    assert master.cheapest(np.zeros_like(room), shut=[3, 2, 2])[0][0] == 30 * UNITS_PER_CENT
    master.reopen([2, 3, 2])
    assert master.solve().cents == pytest.approx(10)

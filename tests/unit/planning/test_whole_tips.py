"""Of plans that cost the same a crew gets the one that empties its body at every tip.

Six lots fill the bay but for a rest: every way to spread that rest over the tips costs the same.
"""

import pytest

from service.planning.checker.check import check_plan
from service.planning.events.live_day import LiveDay
from service.planning.model.problem import Problem
from tests.unit.planning.plain_days import bay, document, lot
from tests.unit.planning.test_until import solved

LOT_KG, LOTS = 700, 6


def a_day(room_kg):
    lots = [lot(f"J{number}", LOT_KG) for number in range(LOTS)]
    return document(lots, [bay(room_kg, may_overflow=False)])


def tipped_kg(plan):
    (vehicle,) = plan.vehicles
    return [stop.mass_kg for stop in vehicle.stops if stop.destination is not None]


@pytest.mark.parametrize("room_kg", [4150, 3900])
def test_a_rest_that_finds_no_room_stays_of_the_last_lot(room_kg):
    plan = solved(a_day(room_kg))
    assert check_plan(Problem.from_json(a_day(room_kg)), plan) == []
    *whole, last = tipped_kg(plan)
    assert whole == [LOT_KG] * (LOTS - 1)
    assert last == room_kg - sum(whole)


def test_what_is_planned_again_during_the_day_empties_the_body_too():
    roomy = solved(a_day(5000))
    tight = Problem.from_json(a_day(3900))
    live = LiveDay.of(tight, roomy, why="less_room")
    *whole, _ = tipped_kg(live.plan)
    assert whole == [LOT_KG] * (LOTS - 1)

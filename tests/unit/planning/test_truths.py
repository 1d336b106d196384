"""What the planner calls the best plan of a day that can be worked out on paper is the best."""

from __future__ import annotations

from service.planning.checker.check import check_plan
from service.planning.model.problem import Problem
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.solve import solve
from tests.unit.planning.plain_days import bay, bed, lot, plain_day


def solved(problem: Problem) -> Plan:
    plan = solve(problem, stop=StopRule(gap_permille=0.0), explain=False)
    assert check_plan(problem, plan) == []
    return plan


def tips(plan: Plan) -> list[tuple[str, int]]:
    return [
        (stop.destination, stop.mass_kg)
        for answer in plan.vehicles
        for stop in answer.stops
        if stop.destination is not None
    ]


def test_a_part_may_be_tipped_where_room_is_below_the_smallest_tip_if_that_may_overflow():
    # 7.8 km 9.36; 30 kg to the bed, 10 beyond its room, 3.00 + 20.00; 20 kg to the bay 2.00 + 5.00
    plan = solved(plain_day([lot("J1", 50)], [bed(20), bay(20)]))
    assert plan.cost_cents.total == 936 + 300 + 2000 + 200 + 500
    assert tips(plan) == [("B", 30), ("H", 20)]
    assert plan.work.ended_by == "optimal"


def test_where_a_bed_may_not_overflow_no_part_above_its_room_is_tipped():
    # to the yard and back to the bed, 11.7 km 14.04; 2.00 and 3.00; 30 kg to the bay 7.50, 10 of
    # them beyond its room 20.00
    plan = solved(plain_day([lot("J1", 50)], [bed(20, may_overflow=False), bay(20)]))
    assert plan.cost_cents.total == 1404 + 500 + 750 + 2000
    assert tips(plan) == [("H", 30), ("B", 20)]


def test_more_may_be_locked_than_a_bed_has_room_for_if_it_may_overflow():
    # 7.8 km 9.36; 150 kg to the bed, 50 beyond its room, 3.00 + 100.00; 250 kg 2.00 + 62.50
    lock = {"after_job": "J1", "destination": "B", "mass_kg": 150}
    plan = solved(plain_day([lot("J1", 400)], [bed(100), bay(5000)], [lock]))
    assert plan.cost_cents.total == 936 + 300 + 10000 + 200 + 6250
    assert tips(plan) == [("B", 150), ("H", 250)]
    assert plan.work.ended_by == "optimal"


def test_a_day_on_which_overflow_and_lateness_cost_nothing_is_planned_without_a_warning(recwarn):
    day = plain_day(
        [lot("J1", 50, window_s=[0, 0])],
        [bed(20), bay(20)],
        overflow_cents_per_kg=0,
        late_cents_per_min=0,
        unplaced_cents_per_kg=100,
    )
    plan = solved(day)
    assert plan.cost_cents.total == 936 + 300
    assert tips(plan) == [("B", 50)]
    assert not recwarn.list

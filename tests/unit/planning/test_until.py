"""A destination may take a status for a part of the day only: no tip with it begins later."""

from dataclasses import replace

import pytest

from service.planning.checker.check import check_plan
from service.planning.model.faults import ProblemNotUsable
from service.planning.model.problem import Problem
from service.planning.model.stop_rule import StopRule
from service.planning.solve import solve
from tests.unit.planning.plain_days import MORNING_S, bay, bed, document, lot

# 3 km at 633 m/min with a detour of 1.3 are 370 s; the lot takes 1800 s; 1.5 km back 185 s.
REACHED_S = MORNING_S + 370 + 1800 + 185


def solved(day):
    return solve(Problem.from_json(day), stop=StopRule(gap_permille=0.0, rounds=40), explain=False)


def tips(plan):
    return [
        (stop.destination, stop.arrive_s)
        for vehicle in plan.vehicles
        for stop in vehicle.stops
        if stop.destination is not None
    ]


def a_day(until_s, **other):
    there = bed(1000, accepts_until_s={"clean": until_s}, **other)
    return document([lot("J1", 100)], [there, bay(5000)])


def test_a_tip_may_begin_in_the_last_second_and_not_after_it():
    assert tips(solved(a_day(REACHED_S))) == [("B", REACHED_S)]
    ((destination, _),) = tips(solved(a_day(REACHED_S - 1)))
    assert destination == "H"


def test_a_tip_that_waits_for_the_gate_begins_when_it_opens():
    opens_s = REACHED_S + 600
    assert tips(solved(a_day(opens_s, open_s=opens_s))) == [("B", REACHED_S)]
    ((destination, _),) = tips(solved(a_day(opens_s - 1, open_s=opens_s)))
    assert destination == "H"


def test_a_mixture_is_taken_until_the_first_of_its_ends():
    day = a_day(REACHED_S - 1)
    day["jobs"][0]["status"] = "weedy"
    assert tips(solved(day)) == [("B", REACHED_S)]
    both = document([day["jobs"][0], lot("J2", 100)], day["destinations"])
    plan = solved(both)
    assert check_plan(Problem.from_json(both), plan) == []
    on_the_bed = [s.statuses for s in plan.vehicles[0].stops if s.destination == "B"]
    assert all(statuses == ("weedy",) for statuses in on_the_bed)


def test_the_checker_names_a_tip_that_comes_too_late():
    plan = solved(a_day(REACHED_S))
    problem = Problem.from_json(a_day(REACHED_S - 1))
    (fault,) = [one for one in check_plan(problem, plan) if "until" in str(one)]
    assert "B takes clean until" in str(fault)


def test_a_lock_that_comes_too_late_is_no_plan():
    day = a_day(REACHED_S - 1)
    day["vehicles"][0]["locked"] = [{"after_job": "J1", "destination": "B"}]
    with pytest.raises(Exception, match="lock"):
        solved(day)


def test_a_time_that_is_none_and_a_status_that_is_unknown_are_named():
    day = a_day(-1)
    day["destinations"][0]["accepts_until_s"]["green"] = 5
    with pytest.raises(ProblemNotUsable) as refused:
        Problem.from_json(day)
    pointers = {fault.pointer for fault in refused.value.faults}
    assert pointers == {
        "/destinations/0/accepts_until_s/clean",
        "/destinations/0/accepts_until_s/green",
    }


def test_a_place_that_always_takes_all_is_as_one_without_the_field():
    plain = Problem.from_json(document([lot("J1", 100)], [bed(1000), bay(5000)]))
    timed = Problem.from_json(a_day(172_800))
    assert solve(plain, explain=False).cost_cents == solve(timed, explain=False).cost_cents
    assert plain == replace(
        timed,
        destinations=tuple(replace(d, accepts_until_s=()) for d in timed.destinations),
    )

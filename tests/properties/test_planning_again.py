"""A vehicle planned again: no cheaper than the patient search says, legal, and within its limit."""

from __future__ import annotations

import pytest

from service.planning.arrays.tables import tables_of
from service.planning.explain import explanation as explain
from service.planning.explain.one_vehicle import Again, labels_allowed
from service.planning.model.problem import Problem
from service.planning.model.stop_rule import StopRule
from service.planning.search.construction import Fleet
from service.planning.solve import solve
from service.planning.tip_plans.columns import best_columns, overdrawn, true_cost
from tests.bench.planning.days import day, small_day

FIRST = StopRule(first=True)


@pytest.mark.parametrize("number", range(4))
def test_a_vehicle_planned_again_is_as_good_as_the_patient_search_and_overfills_nothing_twice(
    number,
):
    document = small_day(f"again-{number}", jobs=12, vehicles=3, beds=8, sites=2)
    tables = tables_of(Problem.from_json(document))
    fleet, room = Fleet.of(tables, count=14), tables.destinations.capacity_kg // 2
    for vehicle, listed in zip(tables.vehicles, fleet.lists, strict=True):
        (patient, _), *_ = best_columns(
            tables, vehicle, listed, prices=tables.destinations.fee, room=room
        )
        planner = Again(vehicle=vehicle, beam=400, thorough=True)
        cost, tips = planner.best(tables, listed, room=room, cutoff=patient)
        assert cost == patient
        assert overdrawn(tips, room, []) == []
        assert true_cost(tables, vehicle, tips) <= cost
        assert planner.best(tables, listed, room=room, cutoff=patient - 1) is None
        assert planner.labels > 0
        assert (listed.road.near == fleet.lists[vehicle.index].road.near).all()


def test_a_runner_up_that_was_not_looked_for_is_not_told(monkeypatch):
    problem = Problem.from_json(day("S", 2))
    monkeypatch.setattr(explain, "labels_allowed", lambda _: 0)
    plan = solve(problem, stop=FIRST)
    tips = [stop for v in plan.vehicles for stop in v.stops if stop.destination is not None]
    assert tips
    assert all(tip.runner_up is None for tip in tips)
    assert all(tip.reason.endswith("next best not looked for") for tip in tips)


def test_a_crew_more_never_lowers_what_the_questions_may_cost():
    allowed = [labels_allowed(vehicles) for vehicles in range(200)]
    assert allowed == sorted(allowed)
    assert allowed[0] == 0

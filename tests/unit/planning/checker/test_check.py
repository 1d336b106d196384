"""The judge must find each broken rule, in plans that are right but for it."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from service.planning.checker.check import check_plan
from service.planning.model.problem import Problem
from service.planning.model.result import Plan
from service.planning.solve import solve


def a_day(**changes: Any) -> dict[str, Any]:
    document: dict[str, Any] = {
        "format": 1,
        "name": "one crew",
        "costs": {
            "drive_cents_per_km": 100,
            "late_cents_per_min": 60,
            "overtime_cents_per_min": 60,
            "overflow_cents_per_kg": 200,
            "speed_m_per_min": 600,
            "detour_permille": 1000,
            "minimum_tip_kg": 30,
            "tips_between_jobs": 2,
        },
        "statuses": ["clean", "unknown"],
        "places": [
            {"id": "yard", "x_m": 0, "y_m": 0},
            {"id": "lawn", "x_m": 3000, "y_m": 4000},
            {"id": "bed", "x_m": 3000, "y_m": 0},
        ],
        "vehicles": [
            {
                "id": "V1",
                "start_place": "yard",
                "end_place": "yard",
                "shift_start_s": 25200,
                "shift_end_s": 63000,
                "payload_kg": 1000,
                "body_l": 4000,
                "jobs": ["J1"],
                "aboard": [],
                "done": [],
            }
        ],
        "jobs": [
            {
                "id": "J1",
                "place": "lawn",
                "mass_kg": 200,
                "volume_l": 800,
                "status": "clean",
                "service_s": 1800,
                "window_s": [25200, 36000],
            }
        ],
        "destinations": [
            {
                "id": "D1",
                "kind": "bed",
                "place": "bed",
                "capacity_kg": 300,
                "fee_cents_per_t": 0,
                "accepts": ["clean"],
                "tip_s": 480,
                "stop_cents": 300,
                "open_s": 0,
                "close_s": 86400,
            }
        ],
    }
    document.update(changes)
    return document


@pytest.fixture
def solved() -> tuple[Problem, Plan]:
    problem = Problem.from_json(a_day())
    return problem, solve(problem)


def test_a_plan_worked_out_by_hand_is_right_to_the_cent(solved):
    problem, plan = solved
    # Yard to lawn 5,000 m (a 3-4-5 triangle), lawn to bed 4,000 m, bed to yard 3,000 m: 12 km at
    # 1.00 a km, and one stop at 3.00. At 600 m/min the lawn is reached 500 s after 25,200 s.
    assert check_plan(problem, plan) == []
    assert plan.cost_cents.drive == 1200
    assert plan.cost_cents.stops == 300
    assert plan.cost_cents.total == 1500
    assert [stop.arrive_s for stop in plan.vehicles[0].stops] == [25700, 25700 + 1800 + 400]
    assert plan.disposal_cents == 1500 - 1000


@pytest.mark.parametrize(
    ("field", "value", "code"),
    [
        ("mass_kg", 100, "not_empty"),
        ("mass_kg", 250, "mass"),
        ("mass_kg", 20, "too_little"),
        ("volume_l", 790, "wrong_volume"),
        ("arrive_s", 27901, "wrong_time"),
        ("statuses", ("unknown",), "statuses"),
        ("destination", "D9", "unknown_id"),
    ],
)
def test_a_changed_tip_is_found(solved, field, value, code):
    problem, plan = solved
    job, tip = plan.vehicles[0].stops
    tip = dataclasses.replace(tip, **{field: value})
    vehicle = dataclasses.replace(plan.vehicles[0], stops=(job, tip))
    changed = dataclasses.replace(plan, vehicles=(vehicle,))
    assert code in [fault.code for fault in check_plan(problem, changed)]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"payload_kg": 199}, "overloaded"),
        ({"body_l": 799}, "overfull"),
    ],
)
def test_an_overfull_vehicle_is_found(solved, change, code):
    problem, plan = solved
    vehicle = dataclasses.replace(problem.vehicles[0], **change)
    tighter = dataclasses.replace(problem, vehicles=(vehicle,))
    assert code in [fault.code for fault in check_plan(tighter, plan)]


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"close_s": 27899}, "closed"),
        ({"accepts": ("unknown",)}, "not_accepted"),
        ({"capacity_kg": 199, "may_overflow": False}, "overfull"),
        ({"fee_cents_per_t": 10}, "wrong_cost"),
    ],
)
def test_a_tip_against_the_destination_is_found(solved, change, code):
    problem, plan = solved
    destination = dataclasses.replace(problem.destinations[0], **change)
    stricter = dataclasses.replace(problem, destinations=(destination,))
    assert code in [fault.code for fault in check_plan(stricter, plan)]


def test_a_tip_of_a_lot_that_the_destination_refuses_is_found(solved):
    problem, plan = solved
    job = dataclasses.replace(problem.jobs[0], refused_destinations=(("D1", "bed_too_wet"),))
    stricter = dataclasses.replace(problem, jobs=(job,))
    assert "refused" in [fault.code for fault in check_plan(stricter, plan)]


def test_a_bound_above_the_cost_is_found(solved):
    problem, plan = solved
    boast = dataclasses.replace(plan, bound_proven=True, bound_cents=1501)
    assert "false_bound" in [fault.code for fault in check_plan(problem, boast)]


def test_material_that_nothing_takes_is_said_to_be_unplaced():
    document = a_day()
    document["jobs"][0]["status"] = "unknown"
    problem = Problem.from_json(document)
    plan = solve(problem)
    assert plan.status == "unplaced"
    assert [(u.vehicle, u.mass_kg, u.after_job) for u in plan.unplaced] == [("V1", 200, "J1")]
    assert check_plan(problem, plan) == []

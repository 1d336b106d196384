"""What no destination takes stays in the body until it is out, and so in all that is tipped."""

from __future__ import annotations

import random

import pytest

from service.planning.checker.check import check_plan
from service.planning.events.live_day import LiveDay
from service.planning.model.problem import Problem
from service.planning.model.stop_rule import StopRule
from service.planning.solve import solve
from tests.bench.planning.freezing import frozen_at

STATUSES = ["clean", "weedy", "foul"]
NOON = 12 * 3600


def a_day(seed: int) -> Problem:
    """Return a small day on which foul lots have no taker, or one with little room."""
    chance = random.Random(seed)  # noqa: S311 - repeatable, no secret

    def place(name):
        return {"id": name, "x_m": chance.randint(0, 9000), "y_m": chance.randint(0, 9000)}

    vehicles, jobs, places = [], [], [{"id": "yard", "x_m": 4500, "y_m": 4500}]
    for number in range(chance.randint(1, 3)):
        own = []
        for lot in range(chance.randint(1, 4)):
            name = f"J{number}{lot}"
            kg = chance.choice([0, 40, 150, 400])
            places.append(place(name))
            jobs.append(
                {
                    "id": name,
                    "place": name,
                    "mass_kg": kg,
                    "volume_l": 4 * kg,
                    "status": chance.choices(STATUSES, [5, 1, 2])[0],
                    "service_s": 1500,
                    "window_s": [0, 86_400],
                }
            )
            own.append(name)
        aboard = [
            {"mass_kg": kg, "volume_l": 4 * kg, "status": status}
            for kg, status in [(60, "foul"), (90, "clean")]
            if chance.random() < 0.4
        ]
        vehicles.append(
            {
                "id": f"V{number}",
                "start_place": "yard",
                "end_place": "yard",
                "shift_start_s": 7 * 3600,
                "shift_end_s": 17 * 3600,
                "payload_kg": 700,
                "body_l": 3000,
                "jobs": own,
                "aboard": aboard,
            }
        )
    takers = [["clean"], ["clean"], ["clean", "weedy"]]
    if chance.random() < 0.6:
        takers.append(STATUSES)
    destinations = []
    for number, accepts in enumerate(takers):
        places.append(place(f"D{number}"))
        destinations.append(
            {
                "id": f"D{number}",
                "kind": "hold" if "foul" in accepts else "bed",
                "place": f"D{number}",
                "capacity_kg": chance.choice([50, 300, 900]),
                "fee_cents_per_t": 500,
                "accepts": accepts,
                "tip_s": 300,
                "stop_cents": 200,
                "open_s": 0,
                "close_s": chance.choice([10, 14, 24]) * 3600,
                "may_overflow": False,
            }
        )
    costs = {
        "drive_cents_per_km": 100,
        "late_cents_per_min": 100,
        "overtime_cents_per_min": 100,
        "overflow_cents_per_kg": 200,
        "speed_m_per_min": 500,
        "detour_permille": 1200,
        "minimum_tip_kg": 30,
        "tips_between_jobs": 2,
    }
    return Problem.from_json(
        {
            "format": 1,
            "name": f"taint {seed}",
            "costs": costs,
            "statuses": STATUSES,
            "places": places,
            "vehicles": vehicles,
            "jobs": jobs,
            "destinations": destinations,
        }
    )


def bodies_of(problem, plan, *, until_s=float("inf")):
    """Yield each vehicle, each tip ahead with the statuses in the body then, and what is in last.

    Whatever is loaded is in the body until a tip takes all of it. Only a lot that came into an
    empty body may have been left on its lawn, all or a part of it.
    """
    jobs = {job.id: job for job in problem.jobs}
    for vehicle, answer in zip(problem.vehicles, plan.vehicles, strict=True):
        left = {u.after_job: u.mass_kg for u in plan.unplaced if u.vehicle == vehicle.id}
        kg = sum(part.mass_kg for part in vehicle.aboard)
        inside = {part.status for part in vehicle.aboard} if kg else set()
        tips = []
        for stop in answer.stops[len(vehicle.done) :]:
            if stop.arrive_s > until_s:
                break
            if stop.destination is not None:
                tips.append((stop, frozenset(inside)))
                kg -= stop.mass_kg
                inside = inside if kg else set()
                continue
            job = jobs[stop.job]
            bagged = job.mass_kg - (min(left.get(job.id, 0), job.mass_kg) if kg == 0 else 0)
            kg += bagged
            if bagged:
                inside.add(job.status)
        yield vehicle, tips, inside


def is_safe(problem, plan):
    takes = {place.id: set(place.accepts) for place in problem.destinations}
    assert check_plan(problem, plan) == []
    for _, tips, _ in bodies_of(problem, plan):
        for stop, inside in tips:
            assert inside <= takes[stop.destination], (problem.name, stop)


@pytest.mark.parametrize("block", range(6))
def test_nothing_is_tipped_where_something_in_the_body_is_refused(block):
    for seed in range(20 * block, 20 * block + 20):
        problem = a_day(seed)
        is_safe(problem, solve(problem, stop=StopRule(first=True), explain=False))


@pytest.mark.parametrize("seed", range(300, 312))
def test_a_searched_day_is_as_safe(seed):
    problem = a_day(seed)
    plan = solve(problem, stop=StopRule(rounds=10))
    is_safe(problem, plan)
    assert plan.bound_cents <= plan.cost_cents.total


@pytest.mark.parametrize("block", range(4))
def test_what_is_left_aboard_is_still_there_when_a_part_of_the_day_is_done(block):
    for seed in range(500 + 15 * block, 515 + 15 * block):
        problem = a_day(seed)
        plan = solve(problem, stop=StopRule(first=True), explain=False)
        later = frozen_at(problem, plan, NOON)
        is_safe(later, LiveDay.of(later, plan).plan)
        is_safe(later, solve(later, stop=StopRule(first=True), explain=False))

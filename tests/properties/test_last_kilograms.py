"""What little is left of a mixture is still of every lot in it."""

from __future__ import annotations

import dataclasses

import pytest

from service.planning.checker.check import check_plan
from service.planning.model.problem import Problem
from service.planning.model.result import PlanStop, VehiclePlan
from service.planning.model.stop_rule import StopRule
from service.planning.solve import solve
from service.planning.warm import one_job
from tests.bench.planning.freezing import frozen_vehicle


def mixed_day(*statuses):
    """Return a day with a job of 100 kg for each status, and one more of which all take.

    A bed near by takes what is clean, for nothing; a site further away takes everything, dear.
    """
    document = one_job()
    (job,), (vehicle,) = document["jobs"], document["vehicles"]
    jobs = [dict(job, id=f"J{n}", status=status) for n, status in enumerate((*statuses, "clean"))]
    (near, far) = document["destinations"]
    vehicle = dict(vehicle, jobs=[job["id"] for job in jobs])
    other = dict(vehicle, id="W", jobs=[])
    document |= {
        "statuses": ["clean", "weedy", "diseased"],
        "jobs": jobs,
        "vehicles": [vehicle, other],
        "destinations": [
            dict(near, accepts=["clean"], capacity_kg=1000),
            dict(far, accepts=["clean", "weedy", "diseased"], fee_cents_per_t=90_000),
        ],
    }
    return Problem.from_json(document)


def but_for_a_kilogram(problem):
    """Return the day with all lots but the last aboard, and then tipped but for one kilogram."""
    vehicle, other = problem.vehicles
    loaded = vehicle.jobs[:-1]
    tipped = 100 * len(loaded) - 1
    order = [PlanStop(arrive_s=0, job=name) for name in loaded]
    tip = PlanStop(arrive_s=0, destination="far", mass_kg=tipped, volume_l=4 * tipped)
    stops = tuple(
        dataclasses.replace(stop, arrive_s=100 + 700 * place)
        for place, stop in enumerate([*order, tip])
    )
    frozen = frozen_vehicle(
        vehicle,
        VehiclePlan(id=vehicle.id, stops=stops),
        30_000,
        left_kg={},
        jobs={job.id: job for job in problem.jobs},
        destinations={place.id: place for place in problem.destinations},
    )
    assert sum(part.mass_kg for part in frozen.aboard) == 1
    return dataclasses.replace(problem, vehicles=(frozen, other))


def tips_of(plan, name):
    (answer,) = [vehicle for vehicle in plan.vehicles if vehicle.id == name]
    return [stop for stop in answer.stops if stop.destination is not None and not stop.done]


@pytest.mark.parametrize(
    "statuses", [("weedy", "clean"), ("clean", "weedy"), ("clean", "diseased", "weedy", "clean")]
)
def test_the_last_kilogram_of_a_mixture_goes_where_all_of_it_may(statuses):
    later = but_for_a_kilogram(mixed_day(*statuses))
    plan = solve(later, stop=StopRule(first=True))
    first, *_ = tips_of(plan, "V")
    assert first.destination == "far"
    assert set(statuses) <= set(first.statuses)
    assert [fault.code for fault in check_plan(later, plan) if fault.code == "statuses"] == []

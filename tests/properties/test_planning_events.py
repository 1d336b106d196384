"""Events during the day, what they change, and explanations that hold."""

from __future__ import annotations

import dataclasses

import pytest

from service.planning.checker.check import check_plan
from service.planning.events.live_day import LiveDay
from service.planning.model.problem import Locked, Problem
from service.planning.model.stop_rule import StopRule
from service.planning.solve import solve
from service.planning.tip_plans.kept_tips import stops_of
from tests.bench.planning.days import day
from tests.bench.planning.freezing import frozen_at
from tests.bench.planning.happenings import ELEVEN, priced
from tests.effort import THOROUGH

QUICK = StopRule(rounds=5)
# A day in half its room is searched for half a minute; its first plan is legal and as telling.
CROWDED = StopRule(rounds=20) if THOROUGH else StopRule(first=True)


@pytest.fixture(scope="module")
def problem() -> Problem:
    return Problem.from_json(day("S", 2))


@pytest.fixture(scope="module")
def plan(problem):
    return solve(problem, stop=QUICK)


@pytest.mark.parametrize("clock", [0, 8 * 3600, ELEVEN, 14 * 3600, 20 * 3600])
def test_what_is_done_or_under_way_stays_in_a_new_plan(problem, plan, clock):
    frozen = frozen_at(problem, plan, clock)
    again = solve(frozen, stop=QUICK, previous=plan)
    assert check_plan(frozen, again, plan) == []
    for vehicle, old, new in zip(frozen.vehicles, plan.vehicles, again.vehicles, strict=True):
        for number in range(len(vehicle.done)):
            before, after = old.stops[number], new.stops[number]
            assert (before.job, before.destination, before.mass_kg, before.arrive_s) == (
                after.job,
                after.destination,
                after.mass_kg,
                after.arrive_s,
            )
            assert after.done
    # Nothing happened, so the day costs no more than planned.
    assert again.cost_cents.total <= plan.cost_cents.total


def test_a_bed_that_closes_moves_only_those_who_meant_to_go_there(problem, plan):
    frozen = frozen_at(problem, plan, 0)
    meant = next(
        (vehicle.id, stop.destination)
        for vehicle in plan.vehicles
        for stop in vehicle.stops
        if stop.destination is not None and stop.destination.startswith("B")
    )
    shut = dataclasses.replace(
        frozen,
        destinations=tuple(
            dataclasses.replace(d, accepts=()) if d.id == meant[1] else d
            for d in frozen.destinations
        ),
    )
    day_then = LiveDay.of(shut, plan)
    assert check_plan(shut, day_then.plan, plan) == []
    users = {
        vehicle.id
        for vehicle in plan.vehicles
        if any(stop.destination == meant[1] for stop in vehicle.stops)
    }
    assert meant[0] in day_then.moved
    assert day_then.moved <= users


def test_changes_are_fewer_the_dearer_they_are(problem, plan):
    tight = dataclasses.replace(
        problem,
        destinations=tuple(
            dataclasses.replace(d, capacity_kg=d.capacity_kg // 2) for d in problem.destinations
        ),
    )

    def changed(cents: int) -> int:
        costly = priced(tight, cents)
        again = solve(costly, stop=CROWDED, previous=plan, explain=False)
        assert check_plan(costly, again, plan) == []
        before = stops_of(plan)
        return sum(len(new - before.get(name, set())) for name, new in stops_of(again).items())

    assert changed(5000) <= changed(0)


def test_a_locked_tip_stays_even_if_another_is_cheaper(problem):
    free = solve(problem, stop=QUICK)
    vehicle = next(v for v in free.vehicles if any(s.runner_up for s in v.stops))
    job, other = None, None
    for stop in vehicle.stops:
        if stop.job is not None:
            job = stop.job
        elif stop.runner_up is not None and stop.runner_up.destinations and other is None:
            other = (job, stop.runner_up.destinations[0])
    locked = dataclasses.replace(
        problem,
        vehicles=tuple(
            dataclasses.replace(v, locked=(Locked(after_job=other[0], destination=other[1]),))
            if v.id == vehicle.id
            else v
            for v in problem.vehicles
        ),
    )
    kept = solve(locked, stop=QUICK, explain=False)
    assert check_plan(locked, kept) == []
    assert kept.cost_cents.total >= free.bound_cents


def test_the_extra_cost_of_a_runner_up_is_what_closing_the_destination_costs(problem):
    # One vehicle alone, so that no other can make way.
    vehicle = problem.vehicles[0]
    alone = dataclasses.replace(
        problem,
        vehicles=(vehicle,),
        jobs=tuple(job for job in problem.jobs if job.id in vehicle.jobs),
    )
    plan = solve(alone, stop=QUICK)
    checked = 0
    tips = [s for s in plan.vehicles[0].stops if s.destination is not None]
    for stop in tips:
        once = sum(1 for other in tips if other.destination == stop.destination) == 1
        if not once or stop.runner_up is None or stop.runner_up.extra_cents is None:
            continue
        if stop.destination in stop.runner_up.destinations:
            continue  # the runner-up goes there at another time
        without = dataclasses.replace(
            alone,
            destinations=tuple(d for d in alone.destinations if d.id != stop.destination),
        )
        dearer = solve(without, stop=QUICK, explain=False).cost_cents.total
        extra = dearer - plan.cost_cents.total
        assert extra >= stop.runner_up.extra_cents - 1
        checked += 1
    assert checked

# ruff: noqa: S311 - what happens is drawn from a seed so that it can be drawn again
"""Whatever happens on a planned day is answered legally, and moves nobody it does not have to."""

from __future__ import annotations

import contextlib
import dataclasses
import random

import pytest

from service.planning.checker.check import check_plan
from service.planning.events.live_day import LiveDay
from service.planning.model.problem import Locked, Problem
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.search.construction import LockNotPossible
from service.planning.solve import solve
from tests.bench.planning.days import small_day
from tests.bench.planning.freezing import frozen_at
from tests.bench.planning.happenings import (
    ELEVEN,
    KINDS,
    NothingToHappenTo,
    ahead_of,
    gone_to,
    late,
    priced,
    refused_by,
    with_records,
    without_job,
)

WHY = "something happened"


@pytest.fixture(scope="module", params=["standing-1", "standing-2"])
def now(request) -> tuple[Problem, Plan]:
    document = small_day(request.param, jobs=60, vehicles=9, beds=40, sites=4)
    problem = priced(Problem.from_json(document))
    plan = solve(problem, stop=StopRule(first=True), explain=False)
    return frozen_at(problem, plan, ELEVEN), plan


def tips_of(answer):
    return [(s.destination, s.mass_kg) for s in answer.stops if s.destination]


def is_answered(problem: Problem, before: Plan) -> LiveDay:
    day = LiveDay.of(problem, before, why=WHY)
    assert check_plan(problem, day.plan, before) == []
    for vehicle, old, new in zip(problem.vehicles, before.vehicles, day.plan.vehicles, strict=True):
        done = len(vehicle.done)
        assert [(s.job, s.destination, s.arrive_s, s.mass_kg) for s in old.stops[:done]] == [
            (s.job, s.destination, s.arrive_s, s.mass_kg) for s in new.stops[:done]
        ]
        assert (tips_of(old) == tips_of(new)) == (vehicle.id not in day.moved)
    assert day.moved <= {problem.vehicles[number].id for number in day.causes}
    return day


def test_time_alone_moves_nothing_and_keeps_the_cost(now):
    problem, plan = now
    for clock_s in (ELEVEN, ELEVEN + 1800, 13 * 3600, 15 * 3600, 30 * 3600):
        later = frozen_at(problem, plan, clock_s)
        day = is_answered(later, plan)
        assert (day.moved, day.causes) == (frozenset(), {})
        assert day.plan.cost_cents == plan.cost_cents


@pytest.mark.parametrize("kind", KINDS)
def test_whatever_happens_gets_a_legal_plan_that_keeps_what_is_done(now, kind):
    chance = random.Random(kind)
    for _ in range(6):
        is_answered(KINDS[kind](*now, chance), now[1])


@pytest.mark.parametrize("kind", ["job added", "job amended", "job cancelled", "load weighed"])
def test_what_happens_to_one_vehicle_moves_no_other_unless_it_is_displaced(now, kind):
    problem, plan = now
    chance = random.Random(kind)
    old_jobs = {job.id: job for job in problem.jobs}
    for _ in range(6):
        then = KINDS[kind](problem, plan, chance)
        new = {job.id for job in then.jobs if old_jobs.get(job.id) != job}
        about = {
            vehicle.id
            for vehicle, before in zip(then.vehicles, problem.vehicles, strict=True)
            if vehicle != before or new & set(vehicle.jobs)
        }
        day = LiveDay.of(then, plan, why=WHY)
        causes = {then.vehicles[number].id: cause for number, cause in day.causes.items()}
        assert all(causes[name].startswith("makes way: ") for name in day.moved - about)


def test_one_thing_after_another_is_answered_and_the_day_goes_on(now):
    chance, clock_s = random.Random(1), ELEVEN
    problem, plan = now
    for number in range(12):
        with contextlib.suppress(NothingToHappenTo):  # late in the day not everything can happen
            problem = list(KINDS.values())[number % len(KINDS)](problem, plan, chance)
            plan = is_answered(problem, plan).plan
        clock_s += 600
        problem = frozen_at(problem, plan, clock_s)
        after = is_answered(problem, plan)
        assert after.moved == frozenset()
        assert after.plan.cost_cents.changes == 0
        assert after.plan.cost_cents.total <= plan.cost_cents.total


def test_a_day_asked_twice_answers_the_same(now):
    then = KINDS["capacity cut"](*now, random.Random(3))
    one, two = (LiveDay.of(then, now[1], why=WHY) for _ in range(2))
    assert one.plan.after(0) == two.plan.after(0)
    assert one.causes == two.causes


def test_who_meant_to_go_to_a_bed_that_refuses_goes_elsewhere(now):
    problem, plan = now
    bed = gone_to(problem, plan, "bed")[0]
    day = is_answered(refused_by(problem, bed), plan)
    meant = {answer.id for answer in plan.vehicles if bed in dict(tips_of(answer))}
    causes = {problem.vehicles[number].id: cause for number, cause in day.causes.items()}
    assert day.moved
    assert all(causes[name].startswith("makes way: ") for name in causes.keys() - meant)
    assert all(s.done for v in day.plan.vehicles for s in v.stops if s.destination == bed)


def a_tip_ahead(problem: Problem, plan: Plan):
    every = zip(problem.vehicles, plan.vehicles, strict=True)
    for vehicle, answer in sorted(every, key=lambda pair: len(ahead_of(pair[0]))):
        job = None
        for number, stop in enumerate(answer.stops):
            job = stop.job or job
            if stop.destination is not None and number >= len(vehicle.done) and job is not None:
                return vehicle, job, stop.destination
    raise AssertionError


def test_a_locked_tip_stays_whatever_happens_or_it_is_told(now):
    problem, plan = now
    vehicle, job, place = a_tip_ahead(problem, plan)
    locked = dataclasses.replace(vehicle, locked=(Locked(after_job=job, destination=place),))
    problem = with_records(problem, locked)
    last = locked.jobs[-1]
    if last != job:
        is_answered(without_job(problem, locked, last), plan)
    is_answered(late(problem, locked, ELEVEN + 1800), plan)
    with pytest.raises(LockNotPossible):
        LiveDay.of(refused_by(problem, place), plan, why=WHY)


def test_dear_changes_keep_more_of_the_plan_than_free_ones(now):
    def moved(cents: int) -> int:
        chance, problem = random.Random(2), priced(now[0], cents)
        return sum(
            len(is_answered(KINDS["job cancelled"](problem, now[1], chance), now[1]).moved)
            for _ in range(12)
        )

    assert moved(10_000) < moved(0)

# ruff: noqa: S311 - events are drawn from a seed so that they can be drawn again
"""A standing day answers every kind of event legally, and moves nobody it does not have to."""

from __future__ import annotations

import contextlib
import dataclasses
import random
from itertools import pairwise

import pytest

from service.planning.checker.check import check_plan
from service.planning.events.amendment import Event, amended_problem
from service.planning.events.breakdown import broken_down
from service.planning.events.kinds import (
    EventNotPossible,
    capacity_cut,
    closes_early,
    job_added,
    job_amended,
    job_cancelled,
    load_weighed,
    refuses,
    repaired,
)
from service.planning.events.live_day import LiveDay
from service.planning.events.replanning import replan
from service.planning.model.problem import Locked, Problem
from service.planning.model.stop_rule import StopRule
from service.planning.search.construction import LockNotPossible
from service.planning.solve import solve
from tests.bench.planning.days import small_day
from tests.bench.planning.events import ELEVEN, KINDS, gone_to, priced


@pytest.fixture(scope="module", params=["standing-1", "standing-2"])
def now(request) -> LiveDay:
    document = small_day(request.param, jobs=60, vehicles=9, beds=40, sites=4)
    problem = priced(Problem.from_json(document))
    plan = solve(problem, stop=StopRule(first=True), explain=False)
    return LiveDay.of(problem, plan).at(ELEVEN)


def done_of(plan):
    return [[stop for stop in vehicle.stops if stop.done] for vehicle in plan.vehicles]


def first_stops(plan, numbers):
    return [vehicle.stops[:count] for vehicle, count in zip(plan.vehicles, numbers, strict=True)]


def is_answered(now: LiveDay, event: Event) -> LiveDay:
    then = now.after(event)
    assert then.problem == amended_problem(now.problem, event)
    assert check_plan(then.problem, then.plan, now.plan) == []
    numbers = [len(vehicle.done) for vehicle in now.problem.vehicles]
    for before, after in zip(
        first_stops(now.plan, numbers), first_stops(then.plan, numbers), strict=True
    ):
        assert [(s.job, s.destination, s.arrive_s, s.mass_kg) for s in before] == [
            (s.job, s.destination, s.arrive_s, s.mass_kg) for s in after
        ]
    moved = {change.vehicle for change in then.changes}
    for before, after in zip(now.plan.vehicles, then.plan.vehicles, strict=True):
        if before.id not in moved and before.stops != after.stops:
            # replanned, or its jobs are other ones, but its tips are the same
            tips = [
                [(s.destination, s.mass_kg) for s in vehicle.stops if s.destination]
                for vehicle in (before, after)
            ]
            assert tips[0] == tips[1]
    assert all(change.cause for change in then.changes)
    assert all(event.why in change.cause for change in then.changes)
    return then


def test_a_standing_day_is_the_plan_it_was_made_from(now):
    whole = LiveDay.of(now.problem, now.plan)
    assert whole.changes == ()
    assert whole.plan.cost_cents == now.plan.cost_cents
    assert [v.stops for v in whole.plan.vehicles] == [v.stops for v in now.plan.vehicles]


def test_time_alone_moves_nothing_and_keeps_the_cost(now):
    for clock in (ELEVEN + 1800, 13 * 3600, 15 * 3600, 30 * 3600):
        later = now.at(clock)
        assert later.changes == ()
        assert check_plan(later.problem, later.plan) == []
        assert later.plan.cost_cents == now.plan.cost_cents
        assert len(done_of(later.plan)[0]) >= len(done_of(now.plan)[0])


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_event_gets_a_legal_plan_that_keeps_what_is_done(now, kind):
    chance = random.Random(kind)
    for _ in range(6):
        is_answered(now, KINDS[kind](now, chance))


@pytest.mark.parametrize("kind", ["job added", "job amended", "job cancelled", "load weighed"])
def test_an_event_of_one_vehicle_moves_no_other_unless_it_is_displaced(now, kind):
    chance = random.Random(kind)
    for _ in range(6):
        event = KINDS[kind](now, chance)
        then = now.after(event)
        jobs = {job.id for job in event.jobs}
        about = {v.id for v in event.vehicles} | {
            v.id for v in now.problem.vehicles if jobs & set(v.jobs)
        }
        others = [change for change in then.changes if change.vehicle not in about]
        assert all(change.cause.startswith("makes way: ") for change in others)
        if then.plan.status == now.plan.status == "ok" and not others:
            for before, after in zip(now.plan.vehicles, then.plan.vehicles, strict=True):
                assert before.id in about or before is after


def test_events_follow_each_other_and_the_day_goes_on(now):
    chance, day, clock = random.Random(1), now, ELEVEN
    kinds = [kind for kind in KINDS if kind != "job added"]  # it names its new job always the same
    for number in range(12):
        with contextlib.suppress(EventNotPossible):  # late in the day not everything can happen
            day = is_answered(day, KINDS[kinds[number % len(kinds)]](day, chance))
        clock += 600
        before = day.plan.cost_cents
        day = day.at(clock)
        assert check_plan(day.problem, day.plan) == []
        assert day.plan.cost_cents.changes == 0
        assert day.plan.cost_cents.total <= before.total


def test_a_day_asked_twice_answers_the_same(now):
    event = KINDS["capacity cut"](now, random.Random(3))
    one, two = now.after(event), now.after(event)
    assert one.plan.after(0) == two.plan.after(0)
    assert one.changes == two.changes


def test_the_stateless_door_gives_a_legal_plan_of_the_same_event(now):
    chance = random.Random(5)
    for kind in ("job added", "job cancelled", "bed refuses", "capacity cut"):
        event = KINDS[kind](now, chance)
        problem = amended_problem(now.problem, event)
        plan = replan(problem, now.plan, [v.id for v in event.vehicles], explain=False)
        assert check_plan(problem, plan, now.plan) == []


def test_who_meant_to_go_to_a_bed_that_refuses_goes_elsewhere_and_is_told_why(now):
    bed = gone_to(now, "bed")[0]
    then = is_answered(now, refuses(now.problem, bed))
    gone = [c for c in then.changes if c.destination == bed]
    assert gone
    assert {c.kind for c in gone} == {"removed"}
    assert all(c.cause == f"{bed} refuses" for c in gone)
    assert all(s.done for v in then.plan.vehicles for s in v.stops if s.destination == bed)


def a_tip_ahead(now: LiveDay):
    for vehicle, answer in zip(now.problem.vehicles, now.plan.vehicles, strict=True):
        job = None
        for stop in answer.stops:
            job = stop.job or job
            if stop.destination is not None and not stop.done and job is not None:
                return vehicle, job, stop
    raise AssertionError


def test_a_locked_tip_stays_whatever_happens_or_the_event_is_refused(now):
    vehicle, job, stop = a_tip_ahead(now)
    lock = Locked(after_job=job, destination=str(stop.destination))
    locked = dataclasses.replace(vehicle, locked=(lock,))
    day = is_answered(now, Event(why="a choice was locked", vehicles=(locked,)))
    last = locked.jobs[-1]
    if last != job:
        is_answered(day, job_cancelled(day.problem, last))
    is_answered(day, repaired(day.problem, vehicle.id, ELEVEN + 1800))
    before = day.plan
    with pytest.raises(LockNotPossible):
        day.after(refuses(day.problem, str(stop.destination)))
    assert day.plan is before
    assert check_plan(day.problem, day.plan, now.plan) == []


def test_a_locked_tip_that_is_made_binds_no_more(now):
    vehicle, job, stop = a_tip_ahead(now)
    lock = Locked(after_job=job, destination=str(stop.destination))
    locked = dataclasses.replace(vehicle, locked=(lock,))
    day = now.after(Event(why="a choice was locked", vehicles=(locked,)))
    for clock in range(ELEVEN, 24 * 3600, 900):
        later = day.at(clock)
        assert check_plan(later.problem, later.plan) == []
        again = next(v for v in later.problem.vehicles if v.id == vehicle.id)
        assert (
            check_plan(
                later.problem, later.after(Event(why="look", vehicles=(again,))).plan, later.plan
            )
            == []
        )
    assert again.locked == ()


def test_dear_changes_keep_more_of_the_plan_than_free_ones(now):
    def added(cents: int) -> int:
        day = LiveDay.of(priced(now.problem, cents), now.plan)
        chance, count = random.Random(2), 0
        for _ in range(12):
            then = day.after(KINDS["job cancelled"](day, chance))
            assert check_plan(then.problem, then.plan, now.plan) == []
            count += sum(1 for change in then.changes if change.kind == "added")
        return count

    assert added(10_000) < added(0)


def test_a_vehicle_out_for_the_day_leaves_its_jobs_and_its_load_to_others(now):
    vehicle = next(v for v in now.problem.vehicles if v.aboard and v.jobs)
    event = broken_down(now, vehicle.id)
    then = is_answered(now, event)
    still = next(v for v in then.problem.vehicles if v.id == vehicle.id)
    assert still.aboard == ()
    assert len([s for s in still.done if s.job]) == len(still.jobs)
    carried = [job for v in then.problem.vehicles for job in v.jobs]
    assert sorted(carried) == sorted({job.id for job in then.problem.jobs})
    kg = sum(job.mass_kg for job in then.problem.jobs if job.id.startswith(f"{vehicle.id}/load/"))
    assert kg == sum(max(part.mass_kg, 1) for part in vehicle.mixture)


def test_a_tip_after_a_job_that_is_gone_is_told_as_that(now):
    vehicle, job = next(
        (answer.id, before.job)
        for answer in now.plan.vehicles
        for before, after in pairwise(answer.stops)
        if before.job is not None and not before.done and after.destination is not None
    )
    then = now.after(job_cancelled(now.problem, job))
    (gone, *_) = (c for c in then.changes if (c.vehicle, c.after_job) == (vehicle, job))
    assert gone.kind == "removed"
    assert gone.reason == f"{vehicle} no longer has {job}"


def test_what_broke_down_before_takes_nothing_over(now):
    first, second = [v.id for v in now.problem.vehicles if v.aboard and v.jobs][:2]
    day = now.after(broken_down(now, first))
    event = broken_down(day, second, out=(first,))
    then = is_answered(day, event)
    assert all(vehicle.id != first for vehicle in event.vehicles)
    carried = [job for v in then.problem.vehicles for job in v.jobs]
    assert sorted(carried) == sorted({job.id for job in then.problem.jobs})


def test_a_vehicle_that_breaks_down_again_leaves_each_load_a_name_of_its_own(now):
    name = next(v.id for v in now.problem.vehicles if v.aboard and v.jobs)
    day = now.after(broken_down(now, name))
    taker = next(v for v in day.problem.vehicles if f"{name}/load/1" in v.jobs)
    like = next(job for job in day.problem.jobs if job.id in taker.jobs)
    mended = day.after(job_added(day.problem, name, dataclasses.replace(like, id="mended")))
    loaded = next(
        later
        for later in (mended.at(clock_s) for clock_s in range(ELEVEN, 24 * 3600, 300))
        if any(v.id == name and v.aboard for v in later.problem.vehicles)
    )
    known = {job.id for job in loaded.problem.jobs}
    assert f"{name}/load/1" in known
    assert known.isdisjoint(load.id for load in broken_down(loaded, name).jobs)


def test_what_cannot_have_happened_is_refused(now):
    vehicle = next(v for v in now.problem.vehicles if any(s.job for s in v.done))
    job = next(j for j in now.problem.jobs if j.id == vehicle.jobs[0])
    empty = [v for v in now.problem.vehicles if not v.aboard]
    asked = [
        lambda: job_cancelled(now.problem, vehicle.jobs[0]),
        lambda: job_cancelled(now.problem, "none"),
        lambda: job_added(now.problem, vehicle.id, job),
        lambda: job_amended(now.problem, dataclasses.replace(job, id="none")),
        lambda: closes_early(now.problem, "none", ELEVEN),
        lambda: capacity_cut(now.problem, "none", 0),
        lambda: refuses(now.problem, now.problem.destinations[0].id, jobs=("none",)),
        lambda: broken_down(now, "none"),
        *[lambda v=v: load_weighed(now.problem, v.id, 100) for v in empty],
    ]
    for question in asked:
        with pytest.raises(EventNotPossible):
            question()

# ruff: noqa: S311 - what happens is drawn from a seed so that it can be drawn again
"""Whatever happens between two readings: nobody with impossible tips is overlooked or sent on."""

from __future__ import annotations

import contextlib
import random
from datetime import timedelta

import pytest

from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.errors import Refusal
from service.core.jobs import JobState
from service.core.loads import LoadState
from service.core.materials import Wetness
from service.core.measures.quantities import Measure
from service.core.permission.consent import Consent, ConsentState
from service.planning.arrays.tables import tables_of
from service.planning.checker.check import check_plan
from service.planning.events.live_day import LiveDay
from service.planning.model.problem import Problem
from service.planning.model.result import Plan, Work
from service.planning.model.stop_rule import StopRule
from service.planning.outcome.assembly import Bound, write_answer
from service.planning.solve import solve
from service.planning.tip_plans.kept_tips import columns_carried, stops_of
from service.usecases.planning import local_answer
from tests.bench.planning.days import small_day
from tests.bench.planning.freezing import frozen_at
from tests.bench.planning.happenings import ELEVEN, KINDS, NothingToHappenTo, priced
from tests.firms import DAY, SIX, make_firm

# -- the planner ----------------------------------------------------------------------------


@pytest.fixture(scope="module", params=["answered-1", "answered-2"])
def now(request) -> tuple[Problem, Plan]:
    document = small_day(request.param, jobs=60, vehicles=9, beds=40, sites=4)
    problem = priced(Problem.from_json(document))
    plan = solve(problem, stop=StopRule(first=True), explain=False)
    return frozen_at(problem, plan, ELEVEN), plan


def after_some_events(problem: Problem, plan: Plan, chance: random.Random) -> Problem:
    """Return the day after several events that nobody answered in between."""
    for kind in chance.sample(sorted(KINDS), 4):
        with contextlib.suppress(NothingToHappenTo):
            problem = KINDS[kind](problem, plan, chance)
    return problem


@pytest.mark.parametrize("seed", range(12))
def test_no_vehicle_whose_tips_became_illegal_is_overlooked(now, seed):
    plan = now[1]
    problem = after_some_events(*now, random.Random(seed))
    day = LiveDay.of(problem, plan, why="much happened")
    assert check_plan(problem, day.plan, plan) == []
    tables = tables_of(problem, stops_of(plan))
    numbers = {d.id: number for number, d in enumerate(problem.destinations)}
    carried, lost = columns_carried(tables, plan, numbers)
    assert lost <= set(day.causes)
    judged = write_answer(
        tables,
        [
            new if number in lost else old
            for number, (old, new) in enumerate(zip(carried, day.columns, strict=True))
        ],
        bound=Bound(units=0, proven=False, scope="none"),
        prices={},
        work=Work(seed=0),
    )
    faults = check_plan(problem, judged, plan)
    assert [fault for fault in faults if fault.pointer.startswith("/vehicles")] == []


@pytest.mark.parametrize("seed", range(12))
def test_who_is_not_planned_again_keeps_every_tip(now, seed):
    plan = now[1]
    problem = after_some_events(*now, random.Random(seed))
    chance = random.Random(seed)
    named = {chance.choice(problem.vehicles).id: "somebody rang"}
    offers = {
        vehicle.id: {d.id: f"{d.id} said yes" for d in chance.sample(problem.destinations, 3)}
        for vehicle in chance.sample(problem.vehicles, 4)
    }
    day = LiveDay.of(problem, plan, why="much happened", causes=named, offers=offers)
    assert check_plan(problem, day.plan, plan) == []
    planned_again = {problem.vehicles[number].id for number in day.causes}
    assert set(named) <= planned_again
    assert day.moved <= planned_again
    for before, after in zip(plan.vehicles, day.plan.vehicles, strict=True):
        if before.id not in planned_again:
            tips = [[(s.destination, s.mass_kg) for s in v.stops] for v in (before, after)]
            assert tips[0] == tips[1]
    for number, cause in day.causes.items():
        said = offers.get(problem.vehicles[number].id, {})
        gained = [name for name, why in said.items() if why in cause]
        stops = day.plan.vehicles[number].stops
        assert all(any(s.destination == name for s in stops) for name in gained)


# -- the service ----------------------------------------------------------------------------


@pytest.fixture
def busy():
    """Return a firm with nine vehicles, more than a small day has, and its jobs."""
    firm = make_firm()
    firm.site(daily_capacity_kg=4000.0)
    crews = [firm.crew(firm.vehicle(f"V{number:02}")) for number in range(9)]
    for number in range(3 * len(crews)):
        lawn = firm.lawn(number, area_m2=300.0 + 60 * (number % 5))
        if number % 2:
            firm.bed(lawn, area_m2=30.0 + number)
        firm.jobs.create(
            firm.caller, firm.job(lawn, crews[number % len(crews)], hour=8 + number // len(crews))
        )
    return firm


def some_job(firm, chance, state=JobState.PLANNED):
    with firm.open_unit() as unit:
        return chance.choice(
            [job for job in unit.jobs.all(firm.caller.firm_id) if job.state is state]
        )


def some_load(firm, chance):
    return chance.choice([ld for ld in firm.all_loads() if ld.state is LoadState.PLANNED])


def amend_job(firm, job, **changes):
    firm.jobs.amend(firm.caller, job.id, changes, expected_version=job.version)


def amend_load(firm, load, **changes):
    firm.loads(firm.caller, load.id, changes, expected_version=load.version)


def mow(firm, _chance):
    with firm.open_unit() as unit:
        ahead = [
            job
            for job in unit.jobs.all(firm.caller.firm_id)
            if job.state is JobState.PLANNED and job.at <= firm.clock.now()
        ]
    if ahead:
        job = min(ahead, key=lambda job: (job.at, job.id))
        amend_job(firm, job, state=JobState.MOWN, cut_at=firm.clock.now())


def mow_otherwise(firm, chance):
    area = Measure(value=chance.choice([150.0, 320.0]), unit="m2")
    amend_job(firm, some_job(firm, chance), area_mowed=area)


def get_wet(firm, chance):
    amend_job(firm, some_job(firm, chance), wetness=Wetness.RAINED_ON)


def cancel(firm, chance):
    amend_job(firm, some_job(firm, chance), state=JobState.CANCELLED)


def add(firm, chance):
    like = some_job(firm, chance)
    lawn = firm.lawn(chance.randrange(30), area_m2=250.0)
    crew = firm.library.crews.read(firm.caller, like.crew_id)
    firm.jobs.create(firm.caller, firm.job(lawn, crew, hour=chance.choice([9, 12, 15])))


def deliver(firm, chance):
    amend_load(firm, some_load(firm, chance), state=LoadState.DELIVERED)


def turn_away(firm, chance):
    amend_load(
        firm, some_load(firm, chance), state=LoadState.REFUSED, refusal_reason="not expected"
    )


def lock(firm, chance):
    load = some_load(firm, chance)
    amend_load(firm, load, locked=not load.locked)


def consent(firm, chance):
    with firm.open_unit() as unit:
        bed = chance.choice(list(unit.beds.all(firm.caller.firm_id)))
    given = bed.consent.state is ConsentState.GIVEN
    firm.library.beds.amend(
        firm.caller,
        bed.id,
        {"consent": Consent(state=ConsentState.WITHDRAWN if given else ConsentState.GIVEN)},
        expected_version=bed.version,
    )


def close_early(firm, chance):
    with firm.open_unit() as unit:
        (site,) = unit.compost_sites.all(firm.caller.firm_id)
    said = LiveStatus(
        state=SiteState.OPEN,
        as_of=firm.clock.now(),
        closes_early_at=SIX + timedelta(hours=chance.choice([5, 8, 11])),
        capacity_left_kg=chance.choice([None, 300.0, 1500.0, 4000.0]),
    )
    firm.library.compost_sites.amend(
        firm.caller, site.id, {"live_status": said}, expected_version=site.version
    )


HAPPENINGS = (
    mow,
    mow,
    mow_otherwise,
    get_wet,
    cancel,
    add,
    deliver,
    turn_away,
    lock,
    consent,
    close_early,
)


def ahead(routing):
    """Return the loads still to be tipped, by vehicle: a load with other lots in it is another."""
    return {
        vehicle["vehicle_id"]: [
            stop["load_id"]
            for stop in vehicle["stops"]
            if stop["kind"] == "drop" and not stop["done"]
        ]
        for vehicle in routing["vehicles"]
    }


@pytest.mark.parametrize("seed", range(6))
def test_local_answers_of_a_day_are_legal_and_name_everybody_whose_loads_are_others(
    busy, monkeypatch, seed
):
    found = []

    def judged(problem, plan, previous=None):
        found.append(check_plan(problem, plan, previous))
        return found[-1]

    monkeypatch.setattr(local_answer, "check_plan", judged)
    chance = random.Random(seed)
    before = ahead(busy.plan_day())
    scopes = []
    for _ in range(12):
        busy.clock.move(minutes=chance.choice([1, 10, 40]))
        for happening in chance.sample(HAPPENINGS, chance.choice([1, 1, 2, 4])):
            with contextlib.suppress(Refusal, IndexError):
                happening(busy, chance)
        plan = busy.routing(busy.caller, busy.depot_id, DAY)
        told = plan.routing["planning"]
        scopes.append(told["scope"])
        now = ahead(plan.routing)
        if told["scope"] == "local":
            named = {one["vehicle_id"] for one in told["vehicles"]}
            assert {v for v in now if now[v] != before.get(v)} <= named
        before = now
        done = [s for v in plan.routing["vehicles"] for s in v["stops"] if s["done"]]
        assert plan.bound_proven is False or told["scope"] == "whole_day"
        assert all(stop.get("explanation") is None for stop in done)
    assert all(faults == [] for faults in found)
    assert scopes.count("local") >= len(scopes) // 2, scopes

"""Days that are planned by another process: asked for, taken once, never lost, stored once."""

from dataclasses import dataclass, replace
from datetime import timedelta

import pytest

from service import bootstrap
from service.core.places import Point
from service.gateways.time_and_ids import FreshIdentifiers
from service.pages import replanning
from service.usecases.base.idempotency import ANSWERS_LAST
from service.usecases.base.ports.kept_answers import KeptAnswer
from service.usecases.base.ports.planning_turns import PlanningTurn
from service.usecases.planning.behind import LEASE, AskPlanner, PlanBehind
from service.usecases.planning.current_routing import BeingPlanned, ReadRouting
from service.usecases.planning.store_plan import PlanDay
from tests import worlds
from tests.firms import DAY, SIX, TestFirm, make_firm
from tests.screens import OURS, joined


@dataclass(frozen=True, kw_only=True)
class Behind:
    """A firm with a job on the day, who asks, who reads and who plans."""

    firm: TestFirm
    read: ReadRouting
    open_unit: object
    crew: object
    lawns: list
    planners: tuple[PlanBehind, PlanBehind]

    def routing(self, **more):
        return self.read.read(self.firm.caller, self.firm.depot_id, DAY, **more)

    def post(self, number=0):
        self.firm.jobs.create(self.firm.caller, self.firm.job(self.lawns[number], self.crew))

    def plans(self):
        with self.open_unit() as unit:
            return unit.day_plans.all(self.firm.caller.firm_id)


@pytest.fixture
def behind(open_unit, open_reading):
    firm = make_firm(open_unit)
    kept = {"open_unit_of_work": open_unit, "open_reading": open_reading, "clock": firm.clock}
    made = Behind(
        firm=firm,
        read=ReadRouting(open_reading=open_reading, clock=firm.clock, plan_day=AskPlanner(**kept)),
        open_unit=open_unit,
        crew=firm.crew(firm.vehicle()),
        lawns=[firm.lawn(number) for number in range(3)],
        planners=tuple(
            PlanBehind(**kept, identifiers=FreshIdentifiers(), plan_day=firm.plan) for _ in "ab"
        ),
    )
    made.post()
    return made


def test_a_day_is_planned_once_for_all_who_read_it_and_read_as_it_was_meanwhile(behind):
    one, other = behind.planners
    for _ in range(3):
        with pytest.raises(BeingPlanned):
            behind.routing()
    assert [one.plan_next(), other.plan_next()] == [True, False]
    first = behind.routing()
    assert (first.being_planned, first.plan.revision, first.day_revision) == (False, 1, 1)
    behind.post(1)
    stale = behind.routing()
    assert (stale.plan, stale.day_revision, stale.being_planned) == (first.plan, 2, True)
    assert [other.plan_next(), one.plan_next()] == [True, False]
    assert behind.routing().plan.revision == 2
    assert len(behind.plans()) == 2


def test_a_day_that_something_always_happens_on_waits_behind_the_others_of_its_date(behind):
    firm, planner = behind.firm, behind.planners[0]
    yard = {"name": "The other yard", "address": "2 Yard Lane", "time_zone": "Europe/London"}
    yard |= {"point": Point(latitude=51.6, longitude=-2.5), "jurisdiction": "GB-ENG"}
    other = firm.library.depots.create(firm.caller, yard).id
    for depot_id in (firm.depot_id, other):
        firm.clock.at += timedelta(seconds=1)
        with behind.open_unit() as unit:
            kept = {"firm_id": firm.caller.firm_id, "day": DAY, "asked_at": firm.clock.at}
            unit.planning_turns.ask(PlanningTurn(depot_id=depot_id, **kept))
            unit.commit()
    firm.clock.at += timedelta(seconds=1)
    for expected, again in ((firm.depot_id, True), (other, False), (firm.depot_id, False)):
        holder = FreshIdentifiers().next_id()
        turn = planner._taken(holder)  # noqa: SLF001 - planned meanwhile
        assert turn.depot_id == expected
        with behind.open_unit() as unit:
            at = firm.clock.at if again else None
            unit.planning_turns.give_back(turn, holder=holder, wanted_again_at=at)
            unit.commit()


def test_a_planner_that_died_costs_its_lease_and_no_plan(behind):
    died, other = behind.planners
    with pytest.raises(BeingPlanned):
        behind.routing()
    died._taken(FreshIdentifiers().next_id())  # noqa: SLF001 - then it was killed
    assert not other.plan_next()
    behind.firm.clock.at += LEASE + timedelta(seconds=1)
    assert other.plan_next()
    assert behind.routing().plan.revision == 1


def test_a_planner_that_comes_late_stores_nothing_and_takes_nobody_s_turn(behind, monkeypatch):
    slow, other = behind.planners
    with pytest.raises(BeingPlanned):
        behind.routing()
    store = PlanDay._store  # noqa: SLF001 - the moment between planning and storing

    def overtaken(*made):
        monkeypatch.setattr(PlanDay, "_store", store)
        behind.firm.clock.at += LEASE + timedelta(seconds=1)
        assert other.plan_next()
        return store(*made)

    monkeypatch.setattr(PlanDay, "_store", overtaken)
    assert slow.plan_next()
    assert len(behind.plans()) == 1


def test_what_happens_while_a_day_is_planned_is_planned_next(behind):
    planner, _ = behind.planners
    with pytest.raises(BeingPlanned):
        behind.routing()
    current = behind.firm.plan.__call__

    def then_another_job(*asked, **more):
        plan = current(*asked, **more)
        behind.post(1)
        return plan

    assert replace(planner, plan_day=then_another_job).plan_next()
    assert planner.plan_next()
    assert behind.routing().plan.revision == 2
    assert not planner.plan_next()


def test_a_sweep_finds_what_is_stale_or_begins_soon_and_leaves_what_is_over(behind):
    planner, _ = behind.planners
    behind.firm.clock.at = SIX - timedelta(hours=6)
    planner.sweep()
    assert not planner.plan_next()
    behind.firm.clock.at = SIX
    planner.sweep()
    assert planner.plan_next()
    behind.post(1)
    planner.sweep()
    assert planner.plan_next()
    behind.post(2)
    behind.firm.clock.at = SIX + timedelta(days=1)
    planner.sweep()
    assert not planner.plan_next()
    assert [plan.revision for plan in behind.plans()] == [1, 2]


def test_answers_to_requests_are_kept_for_a_week(behind, open_unit):
    firm_id, now = behind.firm.caller.firm_id, behind.firm.clock.now()
    asked = {"firm_id": firm_id, "request_sha256": "0", "seed_id": FreshIdentifiers().next_id()}
    with open_unit() as unit:
        for key, age in (("old", ANSWERS_LAST + timedelta(seconds=1)), ("young", ANSWERS_LAST)):
            unit.answers.begin(KeptAnswer(key=key, started_at=now - age, **asked))
        unit.commit()
    behind.planners[0].tidy()
    with open_unit() as unit:
        assert unit.answers.get(firm_id, "old") is None
        assert unit.answers.get(firm_id, "young") is not None


def test_a_day_that_cannot_be_planned_keeps_no_other_day_waiting(behind):
    planner, _ = behind.planners
    with pytest.raises(BeingPlanned):
        behind.routing()

    def refused(*_asked, **_more):
        raise BeingPlanned(day=DAY)

    assert replace(planner, plan_day=refused).plan_next()
    assert not planner.plan_next()


def test_a_days_work_by_hand_is_planned_behind_and_the_day_says_so_meanwhile(
    open_unit, open_reading, monkeypatch
):
    world = worlds.make_world(open_unit, open_reading)
    kept = {"clock": world.clock, "identifiers": world.identifiers}
    use_cases = bootstrap.build_use_cases(
        worlds.SETTINGS, writing=open_unit, reading=open_reading, behind=True, **kept
    )
    app = bootstrap.make_app(worlds.SETTINGS, use_cases)
    # What every world is furnished with is made by the app of all worlds, once a process.
    yard = worlds.furnish(world)
    monkeypatch.setattr(worlds, "app_of_all_worlds", lambda: app)
    monkeypatch.setattr(replanning, "WAITS_S", 0.0)
    ids, office = yard.ids, joined(world, yard, "dispatcher")
    crew = f"/crews/{ids['crews']}"
    wanted = {"If-Match": yard.client.get(crew).headers["ETag"]}
    yard.client.patch(crew, json={"vehicle_id": ids["vehicles"]}, headers=wanted)
    chosen = {
        "day": "2026-05-25",
        "minutes": "20",
        "height": "30",
        "history": "none_recorded",
        "key": "one",
    }
    chosen |= {"depot": ids["depots"], f"crew-{ids['lawns']}": ids["crews"]}
    answer = office.post("/screens/setup/work", data=chosen, headers=OURS)
    assert answer.status_code == 303, answer.text
    page = office.get(answer.headers["Location"])
    assert "the first plan of this day is being made" in page.text
    assert page.headers["Refresh"]
    planner = PlanBehind(
        open_unit_of_work=open_unit,
        open_reading=open_reading,
        plan_day=use_cases.plan_day,
        **kept,
    )
    assert planner.plan_next()
    page = office.get(answer.headers["Location"])
    assert "as planned at" in page.text
    assert "Refresh" not in page.headers

"""What plans had meant goes after a time, unless something that stays refers to it."""

from dataclasses import replace
from datetime import timedelta

import pytest

from service.core.loads import HoldState, LoadState
from service.core.plans import SAID_LASTS, PlanForgotten
from service.gateways.time_and_ids import FreshIdentifiers
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.planning.behind import PlanBehind
from service.usecases.telling.changes.plan_changes import TellPlanChanges
from tests.database.books import DAY, NOW
from tests.database.movements import entry
from tests.database.test_folded_plans import told  # noqa: F401 - a fixture
from tests.fakes import SetClock
from tests.firms import DAY as PLANNED_DAY


@pytest.fixture
def tidied(open_unit, open_reading):
    """Return what tidies up some days after a day."""

    def tidy(day, days):
        clock = SetClock(replace_day(day) + timedelta(days=days))
        PlanBehind(
            open_unit_of_work=open_unit,
            open_reading=open_reading,
            clock=clock,
            identifiers=FreshIdentifiers(),
            plan_day=None,
        ).tidy()

    return tidy


def replace_day(day):
    return NOW.replace(year=day.year, month=day.month, day=day.day)


def test_a_superseded_load_goes_after_its_time_with_what_was_expected_of_it(
    open_unit, books, tidied
):
    load = books.another("loads", state=LoadState.SUPERSEDED, at_gate_at=None, locked=False)
    expected = books.another("hold_entries", load_id=load.id, state=HoldState.SUPERSEDED)
    expected = replace(expected, released_load_id=None)
    with open_unit() as unit:
        unit.loads.add(load)
        unit.hold_entries.add(expected)
        unit.commit()
    tidied(DAY, SAID_LASTS.days)
    with open_unit() as unit:
        assert unit.loads.get(books.firm.id, load.id) == load
    tidied(DAY, SAID_LASTS.days + 1)
    with open_unit() as unit:
        assert unit.loads.get(books.firm.id, load.id) is None
        assert unit.hold_entries.get(books.firm.id, expected.id) is None
        assert unit.loads.get(books.firm.id, books.loads.id) == books.loads


def noted(unit, books, load):
    unit.delivery_notes.add(books.another("delivery_notes", load_id=load.id, number="N-77"))


def booked(unit, books, load):
    unit.mass_movements.add(entry(books, 10.0, cause=load.id))


def amended(unit, books, load):
    unit.amendments.add(books.amendment(record_kind="loads", record_id=load.id))


def held(unit, books, load):
    unit.hold_entries.add(books.another("hold_entries", load_id=load.id, state=HoldState.RELEASED))


def brought_on(unit, books, load):
    unit.hold_entries.add(books.another("hold_entries", released_load_id=load.id))


def recalled(unit, books, load):
    unit.recalls.add(books.another("recalls", load_ids=(load.id,)))


def locked(unit, _books, load):
    unit.loads.replace(replace(load, version=2, locked=True), expected_version=1)


def seen_at_gate(unit, _books, load):
    unit.loads.replace(replace(load, version=2, at_gate_at=NOW), expected_version=1)


@pytest.mark.parametrize(
    "refer", [noted, booked, amended, held, brought_on, recalled, locked, seen_at_gate]
)
def test_a_superseded_load_that_something_refers_to_stays(open_unit, books, tidied, refer):
    load = books.another("loads", state=LoadState.SUPERSEDED, at_gate_at=None, locked=False)
    with open_unit() as unit:
        unit.loads.add(load)
        refer(unit, books, load)
        unit.commit()
    tidied(DAY, 400)
    with open_unit() as unit:
        assert unit.loads.get(books.firm.id, load.id) is not None


def test_recalled_loads_keep_no_others_for_ever(open_unit, books):
    gone = {"state": LoadState.SUPERSEDED, "at_gate_at": None, "locked": False}
    loads = [books.another("loads", **gone) for _ in range(4)]
    with open_unit() as unit:
        for load in loads:
            unit.loads.add(load)
        unit.recalls.add(books.another("recalls", load_ids=tuple(one.id for one in loads[:3])))
        unit.commit()
    with working_for(EveryFirm.TIDY), open_unit() as unit:
        before = DAY + timedelta(days=1)
        dropped = unit.forgetting.superseded_loads(books.firm.id, before, most=3)
        unit.commit()
    assert dropped == 1
    with open_unit() as unit:
        assert [unit.loads.get(books.firm.id, one.id) for one in loads[:3]] == loads[:3]
        assert unit.loads.get(books.firm.id, loads[3].id) is None


def test_what_a_superseded_plan_said_goes_after_its_time_and_its_figures_stay(
    told,  # noqa: F811 - the fixture
    open_reading,
    tidied,
):
    firm, plans = told
    tidied(PLANNED_DAY, SAID_LASTS.days)
    with open_reading() as unit:
        assert [unit.day_plans.get(plan.firm_id, plan.id) for plan in plans] == plans
    tidied(PLANNED_DAY, SAID_LASTS.days + 1)
    with open_reading() as unit:
        kept = [unit.day_plans.get(plan.firm_id, plan.id) for plan in plans]
    assert kept[-1] == plans[-1]
    assert kept[:-1] == [replace(p, routing={}, record_versions=None) for p in plans[:-1]]
    changes = TellPlanChanges(open_reading=open_reading)
    assert not changes(firm.caller, plans[-1].id).moved
    with pytest.raises(PlanForgotten):
        changes(firm.caller, plans[0].id)
    with pytest.raises(PlanForgotten):
        changes(firm.caller, plans[-1].id, since_id=plans[0].id)


def test_no_more_is_dropped_at_once_than_was_said_oldest_plans_first(
    told,  # noqa: F811 - the fixture
    open_unit,
):
    firm, plans = told
    with working_for(EveryFirm.TIDY), open_unit() as unit:
        before = PLANNED_DAY + timedelta(days=1)
        unit.forgetting.what_plans_said(firm.caller.firm_id, before, most=2)
        unit.commit()
    with open_unit() as unit:
        kept = [unit.day_plans.get(plan.firm_id, plan.id) for plan in plans]
    assert kept[2:] == plans[2:]
    assert [plan.routing for plan in kept[:2]] == [{}, {}]

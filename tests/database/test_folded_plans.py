"""Plans that were superseded take little room and read as they were told."""

from datetime import timedelta

import pytest
from sqlalchemy import func, select

from service.storage import planning_records
from service.storage.tables.work import DayPlanRow, FoldedPlanRow
from tests.firms import DAY, make_firm


@pytest.fixture
def told(open_unit, monkeypatch):
    """Plan a day six times, another job more each time; yield the firm and what was told."""
    monkeypatch.setattr(planning_records, "ALONE_EVERY", 3)
    firm = make_firm(open_unit)
    crew = firm.crew(firm.vehicle())
    lawns = [firm.lawn(number) for number in range(6)]
    plans = []
    for lawn in lawns:
        firm.clock.at += timedelta(minutes=1)
        firm.jobs.create(firm.caller, firm.job(lawn, crew))
        plans.append(firm.plan(firm.caller, firm.depot_id, DAY))
    return firm, plans


def test_every_plan_reads_as_it_was_told_however_many_came_after_it(told, open_reading):
    firm, plans = told
    with open_reading() as unit:
        assert [unit.day_plans.get(plan.firm_id, plan.id) for plan in plans] == plans
        assert unit.day_plans.all(firm.caller.firm_id) == plans
        assert unit.day_plans.latest(firm.caller.firm_id, firm.depot_id, DAY) == plans[-1]


@pytest.mark.usefixtures("told")
def test_only_the_newest_plan_takes_its_whole_room(engine):
    with engine.connect() as connection:
        whole = select(func.count()).where(DayPlanRow.record_versions.is_not(None))
        assert connection.execute(whole).scalar_one() == 1
        folded = connection.execute(select(FoldedPlanRow.beside_id)).scalars().all()
    assert [beside is None for beside in folded].count(True) == 1
    assert len(folded) == 5

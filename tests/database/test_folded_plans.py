"""Plans that were superseded take little room and read as they were told."""

import re
from datetime import timedelta

import pytest
from sqlalchemy import func, select

from service.storage.json_text import written
from service.storage.migrations import downgrade, migrations_folder, upgrade
from service.storage.repositories import planning_records
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


def test_the_way_back_unfolds_every_plan_as_it_was_written(told, open_reading, database_url):
    firm, plans = told
    downgrade(database_url, "0015")
    upgrade(database_url)
    with open_reading() as unit:
        kept = {plan.id: plan for plan in unit.day_plans.all(firm.caller.firm_id)}
    for plan in plans:
        assert written(kept[plan.id].routing) == written(plan.routing)
        assert kept[plan.id].record_versions == plan.record_versions


def test_a_migration_reads_and_writes_what_is_kept_without_the_service():
    for path in (migrations_folder() / "versions").glob("*.py"):
        assert "service" not in re.findall(
            r"^(?:from|import) (\w+)", path.read_text(), re.MULTILINE
        )


@pytest.mark.usefixtures("told")
def test_only_the_newest_plan_takes_its_whole_room(engine):
    with engine.connect() as connection:
        whole = select(func.count()).where(DayPlanRow.record_versions.is_not(None))
        assert connection.execute(whole).scalar_one() == 1
        folded = connection.execute(select(FoldedPlanRow.beside_id)).scalars().all()
    assert [beside is None for beside in folded].count(True) == 1
    assert len(folded) == 5

"""How many statements an answer costs: as many for a thousand records as for one."""

from dataclasses import replace
from datetime import timedelta

import pytest
from uuid_utils.compat import uuid7

from service.storage.engine import make_engine
from service.storage.repositories import repository
from service.storage.unit_of_work import unit_of_work_opener
from service.usecases.base.calendar import span_of
from service.usecases.day.replanning.still_out import outages_on
from tests.database.books import DAY, NOW
from tests.database.conftest import kept_books, noted


def asked(unit, books, ids):
    """Ask everything that planning and lists ask, of this many records."""
    firm_id = books.firm.id
    unit.lawns.get_many(firm_id, ids)
    unit.jobs.all(firm_id, lawn_id=tuple(ids))
    unit.jobs.count(firm_id, lawn_id=tuple(ids))
    unit.jobs.of_day(firm_id, books.depots.id, NOW - timedelta(days=1), NOW + timedelta(days=1))
    unit.jobs.visits(
        firm_id, ids, lawn_ids=ids, start=NOW - timedelta(days=1), end=NOW + timedelta(days=1)
    )
    unit.jobs.mowings_since(firm_id, ids, DAY)
    since = {"since": NOW - timedelta(days=9), "before": NOW + timedelta(days=1)}
    unit.jobs.last_cuts(firm_id, [books.vehicles.id], **since)
    unit.vehicle_outages.up_to(firm_id, DAY, back_after=NOW)
    unit.loads.last_tips(firm_id, [books.vehicles.id], **since)
    unit.mass_movements.brought(firm_id, ids, since=DAY, before=DAY + timedelta(days=9))
    unit.lawns.page(firm_id, filters={}, after=None, limit=len(ids))
    unit.working_days.bump(firm_id, depot_id=None, from_day=DAY, to_day=None)


@pytest.mark.parametrize("number", [1, 1000])
def test_questions_cost_one_statement_each(open_unit, books, statements, number):
    lawns = [books.another("lawns") for _ in range(number)]
    jobs = [books.another("jobs", lawn_id=lawn.id) for lawn in lawns]
    with open_unit() as unit:
        unit.lawns.add_many(lawns)
        unit.jobs.add_many(jobs)
        statements.clear()
        asked(unit, books, [lawn.id for lawn in lawns])
    assert len(statements) == 12


@pytest.mark.parametrize("number", [1, 1000])
def test_many_records_cost_a_few_statements_to_write(open_unit, books, statements, number):
    loads = [books.another("loads") for _ in range(number)]
    with open_unit() as unit:
        statements.clear()
        unit.loads.add_many(loads)
        assert len(statements) == 2  # the loads, and which lots are in them
        assert unit.loads.count(books.firm.id) == number + 1
        statements.clear()
        unit.loads.replace_many([replace(load, version=2) for load in loads])
        assert len(statements) == 3  # and which of them have no accepted ticket any more


@pytest.mark.parametrize(
    ("apart_days", "is_back", "number"),
    [(0, False, 1), (1, True, 1), (1, False, 4)],
    ids=["of the day", "back since", "open since a day before"],
)
def test_only_an_outage_without_an_end_asks_what_its_vehicle_did_since(
    open_unit, books, statements, *, apart_days, is_back, number
):
    out_since = NOW - timedelta(days=apart_days)
    back_at = out_since + timedelta(hours=1) if is_back else None
    with open_unit() as unit:
        unit.vehicle_outages.remove(books.firm.id, books.vehicle_outages.id)
        said = {"day": NOW.date() - timedelta(days=apart_days), "back_at": back_at}
        unit.vehicle_outages.add(books.another("vehicle_outages", out_since=out_since, **said))
        statements.clear()
        outages_on(unit, books.firm.id, span_of(books.depots, NOW.date()))
    assert len(statements) == number


def test_a_unit_that_asks_nothing_costs_nothing(open_unit, statements):
    with open_unit():
        pass
    assert statements == []


def test_more_ids_than_a_statement_takes_are_asked_in_a_few(open_unit, books, statements):
    many = [uuid7() for _ in range(repository.IDS_PER_STATEMENT * 2)]
    with open_unit() as unit:
        statements.clear()
        found = unit.lawns.get_many(books.firm.id, [*many, books.lawns.id])
    assert found == {books.lawns.id: books.lawns}
    assert len(statements) == 3


def test_no_question_reads_a_table_from_end_to_end(sqlite_url):
    # PostgreSQL reads tables as small as a test's as a whole, rightly; the indexes are the same.
    engine = make_engine(sqlite_url)
    open_unit = unit_of_work_opener(engine)
    books = kept_books(open_unit)
    sent = noted(engine)
    with open_unit() as unit:
        asked(unit, books, [books.lawns.id])
        unit.weighed_loads.newest(books.firm.id, of_firm=3, lawns=["a", "b"], of_lawn=2)
        unit.delivery_notes.find(books.delivery_notes.id)
        unit.api_keys.find(books.key.secret_sha256)
    statements = list(sent)
    with engine.connect() as connection:
        for statement in statements:
            plan = connection.exec_driver_sql(
                f"EXPLAIN QUERY PLAN {statement}", ("0",) * statement.count("?")
            )
            scans = [
                step[3]
                for step in plan
                # What a statement has gathered itself by an index may be gone through.
                if step[3].startswith("SCAN") and "anon" not in step[3] and "subq" not in step[3]
            ]
            # Each firm is asked in turn for a note that is known by its id alone.
            assert all("firms" in scan for scan in scans), (statement, scans)
    engine.dispose()

"""PostgreSQL shows a transaction the rows of one firm, whatever a statement forgets."""

from dataclasses import replace
from uuid import UUID

import pytest
from psycopg import sql
from sqlalchemy import inspect, text
from sqlalchemy.exc import ProgrammingError

from service.cli import main
from service.storage import backups
from service.storage.engine import make_engine
from service.storage.migrations import create, downgrade, upgrade
from service.storage.tables.wall import gaps_in_wall
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base import whose
from service.usecases.base.whose import FirmUnsaid, working_for
from tests.database.conftest import kept_books, noted
from tests.servers.postgresql import OWNER

STRANGERS = UUID(int=7)


@pytest.fixture
def walled(postgresql_server, postgresql_url):
    """Yield an engine that sees nothing unless somebody says whose it is, as where it is served."""
    name = postgresql_url.rpartition("/")[2]
    own = sql.SQL("ALTER ROLE {} IN DATABASE {} SET clipping.firm_id = ''")
    postgresql_server.administer(own.format(sql.Identifier(OWNER), sql.Identifier(name)))
    engine = make_engine(postgresql_url)
    yield engine
    engine.dispose()


@pytest.fixture
def firms(walled):
    """Return two firms' books, kept behind the wall."""
    return [kept_books(unit_of_work_opener(walled), name=name) for name in ("One", "Other")]


def counted(connection, table):
    return connection.execute(text(f"SELECT count(*) FROM {table}")).scalar_one()  # noqa: S608 - a table of ours


def sent(unit, statement, **values):
    """Send a statement of nobody's repository in the unit's own transaction."""
    return unit._connection.execute(text(statement), values)  # noqa: SLF001 - past every repository


def tables_of_firms(engine):
    asked = inspect(engine)
    return [
        table
        for table in asked.get_table_names()
        if "firm_id" in {column["name"] for column in asked.get_columns(table)}
    ]


def test_who_forgets_the_firm_sees_nothing_and_changes_nothing(walled, firms):
    with walled.begin() as connection:
        assert {counted(connection, table) for table in tables_of_firms(walled)} == {0}
        assert connection.execute(text("DELETE FROM planning_turns")).rowcount == 0
        assert connection.execute(text("UPDATE lawns SET name = 'Taken'")).rowcount == 0
    with unit_of_work_opener(walled)() as unit:
        assert [unit.lawns.count(books.firm.id) for books in firms] == [1, 1]


@pytest.mark.parametrize("opener", [unit_of_work_opener, reading_opener])
def test_a_question_without_its_firm_is_answered_of_the_firm_that_is_worked_for(
    walled, firms, opener
):
    one, other = firms
    with working_for(one.firm.id), opener(walled)() as unit:
        ids = sent(unit, "SELECT id FROM lawns").scalars().all()
        assert ids == [one.lawns.id]
        assert unit.lawns.get(other.firm.id, other.lawns.id) is None
        assert unit.jobs.all(other.firm.id) == []


def test_who_writes_for_another_firm_is_refused(walled, firms):
    one, other = firms
    lawn = other.another("lawns")
    with (
        working_for(one.firm.id),
        pytest.raises(ProgrammingError, match="row-level security"),
        unit_of_work_opener(walled)() as unit,
    ):
        unit.lawns.add(lawn)
    with (
        working_for(one.firm.id),
        unit_of_work_opener(walled)() as unit,
        pytest.raises(ProgrammingError, match="row-level security"),
    ):
        sent(unit, "UPDATE lawns SET firm_id = :firm", firm=other.firm.id)


def test_one_transaction_forgets_the_firm_of_the_one_before(walled, firms):
    one, other = firms
    for books in (one, other, one):
        with working_for(books.firm.id), unit_of_work_opener(walled)() as unit:
            ids = sent(unit, "SELECT id FROM lawns").scalars().all()
            assert ids == [books.lawns.id]
    with walled.connect() as connection:
        assert counted(connection, "lawns") == 0


def test_records_are_not_opened_before_somebody_says_whose(walled):
    with working_for(None), pytest.raises(FirmUnsaid), unit_of_work_opener(walled)():
        pass


def test_the_wall_costs_no_statement(walled, firms):
    told = noted(walled)
    with working_for(firms[0].firm.id), unit_of_work_opener(walled)() as unit:
        unit.lawns.get(firms[0].firm.id, firms[0].lawns.id)
        unit.commit()
    assert len(told) == 1


def test_every_table_of_firms_is_walled(walled, empty_postgresql_url):
    assert gaps_in_wall(walled) == []
    create(empty_postgresql_url)
    drawn = make_engine(empty_postgresql_url)
    assert gaps_in_wall(drawn) == []
    with drawn.begin() as connection:
        connection.execute(text("CREATE TABLE sheds (firm_id uuid, id uuid)"))
        connection.execute(text("ALTER TABLE lawns NO FORCE ROW LEVEL SECURITY"))
    assert gaps_in_wall(drawn) == ["No wall between firms stands around lawns, sheds."]
    drawn.dispose()


def test_a_superuser_is_told_that_no_wall_holds_him(postgresql_server, postgresql_url, capsys):
    url = postgresql_server.superusers_url(postgresql_url.rpartition("/")[2])
    assert main(["check", "--database-url", url]) == 0
    assert "PostgreSQL holds no wall between firms" in capsys.readouterr().err


def test_the_wall_goes_and_comes_with_what_is_kept(walled, firms, postgresql_url):
    downgrade(postgresql_url, "0028")
    with walled.connect() as connection:
        assert counted(connection, "lawns") == 2
        assert counted(connection, "pg_policy") == 0
    upgrade(postgresql_url)
    with working_for(firms[0].firm.id), unit_of_work_opener(walled)() as unit:
        # The hours of a lawn came later than this wall, so they went with it.
        kept = replace(firms[0].lawns, mowing_hours=())
        assert unit.lawns.all(firms[0].firm.id) == [kept]
    assert gaps_in_wall(walled) == []


@pytest.mark.usefixtures("walled")
def test_a_copy_made_behind_the_wall_holds_every_firm(
    firms, postgresql_url, empty_postgresql_url, tmp_path
):
    copy = tmp_path / "copy"
    backups.back_up(postgresql_url, copy)
    assert backups.restore(empty_postgresql_url, copy)
    engine = make_engine(empty_postgresql_url)
    with unit_of_work_opener(engine)() as unit:
        assert [unit.jobs.get(one.firm.id, one.jobs.id) for one in firms] == [
            one.jobs for one in firms
        ]
    assert gaps_in_wall(engine) == []
    engine.dispose()


def test_the_reasons_to_look_across_firms_are_these():
    assert {one.name for one in whose.EveryFirm} == {
        "CALLERS",
        "PLANNER",
        "TIDY",
        "QUEUE",
        "MIGRATIONS",
        "COPIES",
        "DEMO",
    }
    assert whose.whose() is whose.EveryFirm.CALLERS
    with working_for(STRANGERS):
        assert whose.whose() == STRANGERS

"""The migrations lead to the tables, back again, and never half the way."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from alembic.util import CommandError
from sqlalchemy import MetaData, Table, inspect, select, text
from sqlalchemy.exc import IntegrityError

from service.storage import migrations
from service.storage.engine import make_engine
from service.storage.migrations import KeysBroken, check, create, downgrade, upgrade
from service.storage.unit_of_work import unit_of_work_opener
from tests.copies import copied
from tests.database.conftest import kept_books
from tests.effort import LOST_AFTER_S


def shape_of(url):
    """Return all that a database tells of its tables."""
    engine = make_engine(url)
    asked = inspect(engine)
    shape = {}
    for table in sorted(set(asked.get_table_names()) - {"alembic_version"}):
        columns = [
            (column["name"], str(column["type"]), column["nullable"], column["default"])
            for column in asked.get_columns(table)
        ]
        shape[table] = {
            # One that is added stands last, wherever its field does; every statement names them.
            "columns": sorted(columns),
            "primary key": asked.get_pk_constraint(table),
            **{
                kind: sorted(ask(table), key=lambda item: str(item["name"]))
                for kind, ask in (
                    ("foreign keys", asked.get_foreign_keys),
                    ("unique", asked.get_unique_constraints),
                    ("checks", asked.get_check_constraints),
                    ("indexes", asked.get_indexes),
                )
            },
        }
    engine.dispose()
    return shape


def newest(*, before=0):
    """Return the newest revision, or one that came so many before it."""
    versions = (migrations.migrations_folder() / "versions").glob("*.py")
    return sorted(path.name[:4] for path in versions)[-1 - before]


def after_the_newest(*lines):
    """Return a migration that would come next."""
    head = ["from alembic import op", f'revision, down_revision = "9999", "{newest()}"']
    return "\n".join([*head, "def upgrade():", *(f"    {line}" for line in lines)])


@pytest.fixture
def drawn_url(request, database_url, tmp_path):
    """Return a second database of the same kind, made from the tables without a migration."""
    if database_url.startswith("sqlite"):
        url = f"sqlite:///{tmp_path / 'drawn.sqlite'}"
        drawn = None
    else:
        server = request.getfixturevalue("postgresql_server")
        drawn = f"drawn_{tmp_path.name.replace('-', '_')}"
        server.create_database(drawn)
        url = server.url(drawn)
    create(url)
    yield url
    if drawn is not None:
        server.drop_database(drawn)


def test_the_migrations_make_the_tables_as_they_are_drawn(database_url, drawn_url):
    check(database_url)
    check(drawn_url)
    # Of conditions, Alembic compares no more than the names on PostgreSQL; this compares the words.
    assert shape_of(database_url) == shape_of(drawn_url)


def test_there_is_a_way_back_and_forth(database_url):
    downgrade(database_url, "base")
    assert shape_of(database_url) == {}
    upgrade(database_url)
    check(database_url)


def test_what_a_depot_had_before_it_could_be_fair_stays(empty_database_url):
    upgrade(empty_database_url, "0001")
    engine = make_engine(empty_database_url)
    moment = "2026-05-24 12:00:00"
    with engine.begin() as connection:
        connection.execute(
            text(
                "INSERT INTO firms (id, name, address, phone, currency, created_at) "
                "VALUES (:id, 'Firm', 'Lane', '1', 'GBP', :at)"
            ),
            {"id": "0" * 31 + "1", "at": moment},
        )
        connection.execute(
            text(
                "INSERT INTO depots (firm_id, id, version, created_at, updated_at, name, address,"
                " point_latitude, point_longitude, time_zone, shift_starts, shift_ends,"
                " jurisdiction) VALUES (:firm, :id, 1, :at, :at, 'Yard', 'Lane', 51, 0, 'UTC',"
                " '07:00:00', '17:00:00', 'GB-ENG')"
            ),
            {"firm": "0" * 31 + "1", "id": "0" * 31 + "2", "at": moment},
        )
    upgrade(empty_database_url)
    settings = "fairness_limit_kg_per_m2", "fairness_price_cents_per_t_per_kg_per_m2"
    with engine.begin() as connection:
        depots = Table("depots", MetaData(), autoload_with=connection)
        kept = connection.execute(select(*(depots.c[name] for name in ("name", *settings)))).one()
        assert tuple(kept) == ("Yard", None, None)
        connection.execute(text("UPDATE depots SET fairness_limit_kg_per_m2 = 2.5"))
    with pytest.raises(IntegrityError), engine.begin() as connection:
        connection.execute(text("UPDATE depots SET fairness_limit_kg_per_m2 = 0"))
    downgrade(empty_database_url, "0001")
    with engine.begin() as connection:
        assert connection.execute(text("SELECT name FROM depots")).scalar_one() == "Yard"
    engine.dispose()


def test_a_lock_that_a_gates_word_set_is_none_of_the_dispatchers_any_more(database_url):
    engine = make_engine(database_url)
    open_unit = unit_of_work_opener(engine)
    books = kept_books(open_unit)
    seen, lock = {"at_gate_at": [None, "2026-05-24T11:00:00Z"]}, {"locked": [False, True]}
    histories = [[lock | seen], [lock, seen], []]
    loads = [books.another("loads") for _ in histories]
    with open_unit() as unit:
        for load, history in zip(loads, histories, strict=True):
            unit.loads.add(load)
            for version, changes in enumerate(history, start=2):
                about = {"record_kind": "loads", "record_id": load.id, "record_version": version}
                unit.amendments.add(books.amendment(**about, changes=changes))
        unit.commit()
    downgrade(database_url, "0030")
    upgrade(database_url)
    with open_unit() as unit:
        kept = [unit.loads.get(load.firm_id, load.id) for load in loads]
    assert [load.locked for load in kept] == [False, True, True]
    assert {load.at_gate_at for load in kept} == {books.loads.at_gate_at}
    engine.dispose()


def test_a_site_that_nobody_asked_has_not_said_that_it_takes_what_is_sour(database_url):
    engine = make_engine(database_url)
    open_unit = unit_of_work_opener(engine)
    books = kept_books(open_unit)
    said = {True: [{"takes_sour": [False, True]}], None: [{"name": ["Hill", "Hull"]}], False: []}
    sites = {answer: books.another("compost_sites", takes_sour=answer) for answer in said}
    with open_unit() as unit:
        for answer, site in sites.items():
            unit.compost_sites.add(site)
            for changes in said[answer]:
                about = {"record_kind": "compost_sites", "record_id": site.id, "record_version": 2}
                unit.amendments.add(books.amendment(**about, changes=changes))
        unit.commit()
    downgrade(database_url, "0037")
    upgrade(database_url)
    with open_unit() as unit:
        for answer, site in sites.items():
            assert unit.compost_sites.get(site.firm_id, site.id).takes_sour is answer
    engine.dispose()


def test_an_upgrade_of_what_is_new_already_changes_nothing(database_url):
    engine = make_engine(database_url)
    books = kept_books(unit_of_work_opener(engine))
    engine.dispose()
    upgrade(database_url)
    with unit_of_work_opener(engine)() as unit:
        assert unit.loads.get(books.firm.id, books.loads.id) == books.loads
    engine.dispose()


def test_a_database_that_is_behind_or_differs_is_told_from_one_that_is_right(database_url):
    downgrade(database_url, newest(before=1))
    with pytest.raises(CommandError, match="not up to date"):
        check(database_url)
    upgrade(database_url)
    engine = make_engine(database_url)
    with engine.begin() as connection:
        connection.execute(text("ALTER TABLE lawns ADD COLUMN colour TEXT"))
    engine.dispose()
    with pytest.raises(CommandError, match="colour"):
        check(database_url)


def test_two_that_upgrade_at_once_do_it_once(database_url):
    downgrade(database_url, newest(before=1))
    with ThreadPoolExecutor(1) as aside:
        # Alembic speaks through its module, so that two threads are no two processes; the lock
        # is held by a connection of our own instead.
        engine = make_engine(database_url)
        with engine.begin() as connection:
            if engine.dialect.name == "postgresql":
                lock = f"SELECT pg_advisory_xact_lock({migrations.ADVISORY_LOCK})"
                connection.exec_driver_sql(lock)
            waiting = aside.submit(upgrade, database_url)
            with pytest.raises(TimeoutError):
                waiting.result(timeout=1.0)
        waiting.result(timeout=LOST_AFTER_S)
        engine.dispose()
    check(database_url)


def test_a_migration_that_fails_leaves_nothing_behind(empty_database_url, tmp_path):
    folder = tmp_path / "migrations"
    copied(migrations.migrations_folder(), folder)
    (folder / "versions" / "9999_fail.py").write_text(
        after_the_newest(
            'op.execute("CREATE TABLE half_done (id INTEGER)")',
            'raise RuntimeError("the power went")',
        )
    )
    with pytest.raises(RuntimeError, match="the power went"):
        upgrade(empty_database_url, folder=folder)
    assert shape_of(empty_database_url) == {}


def test_a_migration_that_breaks_a_key_is_undone(sqlite_url, tmp_path):
    engine = make_engine(sqlite_url)
    kept_books(unit_of_work_opener(engine))
    engine.dispose()
    folder = tmp_path / "migrations"
    copied(migrations.migrations_folder(), folder)
    (folder / "versions" / "9999_lose.py").write_text(
        after_the_newest('op.execute("DELETE FROM clients")')
    )
    with pytest.raises(KeysBroken, match="properties"):
        upgrade(sqlite_url, folder=folder)
    with engine.connect() as connection:
        assert connection.execute(text("SELECT count(*) FROM clients")).scalar_one() == 1
    engine.dispose()


def test_a_database_of_another_kind_is_refused():
    with pytest.raises(ValueError, match="neither sqlite nor postgresql"):
        make_engine("mysql://nobody@127.0.0.1/none")

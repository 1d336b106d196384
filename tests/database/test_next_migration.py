"""The next migration is written by the command that contributors are told, and runs both ways."""

import re
import shlex
import shutil
from pathlib import Path

import pytest
from alembic.config import main as alembic
from sqlalchemy import BigInteger, CheckConstraint, Column, ForeignKey, MetaData, Table, Text, Uuid

from service.storage import tables
from service.storage.columns import JsonValue, UtcDateTime
from service.storage.engine import make_engine
from service.storage.migrations import check, downgrade, upgrade
from tests.copies import copied
from tests.database.test_migrations import newest, shape_of
from tests.effort import tried

CHECKOUT = Path(__file__).parents[2]


def told_command():
    """Return the command as it is printed for contributors."""
    (told,) = re.findall(r"`(alembic revision [^`]*)`", (CHECKOUT / "DEVELOPERS.md").read_text())
    return shlex.split(told)


@pytest.fixture
def checkout(tmp_path, monkeypatch):
    """Return a checkout of which only the migrations matter, as the folder one works in."""
    copied(CHECKOUT / "migrations", tmp_path / "migrations")
    shutil.copy(CHECKOUT / "pyproject.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def drawn(monkeypatch):
    """Return the tables, to be changed in this test alone."""
    copied = MetaData(naming_convention=tables.METADATA.naming_convention)
    for table in tables.METADATA.sorted_tables:
        table.to_metadata(copied)
    monkeypatch.setattr(tables, "METADATA", copied)
    return copied


def without(table, name):
    """Take a condition from a table."""
    (old,) = (one for one in table.constraints if str(one.name) == f"ck_{table.name}_{name}")
    table.constraints.remove(old)


def change_a_condition(drawn):
    loads = drawn.tables["loads"]
    without(loads, "destination_kind")
    loads.append_constraint(
        CheckConstraint("destination_kind IN ('bed', 'elsewhere')", name="destination_kind")
    )


def take_a_condition_away(drawn):
    without(drawn.tables["depots"], "shift")


def add_fields(drawn):
    clients = drawn.tables["clients"]
    clients.append_column(Column("visits", BigInteger(), nullable=True))
    clients.append_column(Column("greeted_at", UtcDateTime(), nullable=True))
    clients.append_column(Column("wishes", JsonValue, nullable=True))
    clients.append_constraint(CheckConstraint("visits >= 0", name="visits"))


def add_a_table(drawn):
    Table(
        "greetings",
        drawn,
        Column("firm_id", Uuid(), ForeignKey("firms.id"), primary_key=True),
        Column("id", Uuid(), primary_key=True),
        Column("at", UtcDateTime(), nullable=False),
        Column("words", Text(), nullable=False),
        CheckConstraint("words <> ''", name="words"),
    )


def all_at_once(drawn):
    for change in (change_a_condition, take_a_condition_away, add_fields, add_a_table):
        change(drawn)


def write_next(checkout):
    """Run the told command; return the file it wrote."""
    program, *arguments = told_command()
    assert program == "alembic"
    before = set((checkout / "migrations/versions").glob("*.py"))
    alembic(arguments, prog=program)
    (written,) = set((checkout / "migrations/versions").glob("*.py")) - before
    return written


@pytest.mark.parametrize(
    "change",
    tried([all_at_once, change_a_condition, take_a_condition_away, add_fields, add_a_table], 1),
)
def test_what_is_written_leads_to_the_tables_as_they_are_drawn_and_back(
    change, checkout, drawn, sqlite_url, tmp_path
):
    folder = checkout / "migrations"
    before = shape_of(sqlite_url)
    change(drawn)
    write_next(checkout)
    upgrade(sqlite_url, folder=folder)
    check(sqlite_url, folder=folder)
    url = f"sqlite:///{tmp_path / 'drawn.sqlite'}"
    engine = make_engine(url)
    drawn.create_all(engine)
    engine.dispose()
    assert shape_of(sqlite_url) == shape_of(url)
    downgrade(sqlite_url, newest(), folder=folder)
    assert shape_of(sqlite_url) == before


def test_what_is_written_runs_both_ways_on_postgresql(checkout, drawn, postgresql_url):
    folder = checkout / "migrations"
    before = shape_of(postgresql_url)
    all_at_once(drawn)
    write_next(checkout)
    upgrade(postgresql_url, folder=folder)
    shape = shape_of(postgresql_url)
    (kinds,) = (
        one for one in shape["loads"]["checks"] if one["name"] == "ck_loads_destination_kind"
    )
    assert "elsewhere" in kinds["sqltext"]
    assert len(shape["depots"]["checks"]) == len(before["depots"]["checks"]) - 1
    assert [one["name"] for one in shape["greetings"]["checks"]] == ["ck_greetings_words"]
    downgrade(postgresql_url, newest(), folder=folder)
    assert shape_of(postgresql_url) == before


def test_it_bears_the_next_number_and_is_formatted(checkout, drawn):
    add_fields(drawn)
    written = write_next(checkout)
    assert written.name.startswith(f"{int(newest()) + 1:04}_")
    text = written.read_text()
    assert f'down_revision = "{newest()}"' in text
    assert "service." not in text


def test_nothing_is_written_where_tables_and_migrations_agree(checkout):
    assert "op." not in write_next(checkout).read_text()


def test_a_database_whose_conditions_differ_is_told_from_one_that_is_right(drawn, sqlite_url):
    check(sqlite_url)
    change_a_condition(drawn)
    with pytest.raises(Exception, match="destination_kind"):
        check(sqlite_url)

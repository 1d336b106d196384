"""How the tables are built, so that data can be spread by firm."""

import typing
from dataclasses import fields, make_dataclass
from enum import StrEnum
from uuid import UUID

import pytest
from sqlalchemy import CheckConstraint, ForeignKeyConstraint, UniqueConstraint

from service.core.jobs import Job
from service.storage import unit_of_work
from service.storage.columns import RecordRow
from service.storage.mapping import RecordMapping
from service.storage.tables import METADATA
from service.storage.tables.places import ClientRow, LawnRow
from tests.database.books import ORDER, Books

OF_A_FIRM = sorted(set(METADATA.tables) - {"firms"})
# The directory, found before the firm is known: see `service.storage.tables.access`.
LED_BY_NO_FIRM = {
    "ix_api_keys_secret_sha256",
    "ix_sessions_id",
    "ix_sessions_secret_sha256",
}
# PostgreSQL cuts longer names (its documentation, 4.1.1: NAMEDATALEN less one).
LONGEST_NAME = 63

MAPPINGS = tuple(unit_of_work.RECORDS.values())


def keys_of(table):
    for constraint in table.constraints:
        if not isinstance(constraint, CheckConstraint):
            yield constraint.name, [column.name for column in constraint.columns]
    for index in table.indexes:
        yield index.name, [column.name for column in index.columns]


@pytest.mark.parametrize("name", OF_A_FIRM)
def test_every_key_and_index_leads_with_the_firm(name):
    leading = {key: columns[0] for key, columns in keys_of(METADATA.tables[name])}
    assert {key for key, first in leading.items() if first != "firm_id"} <= LED_BY_NO_FIRM


@pytest.mark.parametrize("name", OF_A_FIRM)
def test_whatever_is_named_is_the_same_firms(name):
    for constraint in METADATA.tables[name].constraints:
        if isinstance(constraint, ForeignKeyConstraint):
            named = [element.target_fullname for element in constraint.elements]
            assert named[0].endswith("firm_id") or named == ["firms.id"]


@pytest.mark.parametrize("name", OF_A_FIRM)
def test_every_foreign_key_is_the_beginning_of_an_index(name):
    table = METADATA.tables[name]
    starts = [
        [column.name for column in index.columns]
        for index in (
            *table.indexes,
            table.primary_key,
            *(c for c in table.constraints if isinstance(c, UniqueConstraint)),
        )
    ]
    for constraint in table.constraints:
        if isinstance(constraint, ForeignKeyConstraint):
            wanted = [column.name for column in constraint.columns]
            assert any(start[: len(wanted)] == wanted for start in starts), wanted


@pytest.mark.parametrize("name", sorted(METADATA.tables))
def test_every_constraint_has_a_name_that_no_database_cuts(name):
    table = METADATA.tables[name]
    names = [item.name for item in (*table.constraints, *table.indexes)]
    assert all(names)
    assert max(map(len, names)) <= LONGEST_NAME


def test_every_kind_of_record_has_its_table():
    kept = {mapping.table for mapping in MAPPINGS}
    rows = {row.__table__ for row in RecordRow.__subclasses__()}
    assert kept == rows
    assert {table.name for table in kept} == set(unit_of_work.RECORDS)


@pytest.mark.parametrize("mapping", MAPPINGS, ids=lambda mapping: mapping.kind)
def test_every_closed_list_of_words_is_closed_in_the_table_too(mapping):
    hints = typing.get_type_hints(mapping.record_type)
    words = {
        name: [word.value for word in hint]
        for name, hint in hints.items()
        if isinstance(hint, type) and issubclass(hint, StrEnum)
    }
    checks = {
        str(constraint.sqltext)
        for constraint in mapping.table.constraints
        if isinstance(constraint, CheckConstraint)
    }
    for name, allowed in words.items():
        listed = ", ".join(f"'{word}'" for word in allowed)
        assert f"{name} IN ({listed})" in checks


@pytest.mark.parametrize("mapping", MAPPINGS, ids=lambda mapping: mapping.kind)
def test_every_kept_number_has_its_bounds(mapping):
    bounded = " ".join(
        str(constraint.sqltext)
        for constraint in mapping.table.constraints
        if isinstance(constraint, CheckConstraint)
    )
    measured = {
        column.name
        for column in mapping.table.columns
        if column.type.python_type is float and not column.name.endswith("_value")
    }
    assert {name for name in measured if f"{name} " not in bounded} == set()


def test_the_first_example_of_every_kind_fills_every_field():
    books = Books()
    # A defaulted value would round-trip even if it were not kept.
    defaulted = {
        f"{name}.{field.name}"
        for name in ORDER
        for field in fields(getattr(books, name))
        if getattr(getattr(books, name), field.name) in (None, (), {})
    }
    assert defaulted == {
        "day_plans.supersedes_id",
        "delivery_notes.replaces_id",
        "jobs.duplicate_of_id",
    }


def test_a_field_without_a_column_is_found_at_the_start():
    with pytest.raises(KeyError, match="property_id"):
        RecordMapping(Job, ClientRow, "job")


def test_a_column_without_a_field_is_found_at_the_start():
    poor = make_dataclass("Poor", [("id", UUID)])
    with pytest.raises(TypeError, match="has no field for"):
        RecordMapping(poor, LawnRow, "lawn")

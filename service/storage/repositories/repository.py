"""Kept records of one kind, in one table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any, Final, Generic, TypeVar, cast
from uuid import UUID

from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    Update,
    bindparam,
    delete,
    func,
    select,
    update,
)

from service.core.errors import RecordExists, RecordMissing, VersionOvertaken
from service.core.records import AnyRecord
from service.storage.faults import keeping, removing
from service.storage.mapping import RecordMapping
from service.usecases.base.ports.unit_of_work import Page

# SQLite takes 32,766 parameters in a statement (its limits page, SQLITE_MAX_VARIABLE_NUMBER) and
# PostgreSQL 65,535 (a 16-bit count in its protocol's Bind message).
IDS_PER_STATEMENT = 10_000

# What so many records have in common that a page of them is found soonest along the ids, or that
# has an index in the order of ids.
WIDE: Final = frozenset(
    {"answer", "cause", "depot_id", "destination_kind", "locked", "state", "status"}
)

AnyId = TypeVar("AnyId")


class TableRepository(Generic[AnyRecord]):
    """Records of one kind, of the firm that is named and of no other."""

    def __init__(self, connection: Connection, mapping: RecordMapping[AnyRecord]) -> None:
        """Work in the transaction of the connection."""
        self._connection = connection
        self._mapping = mapping
        self._row = mapping.table.c

    def get(self, firm_id: UUID, record_id: UUID) -> AnyRecord | None:
        """Return the record, or None if the firm has none with this id."""
        asked = {"of_firm": firm_id, "of_record": record_id}
        row = self._connection.execute(_by_id(self._mapping), asked).first()
        return None if row is None else self._mapping.from_row(row)

    def get_many(self, firm_id: UUID, ids: Sequence[UUID]) -> dict[UUID, AnyRecord]:
        """Return those of the records that exist, by id."""
        return {record.id: record for record in self._named(firm_id, "id", ids)}

    def page(
        self, firm_id: UUID, *, filters: Mapping[str, object], after: UUID | None, limit: int
    ) -> Page[AnyRecord]:
        """Return a page ordered by id; one record more is read to see whether another follows."""
        asked = self._mapping.selected
        return self._page(asked, firm_id, filters=filters, after=after, limit=limit)

    def _page(
        self,
        columns: Select[Any],
        firm_id: UUID,
        *,
        filters: Mapping[str, object],
        after: UUID | None,
        limit: int,
    ) -> Page[AnyRecord]:
        wide = {name: value for name, value in filters.items() if name in WIDE}
        narrow = {name: value for name, value in filters.items() if name not in WIDE}
        asked = columns.where(self._row.firm_id == firm_id, *self._conditions(firm_id, wide))
        if narrow:
            # By the filter's own index; without this SQLite reads along the ids to save a sort.
            of_firm = select(self._row.id).where(self._row.firm_id == firm_id)
            asked = asked.where(self._row.id.in_(of_firm.where(*self._conditions(firm_id, narrow))))
        if after is not None:
            asked = asked.where(self._row.id > after)
        found = self._list(asked.order_by(self._row.id).limit(limit + 1))
        records = tuple(found[:limit])
        return Page(records=records, next_after=records[-1].id if len(found) > limit else None)

    def all(self, firm_id: UUID, **filters: object) -> list[AnyRecord]:
        """Return every record that matches, ordered by id, in one statement."""
        by_id = self._only_ids(filters)
        found = (
            self._list(self._of(firm_id, *self._conditions(firm_id, filters)))
            if by_id is None
            else self._named(firm_id, *by_id)
        )
        # Sorted here: to save a sort SQLite would read all that the firm has, along the ids.
        return sorted(found, key=lambda record: record.id)

    def count(self, firm_id: UUID, **filters: object) -> int:
        """Return how many match."""
        asked = (
            select(func.count())
            .select_from(self._mapping.table)
            .where(self._row.firm_id == firm_id, *self._conditions(firm_id, filters))
        )
        return int(self._connection.execute(asked).scalar_one())

    def add(self, record: AnyRecord) -> None:
        """Keep a new record. Raises RecordExists when the id is taken."""
        with keeping(self._mapping.kind, record.id):
            done = self._connection.execute(
                self._mapping.insert[self._connection.dialect.name], self._mapping.to_row(record)
            )
        if done.rowcount == 0:
            raise RecordExists(record=self._mapping.kind, id=record.id)

    def add_many(self, records: Sequence[AnyRecord]) -> None:
        """Keep many new records with one statement. Raises RecordExists when an id is taken."""
        if not records:
            return
        with keeping(self._mapping.kind, f"of one of {len(records)}"):
            done = self._connection.execute(
                self._mapping.insert[self._connection.dialect.name],
                [self._mapping.to_row(record) for record in records],
            )
        if done.rowcount < len(records):
            raise RecordExists(record=self._mapping.kind, id=self._other_than_kept(records).id)

    def replace(self, record: AnyRecord, *, expected_version: int) -> None:
        """Write a new version. Raises VersionOvertaken when the kept one is not the expected."""
        with keeping(self._mapping.kind, record.id):
            done = self._connection.execute(
                self._replaced(), self._new_version(record, expected_version=expected_version)
            )
        if done.rowcount == 0:
            self._raise_overtaken(record, expected_version)

    def replace_many(self, records: Sequence[AnyRecord]) -> None:
        """Write new versions, each over the one before it, with one statement."""
        if not records:
            return
        # Two that write the same records lock them in one order, so that neither waits in a ring.
        in_turn = sorted(records, key=lambda record: record.id)
        with keeping(self._mapping.kind, f"of one of {len(records)}"):
            done = self._connection.execute(
                self._replaced(),
                [self._new_version(each, expected_version=each.version - 1) for each in in_turn],
            )
        if done.rowcount < len(records):
            overtaken = self._other_than_kept(in_turn)
            self._raise_overtaken(overtaken, overtaken.version - 1)

    def _replaced(self) -> Update:
        """Return the statement that writes over the version that is expected, or over nothing."""
        return update(self._mapping.table).where(
            self._row.firm_id == bindparam("of_firm"),
            self._row.id == bindparam("of_record"),
            self._row.version == bindparam("expected_version"),
        )

    def _new_version(self, record: AnyRecord, *, expected_version: int) -> dict[str, Any]:
        values = self._mapping.to_row(record)
        # A key does not change; written again it would be checked again in all that names it.
        return {
            "of_firm": values.pop("firm_id"),
            "of_record": values.pop("id"),
            "expected_version": expected_version,
            **values,
        }

    def remove(self, firm_id: UUID, record_id: UUID) -> None:
        """Delete the record. Raises RecordMissing, and RecordInUse when others name it."""
        gone = delete(self._mapping.table).where(
            self._row.firm_id == firm_id, self._row.id == record_id
        )
        with removing(self._mapping.kind):
            done = self._connection.execute(gone)
        if done.rowcount == 0:
            raise RecordMissing(record=self._mapping.kind, id=record_id)

    def _raise_overtaken(self, record: AnyRecord, expected_version: int) -> None:
        current = self._connection.execute(
            select(self._row.version).where(
                self._row.firm_id == record.firm_id, self._row.id == record.id
            )
        ).scalar_one_or_none()
        if current is None:
            raise RecordMissing(record=self._mapping.kind, id=record.id)
        raise VersionOvertaken(
            record=self._mapping.kind, current=current, expected=expected_version
        )

    def _other_than_kept(self, records: Sequence[AnyRecord]) -> AnyRecord:
        """Return the first record that is kept with other content."""
        kept = self.get_many(records[0].firm_id, [record.id for record in records])
        return next((each for each in records if kept.get(each.id) != each), records[0])

    def _conditions(
        self,
        firm_id: UUID,  # noqa: ARG002 - what other tables answer is asked of the firm's own
        filters: Mapping[str, object],
    ) -> list[ColumnElement[bool]]:
        """Return what records must be like; books that are found by other tables say more."""
        return self._mapping.matches(filters)

    def _only_ids(self, filters: Mapping[str, object]) -> tuple[str, Sequence[UUID]] | None:
        """Return the column and the ids where nothing else is asked: that is put in words once."""
        # A book that is found by other tables takes names that are no columns of its own.
        if len(filters) != 1 or type(self) is not TableRepository:
            return None
        ((name, ids),) = filters.items()
        is_by_ids = isinstance(ids, tuple) and all(isinstance(one, UUID) for one in ids)
        return (name, cast("Sequence[UUID]", ids)) if is_by_ids else None

    def _of(self, firm_id: UUID, *conditions: ColumnElement[bool]) -> Select[Any]:
        return self._mapping.selected.where(self._row.firm_id == firm_id, *conditions)

    def _named(self, firm_id: UUID, column: str, ids: Sequence[UUID]) -> Iterator[AnyRecord]:
        """Yield the records that have one of some ids in a column."""
        asked = by_ids(self._mapping, column)
        for some in in_chunks(ids):
            found = self._connection.execute(asked, {"of_firm": firm_id, "of_ids": list(some)})
            for row in found:
                yield self._mapping.from_row(row)

    def _first(self, asked: Select[Any]) -> AnyRecord | None:
        row = self._connection.execute(asked).first()
        return None if row is None else self._mapping.from_row(row)

    def _list(self, asked: Select[Any]) -> list[AnyRecord]:
        return [self._mapping.from_row(row) for row in self._connection.execute(asked)]


@cache
def _by_id(mapping: RecordMapping[Any]) -> Select[Any]:
    """Return the statement that selects one record: made once, for it is asked most often."""
    row = mapping.table.c
    return mapping.selected.where(
        row.firm_id == bindparam("of_firm"), row.id == bindparam("of_record")
    )


@cache
def by_ids(mapping: RecordMapping[Any], column: str) -> Select[Any]:
    """Return the statement that selects what has one of some ids in a column: made once, too."""
    row = mapping.table.c
    return mapping.selected.where(
        row.firm_id == bindparam("of_firm"),
        row[column].in_(bindparam("of_ids", expanding=True)),
    )


def in_chunks(ids: Sequence[AnyId]) -> Iterator[Sequence[AnyId]]:
    """Yield the ids, as many at a time as a statement takes."""
    for start in range(0, len(ids), IDS_PER_STATEMENT):
        yield ids[start : start + IDS_PER_STATEMENT]

"""Texts as they stand in rows, read and written over by the names of tables and columns."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterator, Sequence
from typing import Any, Final, cast
from uuid import UUID

from sqlalchemy import (
    ColumnElement,
    Row,
    Table,
    Text,
    and_,
    delete,
    select,
    update,
)
from sqlalchemy import (
    cast as as_type,
)

from service.storage import json_text
from service.storage.columns import JsonValue
from service.storage.repositories.connected import Connected
from service.storage.repositories.repository import in_chunks
from service.storage.tables import METADATA
from service.storage.tables.work import FoldedPlanRow
from service.usecases.base.ports.kept_texts import KeptRow, Rewritten, Wanted

VERSION: Final = "version"
ROWS_AT_ONCE: Final = 200


class TableKeptTexts(Connected):
    """Rows by the names of their tables and columns."""

    def read(self, firm_id: UUID, wanted: Wanted, columns: Sequence[str]) -> list[KeptRow]:
        """Return some columns of rows, with what is nested in them as it reads from JSON."""
        table = METADATA.tables[wanted.table]
        return [_read(table, row, columns) for row in self._rows(table, firm_id, wanted, columns)]

    def rewrite(
        self, firm_id: UUID, wanted: Wanted, columns: Sequence[str], rewritten: Rewritten
    ) -> None:
        """Write over some columns of rows; of what has versions each that differs is a new one."""
        table = METADATA.tables[wanted.table]
        key = [column.name for column in table.primary_key]
        for row in list(self._rows(table, firm_id, wanted, columns)):
            kept = _read(table, row, columns)
            told = rewritten(kept)
            changed: dict[str, Any] = {
                name: value for name, value in told.items() if value != kept[name]
            }
            if not changed:
                continue
            if VERSION in table.c:
                changed[VERSION] = table.c[VERSION] + 1
            said = row._mapping  # noqa: SLF001 - its public name
            mine = and_(*(table.c[name] == said[name] for name in key))
            self._connection.execute(update(table).where(mine).values(changed))

    def forget_superseded_plans(self, firm_id: UUID) -> None:
        """Drop what plans said that others superseded; their figures stay."""
        self._connection.execute(delete(FoldedPlanRow).where(FoldedPlanRow.firm_id == firm_id))

    def _rows(
        self, table: Table, firm_id: UUID, wanted: Wanted, columns: Sequence[str]
    ) -> Iterator[Row[Any]]:
        """Yield the rows, JSON as the text that it is: most of it is not read."""
        asked = select(
            *(table.c[column.name] for column in table.primary_key),
            *(_as_kept(table, name) for name in columns if name not in table.primary_key.columns),
        ).where(table.c.firm_id == firm_id)
        if not wanted.words:
            for some in in_chunks(sorted(wanted.ids)):
                yield from self._connection.execute(asked.where(table.c[wanted.column].in_(some)))
            return
        said = tuple(_forms_of(wanted.words))
        for rows in self._connection.execute(asked).partitions(ROWS_AT_ONCE):
            for row in rows:
                texts = [row._mapping[name] for name in columns]  # noqa: SLF001 - its public name
                if any(one in text for text in map(_plainly, texts) for one in said):
                    yield row


def _as_kept(table: Table, name: str) -> ColumnElement[Any]:
    column = table.c[name]
    if isinstance(column.type, type(JsonValue)):
        return cast("ColumnElement[Any]", as_type(column, Text)).label(name)
    return column


def _forms_of(words: Collection[str]) -> Iterator[str]:
    """Yield each word as it stands in a text, and in JSON with letters escaped or not."""
    for word in words:
        yield from {word, *(json.dumps(word, ensure_ascii=said)[1:-1] for said in (True, False))}


def _plainly(value: Any) -> str:  # noqa: ANN401 - what any column keeps
    if isinstance(value, bytes):
        return value.decode(errors="replace")
    return "" if value is None else str(value)


def _read(table: Table, row: Row[Any], columns: Sequence[str]) -> dict[str, Any]:
    said = row._mapping  # noqa: SLF001 - its public name
    return {
        name: json_text.read(said[name])
        if isinstance(table.c[name].type, type(JsonValue)) and said[name] is not None
        else said[name]
        for name in columns
    }

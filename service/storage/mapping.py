"""Records to rows and back, by the annotations of the record: no copy written by hand.

A field is kept in the column of its name, as the column type keeps it. A measure is kept as it was
entered with its SI value beside it, a point as two numbers; every other nested value is JSON.
"""

from __future__ import annotations

import typing
from collections.abc import Callable, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields, is_dataclass
from datetime import UTC, date, datetime, time
from enum import StrEnum
from typing import Any, Generic, TypeVar, cast
from uuid import UUID

from sqlalchemy import JSON, Column, ColumnElement, Row, Table, or_, select

from service.core.measures.quantities import Measure
from service.core.places import Point
from service.storage import columns
from service.storage.statements import insert_new
from service.usecases.base.ports.unit_of_work import SAID

AnyKept = TypeVar("AnyKept")
Convert = Callable[[Any], Any]

PLAIN = frozenset({str, int, bool, bytes, UUID, date, datetime, time})


@dataclass(frozen=True, slots=True, kw_only=True)
class Codec:
    """How a value is written and read; None where it needs no change."""

    write: Convert | None = None
    read: Convert | None = None


AS_IT_IS = Codec()


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldMap:
    """Where one field is kept: its columns, how it is spread over them and gathered again."""

    name: str
    columns: tuple[Column[Any], ...]
    spread: Callable[[Any], Sequence[Any]] | None = None
    gather: Callable[..., Any] | None = None
    codec: Codec = AS_IT_IS


class RecordMapping(Generic[AnyKept]):
    """One kind of record and its table."""

    def __init__(self, record_type: type[AnyKept], row_type: type[columns.Row], kind: str) -> None:
        """Pair every field with its columns.

        Parameters
        ----------
        record_type
            A frozen dataclass.
        row_type
            The typed row; every column must belong to a field.
        kind
            The record's name in sentences, such as "compost site".
        """
        self.record_type = record_type
        self.table = cast("Table", row_type.__table__)
        self.kind = kind
        self.insert = insert_new(self.table)
        self.fields = tuple(
            _field_map(name, kept_as, self.table, may_be_missing=may_be_missing)
            for name, kept_as, may_be_missing in columns.fields_of(cast("Any", record_type))
        )
        self.columns = tuple(column for field in self.fields for column in field.columns)
        # Drawn once: a statement's columns and conditions are asked about each time it is made.
        self.selected = select(*self.columns)
        left_over = set(self.table.columns) - set(self.columns)
        if left_over:
            raise TypeError(f"{record_type.__name__} has no field for {left_over}")
        self._by_name = {field.name: field for field in self.fields}

    def to_row(self, record: AnyKept) -> dict[str, Any]:
        """Return column name -> value."""
        row: dict[str, Any] = {}
        for field in self.fields:
            value = getattr(record, field.name)
            if field.spread is not None:
                row.update(zip((c.name for c in field.columns), field.spread(value), strict=True))
            elif value is None or field.codec.write is None:
                row[field.columns[0].name] = value
            else:
                row[field.columns[0].name] = field.codec.write(value)
        return row

    def from_row(self, row: Row[Any]) -> AnyKept:
        """Return the record of a row that was selected as `columns`."""
        values: dict[str, Any] = {}
        place = 0
        for field in self.fields:
            value = row[place]
            if field.gather is not None:
                value = field.gather(*row[place : place + len(field.columns)])
            elif value is not None and field.codec.read is not None:
                value = field.codec.read(value)
            values[field.name] = value
            place += len(field.columns)
        return self.record_type(**values)

    def matches(self, filters: Mapping[str, object]) -> list[ColumnElement[bool]]:
        """Return the conditions that fields have these values (a tuple: any of them; SAID: any).

        Raises
        ------
        ValueError
            If a field is unknown or is not kept in one plain column.
        """
        return [self._matches(name, wanted) for name, wanted in filters.items()]

    def _matches(self, name: str, wanted: object) -> ColumnElement[bool]:
        field = self._by_name.get(name)
        if field is None or len(field.columns) > 1 or isinstance(field.columns[0].type, JSON):
            raise ValueError(f"{self.kind} records cannot be filtered by {name}")
        write = field.codec.write or _unchanged
        column = field.columns[0]
        if wanted is SAID:
            return column.is_not(None)
        if isinstance(wanted, tuple):
            said = column.in_([write(value) for value in wanted if value is not None])
            return or_(said, column.is_(None)) if None in wanted else said
        return column.is_(None) if wanted is None else column == write(wanted)


def _field_map(name: str, inner: Any, table: Table, *, may_be_missing: bool) -> FieldMap:  # noqa: ANN401 - any annotation
    if inner is Measure:
        kept = tuple(table.columns[f"{name}{part}"] for part in columns.PARTS[Measure])
        return FieldMap(name=name, columns=kept, spread=_spread_measure, gather=_gather_measure)
    if inner is Point:
        kept = tuple(table.columns[f"{name}{part}"] for part in columns.PARTS[Point])
        return FieldMap(name=name, columns=kept, spread=_spread_point, gather=_gather_point)
    column = table.columns[name]
    if column.nullable != may_be_missing:
        raise TypeError(f"{table.name}.{name} and its field differ on whether it may be missing")
    if inner in PLAIN:
        return FieldMap(name=name, columns=(column,))
    return FieldMap(name=name, columns=(column,), codec=json_codec(inner))


def _spread_measure(value: Measure | None) -> tuple[float | None, str | None, float | None]:
    return (None, None, None) if value is None else (value.value, value.unit, value.si_value)


def _gather_measure(value: float | None, unit: str | None, _si_value: float) -> Measure | None:
    return None if value is None or unit is None else Measure(value=value, unit=unit)


def _spread_point(point: Point | None) -> tuple[float | None, float | None]:
    return (None, None) if point is None else (point.latitude, point.longitude)


def _gather_point(latitude: float | None, longitude: float | None) -> Point | None:
    if latitude is None or longitude is None:
        return None
    return Point(latitude=latitude, longitude=longitude)


def json_codec(hint: Any) -> Codec:  # noqa: ANN401 # any annotation
    """Return how a value of this annotation is written as JSON and read again.

    Raises
    ------
    TypeError
        If there is no way; at start, not when the first record comes.
    """
    inner, optional = columns.without_none(hint)
    codec = _json_codec(inner)
    return _optional(codec) if optional else codec


def _json_codec(hint: Any) -> Codec:  # noqa: ANN401 # any annotation
    origin, arguments = typing.get_origin(hint), typing.get_args(hint)
    if hint in _JSON_CODECS:
        return _JSON_CODECS[hint]
    if origin is tuple and arguments[1:] == (...,):
        return _tuple_codec(json_codec(arguments[0]))
    if origin is dict and arguments in {(str, object), (str, str), (str, int)}:
        return AS_IT_IS
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return Codec(write=_word, read=hint)
    if isinstance(hint, type) and is_dataclass(hint):
        return _dataclass_codec(hint)
    raise TypeError(f"no way to keep {hint}")


def _tuple_codec(item: Codec) -> Codec:
    write, read = item.write, item.read
    return Codec(
        write=list if write is None else lambda values: [write(value) for value in values],
        read=tuple if read is None else lambda values: tuple(read(value) for value in values),
    )


def _optional(codec: Codec) -> Codec:
    write, read = codec.write, codec.read
    return Codec(
        write=None if write is None else lambda value: None if value is None else write(value),
        read=None if read is None else lambda value: None if value is None else read(value),
    )


def _dataclass_codec(record_type: type[Any]) -> Codec:
    hints = typing.get_type_hints(record_type)
    codecs = {field.name: json_codec(hints[field.name]) for field in fields(record_type)}
    required = {
        field.name
        for field in fields(record_type)
        if field.default is MISSING and field.default_factory is MISSING
    }

    def write(value: Any) -> dict[str, Any]:  # noqa: ANN401 # any dataclass
        found = {name: getattr(value, name) for name in codecs}
        return {
            name: found[name] if codec.write is None else codec.write(found[name])
            for name, codec in codecs.items()
        }

    def read(kept: Mapping[str, Any]) -> Any:  # noqa: ANN401 # any dataclass
        # A field added later is missing from what was kept before, and then has its default.
        return record_type(
            **{
                name: kept[name] if codec.read is None else codec.read(kept[name])
                for name, codec in codecs.items()
                if name in kept or name in required
            }
        )

    return Codec(write=write, read=read)


def _word(value: StrEnum) -> str:
    return value.value


def _moment(value: datetime) -> str:
    if value.utcoffset() is None:
        raise ValueError(f"{value.isoformat()} has no time zone")
    return value.astimezone(UTC).isoformat()


def _unchanged(value: object) -> object:
    return value


_JSON_CODECS: dict[Any, Codec] = {
    str: AS_IT_IS,
    int: AS_IT_IS,
    bool: AS_IT_IS,
    object: AS_IT_IS,
    float: Codec(write=float, read=float),
    UUID: Codec(write=str, read=UUID),
    date: Codec(write=date.isoformat, read=date.fromisoformat),
    time: Codec(write=time.isoformat, read=time.fromisoformat),
    datetime: Codec(write=_moment, read=datetime.fromisoformat),
}

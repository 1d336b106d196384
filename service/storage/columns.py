"""What tables are made of: types that keep a value exactly, and keys that lead with the firm."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields
from datetime import UTC, date, datetime, time
from enum import StrEnum
from functools import cache
from inspect import get_annotations
from types import NoneType, UnionType
from typing import Any, ClassVar, Union, cast, get_args, get_origin, get_type_hints
from uuid import UUID

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    CheckConstraint,
    Date,
    DateTime,
    Dialect,
    Double,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    LargeBinary,
    MetaData,
    Table,
    Text,
    Time,
    Uuid,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, MappedColumn, mapped_column
from sqlalchemy.schema import SchemaItem
from sqlalchemy.types import TypeDecorator, TypeEngine

from service.core.measures.quantities import Measure
from service.core.places import Point

NAMING = {
    "pk": "pk_%(table_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
}

# Beyond any number of the trade, and below it there is neither NaN nor infinity: PostgreSQL sorts
# NaN above all numbers, so only an upper bound keeps it out.
FINITE_LIMIT = "1e300"


class UtcDateTime(TypeDecorator[datetime]):
    """A moment. It goes in with its zone and comes out in UTC, on every database."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse a time without a zone; SQLite, which keeps no zones, gets UTC without one."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"{value.isoformat()} has no time zone")
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Return the moment in UTC, whatever zone the connection speaks."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if dialect.name == "sqlite" else value.astimezone(UTC)


# Plain JSON, not JSONB: it keeps the text as it was written, so that 1e22 stays a float and the
# order of keys stays; nothing is searched inside these values.
JsonValue = JSON(none_as_null=True)


class Row(DeclarativeBase):
    """Base of all rows."""

    metadata = MetaData(naming_convention=NAMING)
    type_annotation_map: ClassVar[dict[Any, TypeEngine[Any]]] = {
        str: Text(),
        int: BigInteger(),
        float: Double(),
        bytes: LargeBinary(),
        datetime: UtcDateTime(),
        UUID: Uuid(),
        dict[str, Any]: JsonValue,
        list[Any]: JsonValue,
    }


class FirmRow(Row):
    """The rows of one firm: they can be moved to a place of their own, keys and all."""

    __abstract__ = True

    firm_id: Mapped[UUID] = mapped_column(ForeignKey("firms.id"), primary_key=True, sort_order=-5)


class RecordRow(FirmRow):
    """What every kept record has; see `service.core.records.Record`."""

    __abstract__ = True

    id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    version: Mapped[int] = mapped_column(sort_order=-3)
    created_at: Mapped[datetime] = mapped_column(sort_order=-2)
    updated_at: Mapped[datetime] = mapped_column(sort_order=-1)

    def __init_subclass__(cls, *, of: type | None = None, **options: object) -> None:
        """Have a column for each field of a record, and count versions from one.

        A field is named in a row where a statement asks for it by name; all others follow from
        the record. Constraints are the table's: Alembic overlooks what a column is told.
        """
        for name, column in () if of is None else _columns_of(of):
            if name not in get_annotations(cls) and not hasattr(cls, name):
                setattr(cls, name, column)
        super().__init_subclass__(**options)
        bounds = () if of is None else _bounds_of(of)
        for constraint in (*counted_from(1, "version"), *bounds):
            cast("Table", cls.__table__).append_constraint(constraint)


# What a value is kept in that takes several columns, by what is added to its field's name.
PARTS: Mapping[type, Mapping[str, type]] = {
    Measure: {"_value": float, "_unit": str, "_si_value": float},
    Point: {"_latitude": float, "_longitude": float},
}
_TYPES = {**Row.type_annotation_map, bool: Boolean(), date: Date(), time: Time()}


@cache
def fields_of(record: type) -> tuple[tuple[str, Any, bool], ...]:
    """Return the name of each field, its annotation without None, and whether None was in it."""
    hints = get_type_hints(record)
    return tuple((one.name, *without_none(hints[one.name])) for one in fields(record))


def _columns_of(record: type) -> Iterator[tuple[str, MappedColumn[Any]]]:
    for name, kept_as, may_be_missing in fields_of(record):
        for part, kind in PARTS.get(kept_as, {"": kept_as}).items():
            yield f"{name}{part}", mapped_column(_type_of(kind), nullable=may_be_missing)


def _type_of(kind: Any) -> TypeEngine[Any]:  # noqa: ANN401 - any annotation
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        kind = str
    return _TYPES.get(kind, JsonValue)


def _bounds_of(record: type) -> Iterator[CheckConstraint]:
    """Yield what holds for every field of its kind: closed lists of words, and points."""
    for name, kept_as, may_be_missing in fields_of(record):
        if isinstance(kept_as, type) and issubclass(kept_as, StrEnum):
            yield one_of(name, kept_as)
        if kept_as is Point:
            latitude, longitude = f"{name}_latitude", f"{name}_longitude"
            yield from (*between(-90, 90, latitude), *between(-180, 180, longitude))
            if may_be_missing:
                both = f"({latitude} IS NULL) = ({longitude} IS NULL)"
                yield CheckConstraint(both, name=f"{name}_whole")


def without_none(hint: Any) -> tuple[Any, bool]:  # noqa: ANN401 - any annotation
    """Return the annotation without None, and whether None was in it."""
    if get_origin(hint) not in {Union, UnionType}:
        return hint, False
    kept = [argument for argument in get_args(hint) if argument is not NoneType]
    if len(kept) != 1:
        raise TypeError(f"no way to keep {hint}")
    return kept[0], True


def names(field: str, table: str, *, then: Sequence[str] = ()) -> Sequence[SchemaItem]:
    """Return the foreign key from a field to a record of the same firm, with its index.

    The index serves the question "is it still named?" before a delete; `then` are further fields
    that it serves too.
    """
    return (names_by_unique(field, table), indexed(field, *then))


def names_by_unique(field: str, table: str) -> ForeignKeyConstraint:
    """Return the foreign key alone, where a unique constraint begins with the field anyway."""
    return ForeignKeyConstraint(["firm_id", field], [f"{table}.firm_id", f"{table}.id"])


def indexed(*fields: str) -> Index:
    """Return an index on fields within a firm; what lists are filtered by ends in their order."""
    return Index(None, "firm_id", *fields)


def one_of(field: str, words: type[StrEnum]) -> CheckConstraint:
    """Return the constraint that a field is one of these words."""
    listed = ", ".join(f"'{word.value}'" for word in words)
    return CheckConstraint(f"{field} IN ({listed})", name=field)


def counted_from(least: int, *fields: str) -> Sequence[CheckConstraint]:
    """Return the constraints that whole numbers are not less than one."""
    return tuple(CheckConstraint(f"{field} >= {least}", name=field) for field in fields)


def not_negative(*fields: str) -> Sequence[CheckConstraint]:
    """Return the constraints that fields are finite and nothing or more."""
    return tuple(
        CheckConstraint(f"{field} >= 0 AND {field} < {FINITE_LIMIT}", name=field)
        for field in fields
    )


def finite(*fields: str) -> Sequence[CheckConstraint]:
    """Return the constraints that fields are finite, below zero or above it."""
    return tuple(
        CheckConstraint(f"{field} > -{FINITE_LIMIT} AND {field} < {FINITE_LIMIT}", name=field)
        for field in fields
    )


def above_zero(*fields: str) -> Sequence[CheckConstraint]:
    """Return the constraints that fields are finite and more than nothing."""
    return tuple(
        CheckConstraint(f"{field} > 0 AND {field} < {FINITE_LIMIT}", name=field) for field in fields
    )


def between(least: float, most: float, *fields: str) -> Sequence[CheckConstraint]:
    """Return the constraints that fields lie between two numbers, both included."""
    return tuple(
        CheckConstraint(f"{field} >= {least:g} AND {field} <= {most:g}", name=field)
        for field in fields
    )

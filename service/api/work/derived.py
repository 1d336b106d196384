"""Shapes derived from the records that answers are told in: what is told is described once."""

from __future__ import annotations

import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from typing import Annotated, Any, Final, Literal, Union, get_args, get_origin, get_type_hints
from uuid import UUID

from service.api.work.shapes import (
    DAY,
    FLAG,
    ID,
    MEMBERS,
    MOMENT,
    TEXT,
    Shape,
    maybe,
    one_of,
    several,
    whole,
)
from service.usecases.telling.told.forms import Bounds, Words, told_fields

_SCALARS: Final[dict[Any, Shape]] = {
    str: TEXT,
    UUID: ID,
    datetime: MOMENT,
    date: DAY,
    bool: FLAG,
    int: {"type": "integer"},
    float: {"type": "number"},
}


def shape_of(record: type, *, of_members: Mapping[str, Shape] | None = None, **more: Any) -> Shape:
    """Return the shape of a told record.

    Parameters
    ----------
    of_members
        Shapes of members whose annotation says less than is told of them.
    more
        What else is said of the whole: ``title``, ``description``.
    """
    return whole(
        members_of(record, of_members=of_members),
        older_lack=[field.name for field in fields(record) if field.metadata.get("newer")],
        **more,
    )


def members_of(record: type, *, of_members: Mapping[str, Shape] | None = None) -> dict[str, Shape]:
    """Return the shapes of a told record's members, by their names."""
    hints = get_type_hints(record, include_extras=True)
    own = of_members or {}
    return {
        field.name: own[field.name] if field.name in own else _shape(hints[field.name])
        for field in told_fields(record)
    }


def _shape(hint: Any) -> Shape:  # noqa: PLR0911 - one answer a kind of annotation
    origin, arguments = get_origin(hint), get_args(hint)
    if origin is Annotated:
        shape = _shape(arguments[0])
        for said in arguments[1:]:
            shape = shape | _said(said)
        return shape
    if origin is Literal:
        return {"const": arguments[0]} if len(arguments) == 1 else one_of(arguments)
    if origin in {Union, types.UnionType}:
        (inner,) = (one for one in arguments if one is not types.NoneType)
        return _or_null(_shape(inner))
    if origin is tuple:
        return several(_shape(arguments[0]))
    if hint in _SCALARS:
        return _SCALARS[hint]
    if isinstance(hint, type) and issubclass(hint, Enum):
        return one_of(hint)
    if is_dataclass(hint) and isinstance(hint, type):
        return shape_of(hint)
    if origin is not None and issubclass(origin, Mapping):
        named = arguments[1]
        return MEMBERS if named is object else {**MEMBERS, "additionalProperties": _shape(named)}
    raise TypeError(f"no shape is known for {hint}")


def _said(said: str | Bounds | Words) -> Shape:
    """Return what stands beside a type as members of its shape."""
    if isinstance(said, str):
        return {"description": said}
    if isinstance(said, Words):
        return one_of(said.words)
    return {"minimum": said.low} | ({} if said.high is None else {"maximum": said.high})


def _or_null(shape: Shape) -> Shape:
    if shape.get("type") in {"string", "number", "integer"} and "enum" not in shape:
        return {**shape, "type": [shape["type"], "null"]}
    return maybe(shape)

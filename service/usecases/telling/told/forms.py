"""What told records are made of: bounded numbers, members that older answers lack, plain JSON.

A record is a frozen dataclass. Its annotations say what callers may rely on: the contract is
derived from them, so nothing is described twice. A text beside a type says what is meant.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import Field, dataclass, fields, is_dataclass
from datetime import date
from enum import Enum
from functools import cache
from typing import Annotated, Any, Final
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Bounds:
    """The least and the greatest that a number may be; None is no bound."""

    low: float
    high: float | None = None


@dataclass(frozen=True, slots=True)
class Words:
    """The closed list of what a text may be."""

    words: tuple[str, ...]


Amount = Annotated[float, Bounds(0)]
Count = Annotated[int, Bounds(0)]
Chance = Annotated[float, Bounds(0, 1)]
Longitude = Annotated[float, Bounds(-180, 180)]
Latitude = Annotated[float, Bounds(-90, 90)]

# Metadata of a member that answers composed and kept by an earlier version do not have.
NEWER: Final[Mapping[str, bool]] = {"newer": True}
# Metadata of a member that is for the service alone: no answer has it.
UNTOLD: Final[Mapping[str, bool]] = {"untold": True}


_AS_IT_IS: Final = frozenset({str, int, float, bool})  # most of an answer, and asked first


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """The three ends of an estimate."""

    low: Amount
    likely: Amount
    high: Amount


def told_fields(record: Any) -> list[Field[Any]]:  # noqa: ANN401 - a told record, or its type
    """Return the fields of a told record that are told."""
    return [field for field in fields(record) if not field.metadata.get("untold")]


@cache
def _told_names(kind: type[Any]) -> tuple[str, ...]:
    return tuple(field.name for field in told_fields(kind))


def plain(told: Any) -> Any:  # noqa: ANN401 - any part of an answer
    """Return a told record JSON-ready; moments keep the offset they are told with."""
    if told is None or type(told) in _AS_IT_IS:
        return told
    if is_dataclass(told) and not isinstance(told, type):
        return {name: plain(getattr(told, name)) for name in _told_names(type(told))}
    if isinstance(told, tuple | list):
        return [plain(one) for one in told]
    if isinstance(told, Enum):
        return told.value
    if isinstance(told, date):
        return told.isoformat()
    return str(told) if isinstance(told, UUID) else told

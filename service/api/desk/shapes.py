"""Shapes that the answers of the desk are made of, as JSON Schema, and how numbers are told."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from service.api.fields.quantities import significant
from service.rules.rows import Kind, Standing

Shape = dict[str, Any]

# An estimate is good to a fifth at best; four digits are more than it knows. What was entered,
# counted or printed has no spread and keeps the digits it has.
_ESTIMATED_DIGITS: Final = 4
_EXACT_DIGITS: Final = 10
_ENDS: Final = ("low", "likely", "high")

TEXT: Final[Shape] = {"type": "string"}
MAYBE_TEXT: Final[Shape] = {"type": ["string", "null"]}
DAY: Final[Shape] = {"type": "string", "format": "date"}
MAYBE_DAY: Final[Shape] = {"type": ["string", "null"], "format": "date"}
MOMENT: Final[Shape] = {"type": "string", "format": "date-time"}
IDENTIFIER: Final[Shape] = {"type": "string", "format": "uuid"}
FLAG: Final[Shape] = {"type": "boolean"}
MAYBE_FLAG: Final[Shape] = {"type": ["boolean", "null"]}
NUMBER: Final[Shape] = {"type": "number"}
MAYBE_NUMBER: Final[Shape] = {"type": ["number", "null"]}
AMOUNT: Final[Shape] = {"type": "number", "minimum": 0}
MAYBE_AMOUNT: Final[Shape] = {"type": ["number", "null"], "minimum": 0}
COUNT: Final[Shape] = {"type": "integer", "minimum": 0}
MAYBE_COUNT: Final[Shape] = {"type": ["integer", "null"], "minimum": 0}
SHARE: Final[Shape] = {"type": "number", "minimum": 0, "maximum": 1}
MEMBERS: Final[Shape] = {"type": "object"}


def all_of(members: Mapping[str, Shape], **more: Any) -> Shape:
    """Return an object that has every one of the members, and may have more later."""
    return {"type": "object", "properties": dict(members), "required": list(members), **more}


def list_of(items: Shape) -> Shape:
    """Return a list."""
    return {"type": "array", "items": items}


def map_of(values: Shape) -> Shape:
    """Return an object whose names are data and whose values are alike."""
    return {"type": "object", "additionalProperties": values}


def maybe(shape: Shape) -> Shape:
    """Return a shape that may be null."""
    return {"anyOf": [shape, {"type": "null"}]}


def words(some: Iterable[object]) -> Shape:
    """Return one of a closed list of words."""
    return {"type": "string", "enum": [str(word) for word in some]}


SOURCE: Final = all_of(
    {
        "author": TEXT,
        "year": {"type": ["integer", "null"]},
        "title": TEXT,
        "address": TEXT,
        "seen": MAYBE_DAY,
        "standing": TEXT,
        "erratum": MAYBE_TEXT,
        "note": MAYBE_TEXT,
    },
    description="A source in full; `seen` is the day it was read.",
)

RULE: Final = all_of(
    {
        "name": TEXT,
        "case": map_of(TEXT),
        "low": NUMBER,
        "likely": NUMBER,
        "high": NUMBER,
        "unit": TEXT,
        "kind": words(Kind),
        "standing": words(Standing),
        "scope": TEXT,
        "where": TEXT,
        "jurisdiction": MAYBE_TEXT,
        "since": DAY,
        "until": MAYBE_DAY,
        "binds": {
            "anyOf": [
                all_of(
                    {
                        "ground": list_of(TEXT),
                        "basis": list_of(TEXT),
                        "carriers": list_of(TEXT),
                    }
                ),
                {"type": "null"},
            ],
            "description": (
                "Whom a row of law binds: kinds of ground, bases of a bed, carriers; `any` where "
                "it asks for none. Null of every other row."
            ),
        },
        "sources": list_of(TEXT),
    },
    description="One dated value of a rule: what it is about, in force where and when, by whom.",
)

SOURCES: Final = {
    "type": "object",
    "additionalProperties": SOURCE,
    "description": "By the keys that rules and estimates name.",
}

WHY: Final = all_of(
    {
        "rulebook_version": TEXT,
        "day": DAY,
        "jurisdiction": MAYBE_TEXT,
        "rules": list_of(RULE),
        "sources": SOURCES,
    },
    description="Every rule that was looked up for the result, and every source behind it.",
)

ESTIMATE: Final = all_of(
    {
        "low": AMOUNT,
        "likely": AMOUNT,
        "high": AMOUNT,
        "unit": TEXT,
        "basis": TEXT,
        "sources": list_of(TEXT),
    },
    description="A quantity with its spread: the 10th, 50th and 90th percentile.",
)

FACTOR: Final = all_of({"name": TEXT, **ESTIMATE["properties"]})


def deserved(value: Any) -> Any:
    """Return a result with no more digits than it deserves."""
    if isinstance(value, float):
        return significant(value, _ESTIMATED_DIGITS)
    if isinstance(value, Mapping):
        ends = [value.get(end) for end in _ENDS]
        if isinstance(ends[1], float) and ends[0] == ends[2]:
            exact = significant(ends[1], _EXACT_DIGITS)
            return {**value, **dict.fromkeys(_ENDS, exact)}
        return {name: deserved(inner) for name, inner in value.items()}
    if isinstance(value, list | tuple):
        return [deserved(inner) for inner in value]
    return value

"""Shapes that the answers of the desk are made of, as JSON Schema, and how numbers are told."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.api.fields.quantities import significant
from service.api.work.shapes import (
    AMOUNT,
    DAY,
    MAYBE_DAY,
    MAYBE_TEXT,
    NUMBER,
    TEXT,
    map_of,
    one_of,
    several,
    whole,
)
from service.rules.rows import Kind, Standing

# An estimate is good to a fifth at best; four digits are more than it knows. What was entered,
# counted or printed has no spread and keeps the digits it has.
_ESTIMATED_DIGITS: Final = 4
_EXACT_DIGITS: Final = 10
_ENDS: Final = ("low", "likely", "high")

SOURCE: Final = whole(
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

RULE: Final = whole(
    {
        "name": TEXT,
        "case": map_of(TEXT),
        "low": NUMBER,
        "likely": NUMBER,
        "high": NUMBER,
        "unit": TEXT,
        "kind": one_of(Kind),
        "standing": one_of(Standing),
        "scope": TEXT,
        "where": TEXT,
        "jurisdiction": MAYBE_TEXT,
        "since": DAY,
        "until": MAYBE_DAY,
        "binds": {
            "anyOf": [
                whole(
                    {
                        "ground": several(TEXT),
                        "basis": several(TEXT),
                        "carriers": several(TEXT),
                    }
                ),
                {"type": "null"},
            ],
            "description": (
                "Whom a row of law binds: kinds of ground, bases of a bed, carriers; `any` where "
                "it asks for none. Null of every other row."
            ),
        },
        "sources": several(TEXT),
    },
    description="One dated value of a rule: what it is about, in force where and when, by whom.",
)

SOURCES: Final = {
    "type": "object",
    "additionalProperties": SOURCE,
    "description": "By the keys that rules and estimates name.",
}

WHY: Final = whole(
    {
        "rulebook_version": TEXT,
        "day": DAY,
        "jurisdiction": MAYBE_TEXT,
        "rules": several(RULE),
        "sources": SOURCES,
    },
    description="Every rule that was looked up for the result, and every source behind it.",
)

ESTIMATE: Final = whole(
    {
        "low": AMOUNT,
        "likely": AMOUNT,
        "high": AMOUNT,
        "unit": TEXT,
        "basis": TEXT,
        "sources": several(TEXT),
    },
    description="A quantity with its spread: the 10th, 50th and 90th percentile.",
)

FACTOR: Final = whole({"name": TEXT, **ESTIMATE["properties"]})


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

"""Pieces that the shapes of answers are made of."""

from __future__ import annotations

from typing import Any, Final

Shape = dict[str, Any]

TEXT: Final[Shape] = {"type": "string"}
MAYBE_TEXT: Final[Shape] = {"type": ["string", "null"]}
ID: Final[Shape] = {"type": "string", "format": "uuid"}
MAYBE_ID: Final[Shape] = {"type": ["string", "null"], "format": "uuid"}
MOMENT: Final[Shape] = {"type": "string", "format": "date-time"}
FLAG: Final[Shape] = {"type": "boolean"}
AMOUNT: Final[Shape] = {"type": "number", "minimum": 0}
NUMBER: Final[Shape] = {"type": "number"}
CENTS: Final[Shape] = {"type": "integer"}
MEMBERS: Final[Shape] = {"type": "object"}
PLACE: Final[dict[str, Shape]] = {
    "longitude": {"type": "number", "minimum": -180, "maximum": 180},
    "latitude": {"type": "number", "minimum": -90, "maximum": 90},
}


def every_one(members: dict[str, Shape], **more: Any) -> Shape:
    """Return an object that has every one of the members, and may have more later."""
    return {"type": "object", "properties": members, "required": list(members), **more}


def list_of(items: Shape) -> Shape:
    """Return a list of such items."""
    return {"type": "array", "items": items}


def one_of(words: Any) -> Shape:
    """Return one of these words."""
    return {"type": "string", "enum": [str(word) for word in words]}

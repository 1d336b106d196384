"""What the shapes of composed answers are made of."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from service.usecases.telling.routing.overflow import PLACES

Shape = dict[str, Any]

TEXT: Final[Shape] = {"type": "string"}
MAYBE_TEXT: Final[Shape] = {"type": ["string", "null"]}
ID: Final[Shape] = {"type": "string", "format": "uuid"}
MAYBE_ID: Final[Shape] = {"type": ["string", "null"], "format": "uuid"}
MOMENT: Final[Shape] = {"type": "string", "format": "date-time"}
MAYBE_MOMENT: Final[Shape] = {"type": ["string", "null"], "format": "date-time"}
DAY: Final[Shape] = {"type": "string", "format": "date"}
MAYBE_DAY: Final[Shape] = {"type": ["string", "null"], "format": "date"}
FLAG: Final[Shape] = {"type": "boolean"}
MAYBE_FLAG: Final[Shape] = {"type": ["boolean", "null"]}
AMOUNT: Final[Shape] = {"type": "number", "minimum": 0}
MAYBE_AMOUNT: Final[Shape] = {"type": ["number", "null"], "minimum": 0}
NUMBER: Final[Shape] = {"type": "number"}
MAYBE_NUMBER: Final[Shape] = {"type": ["number", "null"]}
COUNT: Final[Shape] = {"type": "integer", "minimum": 0}
MAYBE_COUNT: Final[Shape] = {"type": ["integer", "null"], "minimum": 0}
# A share, or a probability.
CHANCE: Final[Shape] = {"type": "number", "minimum": 0, "maximum": 1}
CENTS: Final[Shape] = {"type": "integer"}
MEMBERS: Final[Shape] = {"type": "object"}


def whole(members: dict[str, Shape], *, older_lack: Sequence[str] = (), **more: Any) -> Shape:
    """Return an object that has every one of the members, and may have more later.

    Parameters
    ----------
    older_lack
        Members that answers composed and kept by an earlier version do not have.
    """
    required = [name for name in members if name not in older_lack]
    return {"type": "object", "properties": members, "required": required, **more}


def several(items: Shape) -> Shape:
    """Return a list of such items."""
    return {"type": "array", "items": items}


def map_of(values: Shape) -> Shape:
    """Return an object whose names are data and whose values are alike."""
    return {"type": "object", "additionalProperties": values}


def maybe(shape: Shape) -> Shape:
    """Return a shape that may be null."""
    return {"anyOf": [shape, {"type": "null"}]}


def one_of(words: Any) -> Shape:
    """Return a text that is one of the words."""
    return {"type": "string", "enum": [str(word) for word in words]}


RANGE: Final = whole({"low": AMOUNT, "likely": AMOUNT, "high": AMOUNT})

CREW_MINUTE: Final = whole(
    {"cents": {"type": ["integer", "null"], "minimum": 0}, "basis": TEXT, "sources": several(TEXT)},
    description=(
        "What a minute of a crew on the way, at a tip or loading counts, in hundredths of the "
        "firm's currency, and by whose word. Null: it is not priced, and `basis` says why."
    ),
)

OVERFLOW: Final = whole(
    {
        "vehicles": TEXT,
        "destinations": TEXT,
        "lots": TEXT,
        "correlation": CHANCE,
        "warned_above": whole(dict.fromkeys(PLACES, CHANCE)),
        "sources": several(TEXT),
    },
    description="What the chances of overflow mean, and what they rest on.",
)

"""The shape of a delivery note's text in the contract."""

from __future__ import annotations

from typing import Any, Final

_LIST: Final[dict[str, Any]] = {"type": "array"}

NOTE: Final[dict[str, Any]] = {
    "type": "object",
    "description": (
        "The facts of the note, and the sentences chosen from them by key; with a language, the "
        "words too."
    ),
    "properties": {
        "facts": {"type": "object", "description": "What the note rests on, in SI units."},
        "answers": _LIST,
        "origins": _LIST,
        "sections": _LIST,
        "changes": _LIST,
        "standing": _LIST,
        "acknowledgement_choices": _LIST,
        "words": {"type": "object"},
    },
    "required": [
        "facts",
        "answers",
        "origins",
        "sections",
        "changes",
        "standing",
        "acknowledgement_choices",
    ],
}

"""The shape of a delivery note's text in the contract."""

from __future__ import annotations

from typing import Any, Final

from service.api.work.shapes import FLAG, MEMBERS, TEXT, several, whole

_TONE: Final = {**TEXT, "description": "How loud it is: plain, care or stop."}
_LINE: Final = whole(
    {"key": TEXT, "tone": _TONE, "gaps": MEMBERS},
    description="A sentence of the language files by its key, and what fills its gaps.",
)
_LINES: Final = several(_LINE)

NOTE: Final[dict[str, Any]] = {
    "type": "object",
    "description": (
        "The facts of the note, and the sentences chosen from them by key; with a language, the "
        "words too."
    ),
    "properties": {
        "facts": {"type": "object", "description": "What the note rests on, in SI units."},
        "answers": several(whole({"question": TEXT, "tone": _TONE, "lines": _LINES})),
        "origins": several(whole({"lot_code": TEXT, "tone": _TONE, "lines": _LINES})),
        "sections": several(whole({"heading": TEXT, "in_order": FLAG, "lines": _LINES})),
        "changes": _LINES,
        "standing": _LINES,
        "acknowledgement_choices": several(TEXT),
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

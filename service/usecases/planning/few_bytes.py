"""What is left out of a vehicle's day where a bad connection carries no more."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, Final

# What a bad connection carries in a second or two; the brief of the answer, no source.
LARGEST_BYTES: Final = 5_000
# Room for the answer's frame, a signed link and what JSON adds.
FRAME_BYTES: Final = 500
# What is left of a text that is cut [bytes].
SHORT_BYTES: Final = 160
# What keeps people from harm is never cut: each of our own cautions is shorter than this [bytes].
# A longer one quotes the place's own words, which a note and the crew's stops tell whole.
CAUTION_BYTES: Final = 360
# Codes of lots that a gate asks for one by one; the others are counted.
FEW_CODES: Final = 3

Told = dict[str, Any]


def fitting(told: Told) -> Told:
    """Return an answer of at most so many bytes: least wanted first, as little as possible goes."""
    for less in _LESS:
        while _bytes(told) > LARGEST_BYTES - FRAME_BYTES and (smaller := less(told)) != told:
            told = smaller
    return told


def _one_stop_less(told: Told) -> Told:
    """Count what is furthest ahead in place of telling it."""
    if len(told["stops"]) < 2:  # noqa: PLR2004 - the next one is always told
        return told
    return told | {"stops": told["stops"][:-1], "stops_after": told["stops_after"] + 1}


def _one_change_less(told: Told) -> Told:
    return told | {"changed": told["changed"][:-1]}


def _without_plan_b(told: Told) -> Told:
    return _of_tip(told, {"plan_b": None})


def _shortened(told: Told) -> Told:
    smaller: Told = _short(told)
    return smaller


def _without_access(told: Told) -> Told:
    stops = [stop | {"access": None} if "access" in stop else stop for stop in told["stops"]]
    return _of_tip(told | {"stops": stops}, {"access": None})


def _few_codes(told: Told) -> Told:
    show = (told["next_tip"] or {}).get("show") or {"lot_codes": []}
    return _of_tip(told, {"show": show | {"lot_codes": show["lot_codes"][:FEW_CODES]}})


def _own_words_cut(told: Told) -> Told:
    said = (told["next_tip"] or {}).get("cautions", ())
    return _of_tip(told, {"cautions": [_cut(text, CAUTION_BYTES) for text in said]})


_LESS: Final[tuple[Callable[[Told], Told], ...]] = (
    _one_stop_less,
    _one_change_less,
    _without_plan_b,
    _shortened,
    _without_access,
    _few_codes,
    _own_words_cut,
)


def _of_tip(told: Told, members: Told) -> Told:
    """Return the answer with some members of its next tip otherwise, if it has one."""
    return told | {"next_tip": told["next_tip"] | members} if told["next_tip"] else told


def _short(told: Any) -> Any:  # noqa: ANN401 - JSON of any kind
    if isinstance(told, str):
        return _cut(told, SHORT_BYTES)
    if isinstance(told, dict):
        return {n: one if n.startswith("caution") else _short(one) for n, one in told.items()}
    return [_short(one) for one in told] if isinstance(told, list) else told


def _cut(text: str, most_bytes: int) -> str:
    written = text.encode()
    if len(written) <= most_bytes:
        return text
    end = "…"
    # A character that is cut in two is left out.
    return written[: most_bytes - len(end.encode())].decode(errors="ignore").rstrip() + end


def _bytes(told: Told) -> int:
    return len(json.dumps(told, ensure_ascii=False).encode())

"""A client's hours in a form: the same one or two spans on all days that are ticked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import time
from typing import Any, Final

from service.core.acceptance.hours import OpeningHours
from service.pages.setup.filing import Filing, Values
from service.pages.setup.words import WEEK

_WHOLE: Final = (time(0), time(23, 59))
_SPANS: Final = (("opens", "closes"), ("opens_again", "closes_again"))
CELLS: Final = ("days", *(name for pair in _SPANS for name in pair))


def windows_of(filing: Filing, row: int, values: Values) -> tuple[OpeningHours, ...]:
    """Return the hours that a row says: without days on all, without hours the whole day."""
    days = values["days"]
    spans = []
    for opens, closes in _SPANS:
        begins, ends = values[opens], values[closes]
        if (begins is None) is not (ends is None):
            filing.wrong(row, closes if ends is None else opens, "Say from when and until when.")
        elif begins is not None and begins == ends:
            filing.wrong(row, closes, "It ends when it begins: write another hour.")
        elif begins is not None:
            spans.append((begins, ends))
    if values["opens"] is None and values["opens_again"] is not None:
        filing.wrong(row, "opens", "Say the first hours before the second.")
    if days is None and not spans:
        return ()
    return tuple(
        OpeningHours(weekday=weekday, opens=opens, closes=closes, last_load=closes)
        for weekday, name in enumerate(WEEK)
        if days is None or name in days
        for opens, closes in spans or (_WHOLE,)
    )


def windows_shown(hours: Sequence[OpeningHours]) -> dict[str, Any] | None:
    """Return the cells that say these hours; None where a form cannot show them."""
    found: dict[int, list[tuple[time, time]]] = defaultdict(list)
    for one in hours:
        found[one.weekday].append((one.opens, one.closes))
    kinds = {tuple(sorted(spans)) for spans in found.values()}
    if not hours:
        return {}
    if len(kinds) > 1 or any(one.last_load != one.closes for one in hours):
        return None
    (spans,) = kinds
    if len(spans) > len(_SPANS):
        return None
    told: dict[str, Any] = {"days": tuple(tuple(WEEK)[weekday] for weekday in sorted(found))}
    if spans != (_WHOLE,):
        for names, span in zip(_SPANS, spans, strict=False):
            told |= dict(zip(names, span, strict=True))
    return told

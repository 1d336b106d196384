"""Whether people may be on a treated lawn yet: a clock of its own, beside that of the clippings."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from service.core.treatments import Treatment
from service.usecases.base.calendar import DaySpan, clock_words

CODE: Final = "people_not_back_yet"


def kept_off(
    treatments: Sequence[Treatment], at: datetime, *, span: DaySpan
) -> dict[str, object] | None:
    """Return until when nobody goes on a lawn, and for what, or None; the latest word counts."""
    found = [
        (treatment.people_may_return_at, treatment)
        for treatment in treatments
        if treatment.people_may_return_at is not None
        and treatment.applied_on <= at.date()
        and at < treatment.people_may_return_at
    ]
    if not found:
        return None
    until, treatment = max(found, key=lambda item: item[0])
    there = until.astimezone(span.zone)
    clock = clock_words(there, day=span.day)
    return {
        "code": CODE,
        "until": there.isoformat(),
        "product": treatment.product,
        "sentence": (
            f"Nobody goes on this lawn before {clock}: the label of {treatment.product}. "
            "Do not mow until then."
        ),
    }

"""Something that waits for a word: how urgent it is, until when, and what can be done."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import IntEnum
from typing import Any, Final
from uuid import UUID

from service.usecases.base.calendar import clock_words
from service.usecases.day.facts import DayFacts
from service.usecases.telling.warnings.subjects import MARK

MOMENT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d)?(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)")


class Urgency(IntEnum):
    """Act at once; before the day is over; some day soon."""

    NOW = 0
    TODAY = 1
    SOON = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Something that can be done about it: in words, and the request that does it."""

    what: str
    method: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """One item; ``deadline`` is when it gets worse, None where nobody can say.

    ``caution`` is to be minded with it; many items have the same. ``subject`` is whom it is about,
    by name: lawns, the place, the vehicle. ``word`` names the field of its load, or else its place,
    that holds somebody's word.
    """

    code: str
    urgency: Urgency
    sentence: str
    subject: tuple[str, ...] = ()
    deadline: datetime | None = None
    caution: str | None = None
    lot_codes: tuple[str, ...] = ()
    vehicle_id: UUID | None = None
    load_id: UUID | None = None
    job_id: UUID | None = None
    hold_entry_id: UUID | None = None
    destination_kind: str | None = None
    destination_id: UUID | None = None
    ways: tuple[Way, ...] = ()
    word: str | None = None

    def to_json(self) -> dict[str, Any]:
        """Return it, JSON-ready."""
        ids = ("vehicle_id", "load_id", "job_id", "hold_entry_id", "destination_id")
        return {
            "code": self.code,
            "urgency": self.urgency.name.lower(),
            "deadline": None if self.deadline is None else self.deadline.isoformat(),
            "sentence": self.sentence,
            "subject": MARK.join(self.subject) or None,
            "caution": self.caution,
            "lot_codes": list(self.lot_codes),
            "destination_kind": self.destination_kind,
            **{name: _text(getattr(self, name)) for name in ids},
            "ways": [
                {"what": way.what, "method": way.method, "href": way.href} for way in self.ways
            ],
        }


def _text(record_id: UUID | None) -> str | None:
    return None if record_id is None else str(record_id)


def most_urgent_first(found: Iterable[Decision]) -> tuple[Decision, ...]:
    """Return decisions in the order they are to be taken; what has no deadline comes last."""

    def rank(one: Decision) -> tuple[int, bool, float, str, str]:
        at = one.deadline
        late = 0.0 if at is None else at.timestamp()
        return one.urgency, at is None, late, one.code, one.sentence

    return tuple(sorted(found, key=rank))


def in_words(sentence: str, now: datetime) -> str:
    """Return a sentence with its moments as the clock there shows them, with the day if another."""

    def told(found: re.Match[str]) -> str:
        at = datetime.fromisoformat(found[0]).astimezone(now.tzinfo)
        return clock_words(at, day=now.date())

    return MOMENT.sub(told, sentence)


def clock_of_day(facts: DayFacts, at: datetime) -> str:
    """Return what the depot's clock shows at a moment, with the date if it is another day's."""
    return clock_words(at.astimezone(facts.span.zone), day=facts.span.day)


def at_load(load_id: UUID | str) -> tuple[Way, ...]:
    """Return what can be said of a load."""
    return (Way(what="Say what happened to it", method="PATCH", href=f"/loads/{load_id}"),)


TIP: Final = Way(what="Say where it was tipped", method="POST", href="/loads")

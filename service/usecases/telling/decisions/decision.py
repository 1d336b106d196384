"""Something that waits for a word: how urgent it is, until when, and what can be done."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

from service.core.loads import Load
from service.core.places import DestinationKind
from service.usecases.base.calendar import clock_words
from service.usecases.day.facts import DayFacts
from service.usecases.telling.told.forms import UNTOLD, Count, plain
from service.usecases.telling.warnings.subjects import MARK

MOMENT: Final = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(?::\d\d)?(?:\.\d+)?(?:Z|[+-]\d\d:\d\d)")


class Urgency(StrEnum):
    """Act at once; before the day is over; some day soon. The order of the words is theirs."""

    NOW = "now"
    TODAY = "today"
    SOON = "soon"


class Gravity(StrEnum):
    """What a matter is about, the gravest first: of two that are as urgent it is taken first."""

    HURTS = "hurts"
    TAINTED = "tainted"
    HEATS = "heats"
    LAW = "law"
    MASS = "mass"
    PAPERS = "papers"


# What is not named is of papers. Common practice, no source.
GRAVITY: Final = {
    code: gravity
    for gravity, codes in {
        Gravity.HURTS: ("people_not_back_yet", "vehicle_may_be_overloaded"),
        Gravity.TAINTED: (
            "do_not_tip",
            "lay_in_one_body",
            "recall",
            "recall_to_call",
            "recalled_aboard",
            "said_where_brought",
        ),
        Gravity.HEATS: (
            "aboard_overnight",
            "going_sour",
            "gone_sour",
            "held_amber",
            "held_hot",
            "held_red",
            "load_stands",
            "loaded_hot",
            "turned_away",
            "was_it_loaded",
        ),
        Gravity.LAW: ("over_limit", "outside_mowing_hours", "tipped_where_refused"),
        Gravity.MASS: (
            "at_gate",
            "bay_over_volume",
            "cut_before_tip",
            "destination_may_overflow",
            "do_not_tip_all",
            "job_exceeds_vehicle",
            "leave_on_lawn",
            "long_under_way",
            "lot_too_large",
            "no_room_for_what_is_aboard",
            "nobody_takes_over",
            "nobody_takes_what_is_aboard",
            "part_not_mown",
            "planned_not_reported",
            "site_shuts_first",
            "tip_not_kept",
            "unplaced",
            "vehicle_may_overflow",
            "vehicle_out",
            "vehicle_still_out",
            "refused_later",
            "vehicle_was_overloaded",
        ),
    }.items()
    for code in codes
}


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
    that holds somebody's word. Of ``count`` that are one matter, told in ``each``, an id that they
    do not share is None: each has its ways. ``own`` is what the sentence says of one of them alone.
    ``graver`` is said where it is about something else than others of its code.
    """

    code: str
    urgency: Urgency
    deadline: datetime | None = None
    sentence: str
    subject: tuple[str, ...] = ()
    caution: str | None = None
    lot_codes: tuple[str, ...] = ()
    destination_kind: DestinationKind | None = None
    vehicle_id: UUID | None = None
    load_id: UUID | None = None
    job_id: UUID | None = None
    hold_entry_id: UUID | None = None
    destination_id: UUID | None = None
    ways: tuple[Way, ...] = ()
    count: Count = 1
    own: str | None = field(default=None, metadata=UNTOLD)
    each: tuple[Decision, ...] = field(default=(), metadata=UNTOLD)
    word: str | None = field(default=None, metadata=UNTOLD)
    graver: Gravity | None = field(default=None, metadata=UNTOLD)

    @property
    def gravity(self) -> Gravity:
        """Return what it is about: what is said of it alone, else what its code is."""
        return self.graver or GRAVITY.get(self.code, Gravity.PAPERS)

    def to_json(self) -> dict[str, Any]:
        """Return it, JSON-ready."""
        return {**plain(self), "subject": MARK.join(self.subject) or None}


def most_urgent_first(found: Iterable[Decision]) -> tuple[Decision, ...]:
    """Return decisions in the order they are to be taken; what has no deadline comes last.

    Of what is as urgent that is first by which somebody may be hurt.
    """
    urgencies, gravities = tuple(Urgency), tuple(Gravity)

    def rank(one: Decision) -> tuple[int, int, bool, float, str, str]:
        at = one.deadline
        late = 0.0 if at is None else at.timestamp()
        how = urgencies.index(one.urgency), gravities.index(one.gravity)
        return *how, at is None, late, one.code, one.sentence

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


def about_load(load: Load) -> dict[str, Any]:
    """Return the members of a decision that name a load, what is in it and where it goes."""
    return {
        "lot_codes": tuple(part.lot_code for part in load.parts),
        "vehicle_id": load.vehicle_id,
        "load_id": load.id,
        "destination_kind": load.destination_kind,
        "destination_id": load.destination_id,
    }


def size_is_so(job_id: UUID | str) -> Way:
    """Return how somebody says that a cut is as large as recorded."""
    return Way(
        what="Say that it is as large as recorded (size_is_so): the doubt ends",
        method="POST",
        href=f"/jobs/{job_id}/decisions",
    )


TIP: Final = Way(what="Say where it was tipped", method="POST", href="/loads")

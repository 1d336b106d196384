"""The day's plan: which vehicle does what in which order, and why each lot goes where."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Final
from uuid import UUID

from service.core.errors import Refusal
from service.core.places import DestinationKind
from service.core.records import Record

# How long after its day superseded loads are kept, and what a superseded plan said: who asks why a
# crew was sent elsewhere asks within a month or two. Common practice, no source.
SAID_LASTS: Final = timedelta(days=60)


class RuleClass(StrEnum):
    """Who made the rule. Only advice and a client's wish may be overridden by one person."""

    LAW = "law"
    LABEL = "label"
    ROAD = "road"
    SITE = "site"
    CLIENT = "client"
    ADVICE = "advice"


class Ground(StrEnum):
    """What a refusal is for: the lot, wherever it goes; lot and place together; the day's place."""

    LOT = "lot"
    PAIR = "pair"
    PLACE = "place"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What one destination says to one lot.

    ``accepted_kg`` is the most it may take of this lot, at the high end of the
    estimate; 0 means refused, and then ``code`` and ``sentence`` say why with the
    numbers in ``facts``. When accepted, ``code`` names the limit that binds. ``ground`` is what
    a refusal is for; None where a limit speaks.
    """

    destination_kind: DestinationKind
    destination_id: UUID
    accepted_kg: float
    code: str
    sentence: str
    rule_class: RuleClass
    facts: dict[str, object] = field(default_factory=dict)
    sources: tuple[str, ...] = ()
    ground: Ground | None = None

    @property
    def refused(self) -> bool:
        """Whether nothing of the lot may go there."""
        return self.accepted_kg <= 0


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkingDay(Record):
    """A depot's day: ``revision`` counts what happened, ``planned_revision`` what is planned for.

    The plan is stale while the two differ.
    """

    depot_id: UUID
    day: date
    revision: int = 0
    planned_revision: int = -1
    plan_id: UUID | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPlan(Record):
    """A plan of one depot's day, as it was made; a later one supersedes it.

    ``routing`` is the whole answer a dispatcher reads, JSON-ready and without names
    of people: vehicles with their stops, lots with their outcome and explanation,
    destinations with their use, costs and the proven bound. ``record_versions`` are those of the
    depot's, beds' and sites' records that it was made from, by their ids; None of a plan kept
    before they were. Of one that was superseded long ago (`SAID_LASTS`) both are gone.
    """

    depot_id: UUID
    day: date
    sequence: int
    revision: int
    planned_at: datetime
    rulebook_version: str
    supersedes_id: UUID | None = None
    cost_cents: int
    bound_cents: int
    bound_proven: bool
    routing: dict[str, object]
    record_versions: dict[str, int] | None = None

    def whole(self) -> DayPlan:
        """Return the plan, if what it said is still kept. Raises PlanForgotten."""
        if not self.routing:
            raise PlanForgotten(number=self.sequence, day=self.day, days=SAID_LASTS.days)
        return self


class PlanForgotten(Refusal):
    """What a superseded plan said is not kept any more."""

    code = "plan_forgotten"
    sentence = (
        "What plan {number} of {day} said is not kept any more: a later one superseded it, and it "
        "is kept for {days} days after its day. Its figures are in the list of day plans."
    )

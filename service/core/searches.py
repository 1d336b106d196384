"""Searches on record: what takes seconds to plan, asked for now and fetched later."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller, Role
from service.core.errors import Refusal

# Of these times there is no source: common practice.
# Nobody has looked for so long: nobody waits for it any more, and others get the planner.
LEFT_ALONE: Final = timedelta(minutes=2)
# An answer is kept so long after it was found: it is of a day that goes on.
ANSWER_LASTS: Final = timedelta(hours=1)
# Of one firm at once, so that nobody fills the queue.
MOST_QUEUED: Final = 20
# A search that ended its process so often is not taken up again.
MOST_TRIES: Final = 3


class SearchKind(StrEnum):
    """What is searched for, named as the request that asks for it."""

    WHAT_IF = "what_if"
    ORDER_PROPOSAL = "order_proposal"
    DAY_PLAN = "day_plan"


class SearchState(StrEnum):
    """How far a search has come."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    CANCELLED = "cancelled"
    FAILED = "failed"


UNDER_WAY: Final = frozenset({SearchState.QUEUED, SearchState.RUNNING})


class TooManySearches(Refusal):
    """A firm has as many searches under way as it may."""

    code = "too_many_searches"
    sentence = "{most} searches of this firm are under way already; fetch or cancel some first."


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """A search that somebody asked for.

    Attributes
    ----------
    key_id, role
        Whose request it is, and what that key might do.
    wanted
        The request's body as it was sent.
    looked_at
        When somebody looked last; see ``LEFT_ALONE``.
    taken_at, tries
        When a planner took it last, and how often that was.
    holder, until
        Who is at it, and has it alone until then.
    answer
        What was found, as the request would have been answered; what stands against it if the
        search failed; why it was cancelled.
    """

    firm_id: UUID
    id: UUID
    kind: SearchKind
    key_id: UUID
    role: Role
    wanted: dict[str, object]
    asked_at: datetime
    looked_at: datetime
    state: SearchState = SearchState.QUEUED
    taken_at: datetime | None = None
    tries: int = 0
    holder: UUID | None = None
    until: datetime | None = None
    ended_at: datetime | None = None
    answer: dict[str, object] | None = None

    @property
    def caller(self) -> Caller:
        """Return who asked."""
        return Caller(firm_id=self.firm_id, key_id=self.key_id, role=self.role)

    @property
    def is_under_way(self) -> bool:
        """Return whether there is something to wait for."""
        return self.state in UNDER_WAY

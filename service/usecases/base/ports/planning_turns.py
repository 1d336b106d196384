"""Days that wait to be planned behind, and whose turn it is: a port of its own.

Whether a day is stale is said by its revisions alone (`staleness`). What is kept here only says
which day is wanted and who is at it: lost, it costs a minute, until the next sweep.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol
from uuid import UUID

from service.core.plans import WorkingDay


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningTurn:
    """A depot's day that is to be planned; ``holder`` is at it and has it to itself ``until``."""

    firm_id: UUID
    depot_id: UUID
    day: date
    asked_at: datetime
    holder: UUID | None = None
    until: datetime | None = None


class PlanningTurnRepository(Protocol):
    """The days that wait."""

    def ask(self, turn: PlanningTurn) -> None:
        """Keep that a day is wanted, unless that is kept already (also by a rival just now)."""
        ...

    def of(self, firm_id: UUID, depot_id: UUID, day: date) -> PlanningTurn | None:
        """Return the turn of a depot's day, or None."""
        ...

    def free(self, now: datetime) -> PlanningTurn | None:
        """Return the nearest day of any firm that is wanted and that nobody is at."""
        ...

    def waiting(self) -> Sequence[PlanningTurn]:
        """Return the turns of all firms, also those that somebody is at."""
        ...

    def take(self, turn: PlanningTurn, *, holder: UUID, until: datetime) -> bool:
        """Have a free day to oneself for a time; False if somebody else just took it."""
        ...

    def give_back(
        self, turn: PlanningTurn, *, holder: UUID, wanted_again_at: datetime | None
    ) -> None:
        """Let go of a day, if it is still one's own: for good, or to wait behind those who wait."""
        ...

    def stale_days(self, since: date) -> Sequence[WorkingDay]:
        """Return every firm's days since then whose plan does not cover what happened."""
        ...

"""A recall: what was found of some lots, what is frozen meanwhile, and who was called."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from service.core.evidence.evidence import Evidence


@dataclass(frozen=True, slots=True, kw_only=True)
class CallMade:
    """That one of the list was called: by whose key, when, and what was said."""

    number: int
    at: datetime
    key_id: UUID | None = None
    said: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RecalledLawn:
    """A lawn of which everything that is cut from a day on is recalled, also what is cut later."""

    lawn_id: UUID
    since: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall(Evidence):
    """A recall that was begun, as its lots were traced then.

    While it is open its beds take nothing more, and its lots, and what else is cut on its
    ``lawns``, go nowhere but into a bay. Its content is the trace; ``load_ids`` are the loads that
    are in it.
    """

    reason: str
    job_ids: tuple[UUID, ...]
    bed_ids: tuple[UUID, ...]
    load_ids: tuple[UUID, ...] = ()
    lawns: tuple[RecalledLawn, ...] = ()
    is_open: bool = True
    ended_at: datetime | None = None
    calls: tuple[CallMade, ...] = ()

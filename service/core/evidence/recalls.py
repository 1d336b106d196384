"""A recall: what was found of some lots, what is frozen meanwhile, and who was called."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from service.core.records import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class CallMade:
    """That one of the list was called: by whose key, when, and what was said."""

    number: int
    at: datetime
    key_id: UUID | None = None
    said: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall(Record):
    """A recall that was begun, as its lots were traced then.

    While it is open its beds take nothing more, and its lots go nowhere but into a bay. ``content``
    is the trace, JSON-ready; ``sha256`` is of its canonical bytes.
    """

    reason: str
    content: dict[str, object]
    sha256: str
    job_ids: tuple[UUID, ...]
    bed_ids: tuple[UUID, ...]
    is_open: bool = True
    ended_at: datetime | None = None
    key_id: UUID | None = None
    calls: tuple[CallMade, ...] = ()

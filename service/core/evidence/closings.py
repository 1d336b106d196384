"""The close of a day: what it came to and what was open, kept as it was then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from service.core.records import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class DayClosing(Record):
    """A depot's day as it was closed; closed again it is another record, and both are kept.

    ``content`` is what the day came to and what was open, JSON-ready; ``sha256`` is of its
    canonical bytes. It names the entries of the mass book that were counted: an entry of the day
    that is not among them came later, is a correction, and is listed against it.
    """

    depot_id: UUID
    day: date
    sequence: int
    closed_at: datetime
    key_id: UUID | None = None
    remarks: str | None = None
    content: dict[str, object]
    sha256: str

"""The close of a day: what it came to and what was open, kept as it was then."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from service.core.evidence.evidence import Evidence


@dataclass(frozen=True, slots=True, kw_only=True)
class DayClosing(Evidence):
    """A depot's day as it was closed; closed again it is another record, and both are kept.

    Its content is what the day came to and what was open. It names the entries of the mass book
    that were counted: an entry of the day that is not among them came later, is a correction, and
    is listed against it.
    """

    depot_id: UUID
    day: date
    sequence: int
    closed_at: datetime
    remarks: str | None = None

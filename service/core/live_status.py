"""What a site says of itself on the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class SiteState(StrEnum):
    """What a site says of itself on the day."""

    OPEN = "open"
    CLOSED = "closed"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveStatus:
    """The site's own word, and when it was given."""

    state: SiteState = SiteState.UNKNOWN
    as_of: datetime | None = None
    capacity_left_kg: float | None = None
    closes_early_at: datetime | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SupposedStatus(LiveStatus):
    """What somebody supposes of a site: told as supposed, never as its word; never kept."""


NOTHING_HEARD = LiveStatus()

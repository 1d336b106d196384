"""How long clippings keep, and what is known of them where they lie in a bay."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldHeap:
    """What is known of clippings that lie in a hold bay.

    Attributes
    ----------
    entry_id
        The entry of the hold queue.
    sour_since
        When it counts as sour, if that is past; None before.
    temperature_c, level
        The hottest of what was measured last, and what that is called; None if nobody measured.
    is_aboard
        Whether any of it was loaded and is in a body: that may come back to a bay.
    """

    entry_id: UUID
    sour_since: datetime | None = None
    temperature_c: float | None = None
    level: str | None = None
    is_aboard: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepingTime:
    """How long after the cut a lot is to be looked at, and how long it keeps at most."""

    amber: timedelta
    red: timedelta

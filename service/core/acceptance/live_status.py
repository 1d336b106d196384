"""What a site says of itself on the day."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final, Self

from service.core.errors import FieldFault
from service.core.records import CLOCKS_APART

# A gate may be open past midnight: its word is of the hours that it was said in.
A_DAY: Final = timedelta(days=1)


class SiteState(StrEnum):
    """What a site says of itself on the day."""

    OPEN = "open"
    CLOSED = "closed"
    UNKNOWN = "unknown"


class AgainstGate(StrEnum):
    """What stood against a tip at the gate of a site as it was recorded, or that it is settled."""

    OUTSIDE_HOURS = "outside_hours"
    SAID_CLOSED = "said_closed"
    SETTLED = "settled"


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveStatus:
    """The site's own word, and when it was given."""

    state: SiteState = SiteState.UNKNOWN
    as_of: datetime | None = None
    capacity_left_kg: float | None = None
    closes_early_at: datetime | None = None
    note: str | None = None

    def faults(self, is_ahead: Callable[[datetime], bool]) -> Iterator[FieldFault]:
        """Yield why it would act on no day: it has no hour, or one that lies ahead."""
        if self.as_of is None:
            if self != NOTHING_HEARD:
                yield _fault("as_of", "A word acts on its day: say when it was said.")
            return
        if is_ahead(self.as_of):
            yield _fault("as_of", "A word was said before now: this lies ahead.")
        early = self.closes_early_at
        if early is None:
            return
        if not self.as_of <= early <= self.as_of + A_DAY:
            yield _fault("closes_early_at", "After it was said, within a day.")

    def faults_after(self, before: Self, *, now: datetime) -> Iterator[FieldFault]:
        """Yield that a new word has the hour of an old one, of which somebody changed a part."""
        if self == before or self.as_of is None or self.as_of != before.as_of:
            return
        if self.as_of < now - CLOCKS_APART:
            yield _fault("as_of", "A new word has an hour of its own: say when it was said.")


@dataclass(frozen=True, slots=True, kw_only=True)
class SupposedStatus(LiveStatus):
    """What somebody supposes of a site: told as supposed, never as its word; never kept."""


NOTHING_HEARD = LiveStatus()


def _fault(name: str, detail: str) -> FieldFault:
    return FieldFault(pointer=f"/live_status/{name}", detail=detail)

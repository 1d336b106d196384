"""Places with a calendar whose addresses are given away, and withdrawn for good."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Self

from service.core.errors import FieldFault
from service.core.records import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class FedPlace(Record):
    """A place with a calendar; ``feeds_ended_at`` is when its addresses were withdrawn."""

    feeds_ended_at: datetime | None = None

    def withdrawal_faults(self) -> Sequence[FieldFault]:
        """Return a fault if addresses that are made later are withdrawn as well."""
        if self.feeds_ended_at is None or self.feeds_ended_at <= self.updated_at:
            return ()
        return (_fault("What is withdrawn was given away before now."),)

    def faults_after(self, before: Self) -> Sequence[FieldFault]:
        """Return a fault if what was withdrawn would open again."""
        if before.feeds_ended_at is None:
            return ()
        # One ahead of its own time, kept from before, may come back to now.
        ended_at = min(before.feeds_ended_at, self.updated_at)
        if self.feeds_ended_at is not None and self.feeds_ended_at >= ended_at:
            return ()
        return (_fault("What was withdrawn stays withdrawn: not null, and no earlier."),)


def _fault(detail: str) -> FieldFault:
    return FieldFault(pointer="/feeds_ended_at", detail=detail)

"""What every kept record has: an id, a firm, a version and two times."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Final, Protocol, Self, TypeAlias, TypeVar
from uuid import UUID

from service.core.errors import FieldFault

# What a record looks for in itself, and the names of the fields that it looks at.
Check: TypeAlias = tuple[Callable[[], Iterable[FieldFault]], tuple[str, ...]]

# Stands where an id is not known, in a record that is looked at and never kept.
NOBODY: Final = UUID(int=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A kept thing of one firm.

    Attributes
    ----------
    id
        UUIDv7, made by the service or by the crew's device.
    firm_id
        The firm it belongs to. Every key leads with it.
    version
        1 at first, one more with every amendment; it is the ETag.
    created_at, updated_at
        UTC.
    """

    id: UUID
    firm_id: UUID
    version: int
    created_at: datetime
    updated_at: datetime

    def renewed(self, now: datetime) -> Self:
        """Return it as its next version."""
        return replace(self, version=self.version + 1, updated_at=now)

    def following(self, before: Self, said: Collection[str]) -> Self:  # noqa: ARG002 - records with a past use it
        """Return it as it follows an earlier version, of what was said in between."""
        return self

    def is_ahead(self, at: datetime) -> bool:
        """Return whether a moment lay ahead when this was recorded, by any clock."""
        return at > self.updated_at + CLOCKS_APART

    def is_day_ahead(self, day: date) -> bool:
        """Return whether a day had begun nowhere when this was recorded."""
        return day > (self.updated_at + DAYS_APART).date()

    def faults(self) -> Sequence[FieldFault]:
        """Return what contradicts itself in this record, all of it at once."""
        return self.faults_without(())

    def unasked(self, before: Self) -> Sequence[str]:  # noqa: ARG002 - records with older rules use it
        """Return the fields in which an amendment, leaving them so, looks for nothing."""
        return ()

    def faults_after(self, before: Self) -> Sequence[FieldFault]:  # noqa: ARG002 - records that say more use it
        """Return what may not have become of what this record was before."""
        return ()

    def faults_without(self, unreadable: Collection[str]) -> Sequence[FieldFault]:
        """Return what contradicts itself whatever some fields, which nobody can read, would say."""
        return [
            fault
            for check, looks_at in self.checks()
            if not set(looks_at) & set(unreadable)
            for fault in check()
        ]

    def checks(self) -> Sequence[Check]:
        """Return what this record looks for in itself."""
        return ()


# How far a clock elsewhere may be ahead of ours; common practice, no source.
CLOCKS_APART: Final = timedelta(minutes=5)
# A day begins up to fourteen hours earlier than in UTC (Line Islands, UTC+14).
DAYS_APART: Final = timedelta(hours=14)


@dataclass(frozen=True, slots=True, kw_only=True)
class FedPlace(Record):
    """A place with a calendar; ``feeds_ended_at`` is when its addresses were withdrawn."""

    feeds_ended_at: datetime | None = None

    def checks(self) -> Sequence[Check]:
        """Return what a place looks for in itself: whether its calendar is withdrawn by now."""
        return ((self._withdrawal_faults, ("feeds_ended_at",)),)

    def _withdrawal_faults(self) -> Sequence[FieldFault]:
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


AnyRecord = TypeVar("AnyRecord", bound=Record)


class Clock(Protocol):
    """Tells the time; handed in, so that a day can be replayed."""

    def now(self) -> datetime:
        """Return the time now, in UTC, with its zone."""
        ...


class Identifiers(Protocol):
    """Makes ids; handed in, so that a retry makes the same ones."""

    def next_id(self) -> UUID:
        """Return a fresh UUIDv7."""
        ...

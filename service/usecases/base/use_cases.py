"""What use cases are handed: a way to the records, the clock, and ids for new ones."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TypedDict
from uuid import UUID

from service.core.callers.access import Caller
from service.core.records import Clock, Identifiers
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """When something is written, who says so and why, and what its entries are called by."""

    now: datetime
    identifiers: Identifiers
    key_id: UUID | None = None
    reason: str | None = None


@dataclass(frozen=True, kw_only=True, eq=False)
class Asking:
    """A use case that asks the records by the clock."""

    open_unit_of_work: OpenUnitOfWork
    clock: Clock


@dataclass(frozen=True, kw_only=True, eq=False)
class Looking:
    """A use case that waits for no writer."""

    open_reading: OpenUnitOfWork
    clock: Clock


@dataclass(frozen=True, kw_only=True, eq=False)
class Changing(Asking):
    """A use case that changes records."""

    identifiers: Identifiers

    def stamp(
        self, now: datetime, caller: Caller | None = None, reason: str | None = None
    ) -> Stamp:
        """Return what all that is written now bears."""
        key_id = None if caller is None else caller.key_id
        return Stamp(now=now, identifiers=self.identifiers, key_id=key_id, reason=reason)


class ToChange(TypedDict):
    """What `Changing` is handed, to be handed on."""

    open_unit_of_work: OpenUnitOfWork
    clock: Clock
    identifiers: Identifiers


class ToKeep(ToChange):
    """With a way to read that waits for no writer."""

    open_reading: OpenUnitOfWork

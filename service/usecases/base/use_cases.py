"""What use cases are handed: a way to the records, the clock, and ids for new ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypedDict

from service.core.records import Clock, Identifiers
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork


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


class ToChange(TypedDict):
    """What `Changing` is handed, to be handed on."""

    open_unit_of_work: OpenUnitOfWork
    clock: Clock
    identifiers: Identifiers


class ToKeep(ToChange):
    """With a way to read that waits for no writer."""

    open_reading: OpenUnitOfWork

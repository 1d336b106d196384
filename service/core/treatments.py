"""Statements about what was put on a lawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from typing import Self
from uuid import UUID

from service.core.errors import FieldFault
from service.core.records import Check, Record


class StatementSource(StrEnum):
    """Who said so."""

    APPLICATOR_RECORD = "applicator_record"
    CLIENT_STATEMENT = "client_statement"
    CREW_OBSERVATION = "crew_observation"
    OTHER = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelWait:
    """What the product's own label says of its clippings, where known.

    The label beats the table of rules. All may be given; each must be met. ``leave_on_lawn``
    names no end; ``leave_on_lawn_mowings`` are the first mowings whose clippings stay.
    """

    days: int | None = None
    mowings: int | None = None
    leave_on_lawn: bool = False
    leave_on_lawn_mowings: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bioassay:
    """Plants that were grown in clippings of the lawn, to see whether they are harmed."""

    clippings_cut_on: date
    passed: bool
    stated_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Treatment(Record):
    """A product on a lawn: no active ingredient named means an unknown product."""

    lawn_id: UUID
    product: str
    active_ingredients: tuple[str, ...] = ()
    applied_on: date
    statement_source: StatementSource
    stated_by: str
    label_wait: LabelWait | None = None
    people_may_return_at: datetime | None = None
    remarks: str | None = None
    bioassay: Bioassay | None = None

    def checks(self) -> Sequence[Check]:
        """Return what it looks for in itself: a day ahead, a bioassay of what was cut before."""
        return (
            (self._day_faults, ("applied_on",)),
            (self._bioassay_faults, ("applied_on", "bioassay")),
        )

    def unasked(self, before: Self) -> Sequence[str]:
        """Return the day as it was: one kept before days ahead were refused hinders nothing."""
        return ("applied_on",) if self.applied_on == before.applied_on else ()

    def _day_faults(self) -> Sequence[FieldFault]:
        if not self.is_day_ahead(self.applied_on):
            return []
        return [
            FieldFault(
                pointer="/applied_on",
                detail="A treatment is recorded when it was applied: this day lies ahead.",
            )
        ]

    def _bioassay_faults(self) -> Sequence[FieldFault]:
        if self.bioassay is None or self.bioassay.clippings_cut_on > self.applied_on:
            return ()
        return [
            FieldFault(
                pointer="/bioassay/clippings_cut_on",
                detail="A bioassay is of clippings that were cut after the treatment.",
            )
        ]

"""The day that several crews ask about at once: read once for all, while nothing happens on it."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID

from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.day.reading.read_day import read_day
from service.usecases.telling.before_mowing.lawn_question import MadeReady

# What the hour alone changes may be so old: telephones ask as often. Common practice, no source.
GOOD_FOR: Final = timedelta(seconds=5)
# Each holds a day's plan, some megabytes.
MOST_KEPT: Final = 8


@dataclass(frozen=True, kw_only=True, eq=False)
class DayInHand:
    """A day as it was read, and the destinations that were made ready for it."""

    facts: DayFacts
    made_ready: MadeReady = field(default_factory=dict)


class DaysInHand:
    """The days that were read last, each as good as its mark in the database says.

    What changes the answers of a day counts an event on it, in its own transaction: that is why a
    plan goes stale, and why a telephone looks again. A crew's scope is no part of what is kept.
    """

    def __init__(self) -> None:
        """Begin with none."""
        self._kept: dict[tuple[UUID, UUID, date], DayInHand] = {}

    def of(
        self, unit: UnitOfWork, *, firm_id: UUID, depot_id: UUID, day: date, now: datetime
    ) -> DayInHand:
        """Return a depot's day, read unless it stands as it was read. Raises RecordMissing."""
        asked = (firm_id, depot_id, day)
        kept = self._kept.get(asked)
        if kept is not None and timedelta() <= now - kept.facts.now < GOOD_FOR:
            marked = unit.working_days.of(firm_id, depot_id, day)
            if marked is not None and marked == kept.facts.working_day:
                return kept
        facts = read_day(unit, firm_id=firm_id, depot_id=depot_id, day=day, now=now)
        if len(self._kept) >= MOST_KEPT:
            self.forget()
        read = self._kept[asked] = DayInHand(facts=facts)
        return read

    def forget(self) -> None:
        """Keep none."""
        self._kept.clear()

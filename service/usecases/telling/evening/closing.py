"""Close a day: keep what it came to, and list against it what was entered since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.crews import Vehicle
from service.core.errors import FieldFault, RecordNotUsable, Refusal
from service.core.evidence.closings import DayClosing
from service.core.evidence.evidence import kept_as_evidence
from service.core.loads import Load, LoadState
from service.core.mass_book import MassMovement
from service.core.measures.units import date_words
from service.core.records import Identifiers
from service.usecases.base.calendar import day_of
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.use_cases import Changing
from service.usecases.mass_book.reading import told_balances
from service.usecases.telling.day_look import LookAtDay
from service.usecases.telling.decisions.listing import TellDecisions
from service.usecases.telling.evening.evening import Evening, evening_of
from service.usecases.telling.evening.on_record import on_record


class NotClosedYet(Refusal):
    """Nobody has closed this day."""

    code = "not_closed_yet"
    sentence = "The day {day} has not been closed."


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosedDay:
    """A closing, and what was entered of its day since: corrections.

    It ``stood`` where the day was closed again and nothing was otherwise.
    """

    closing: DayClosing
    late: tuple[MassMovement, ...]
    stood: bool = False


@dataclass(frozen=True, kw_only=True, eq=False)
class TellEvening:
    """Tell how a day stands: what it came to and what is open, by the records of now."""

    open_reading: OpenUnitOfWork
    look_at_day: LookAtDay
    tell_decisions: TellDecisions

    def __call__(self, caller: Caller, depot_id: UUID, day: date) -> Evening:
        """Return the evening of a depot's day; nothing is planned for it. Raises RecordMissing."""
        with self.open_reading() as unit:
            return self.within(unit, caller, depot_id, day, closes=False)

    def within(
        self, unit: UnitOfWork, caller: Caller, depot_id: UUID, day: date, *, closes: bool
    ) -> Evening:
        """Return the evening as one unit of work sees it. Raises RecordMissing.

        When a day ``closes``, nothing is ahead any more: what is not done is open.
        """
        look = self.look_at_day.within(unit, caller, depot_id, day)
        loads = _loads(unit, caller, depot_id, day)
        return evening_of(
            loads,
            unit.mass_movements.moved(
                caller.firm_id, depot_id, since=day, before=day + timedelta(days=1)
            ),
            on_record(unit, caller.firm_id, depot_id, day, loads, now=None if closes else look.now),
            self.tell_decisions.within(unit, caller, depot_id, day, plan=look.plan),
            unplanned_events=0 if look.plan is None else look.unplanned_events,
        )

    def loads(self, caller: Caller, depot_id: UUID, day: date) -> list[Load]:
        """Return the loads of a depot's day that count, in the order of their times."""
        with self.open_reading() as unit:
            return _loads(unit, caller, depot_id, day)

    def names(self, caller: Caller, loads: Iterable[Load]) -> dict[UUID, str]:
        """Return the names of the loads' vehicles and places, by the records: plans move on."""
        wanted: dict[str, set[UUID]] = defaultdict(set)
        for load in loads:
            wanted["vehicles"].add(load.vehicle_id)
            wanted[KINDS[load.destination_kind].repository].add(load.destination_id)
        with self.open_reading() as unit:
            return {
                one.id: one.registration if isinstance(one, Vehicle) else one.name
                for repository, ids in wanted.items()
                for one in getattr(unit, repository).get_many(caller.firm_id, sorted(ids)).values()
            }


def _loads(unit: UnitOfWork, caller: Caller, depot_id: UUID, day: date) -> list[Load]:
    counting = tuple(state for state in LoadState if state is not LoadState.SUPERSEDED)
    found = unit.loads.all(caller.firm_id, depot_id=depot_id, working_day=day, state=counting)
    return sorted(found, key=lambda load: load.done_at or load.arrive_at)


@dataclass(frozen=True, kw_only=True, eq=False)
class CloseDay(Changing):
    """Keep the record of a day that is closed, and read it with what came after."""

    open_reading: OpenUnitOfWork
    tell_evening: TellEvening

    def __call__(
        self,
        caller: Caller,
        depot_id: UUID,
        day: date,
        *,
        remarks: str | None = None,
        identifiers: Identifiers | None = None,
    ) -> ClosedDay:
        """Close a day that has begun and return its record.

        What is open is kept with it and stays open: closing a day finishes nothing. Closed again
        it keeps the remarks unless there are others; with nothing changed the first stands.

        Raises
        ------
        RecordMissing, RecordNotUsable
        """
        now = self.clock.now()
        # Evening and book of one moment: what is entered after it is late, and nothing is neither.
        with self.open_reading() as unit:
            evening = self.tell_evening.within(unit, caller, depot_id, day, closes=True)
            entries = unit.mass_movements.all(caller.firm_id, depot_id=depot_id, day=day)
        with self.open_unit_of_work() as unit:
            depot = unit.depots.get(caller.firm_id, depot_id)
            if depot is None or day > day_of(depot, now):
                raise RecordNotUsable(
                    [FieldFault(pointer="/day", detail="A day that has not begun is not closed.")]
                )
            content: dict[str, object] = {
                "balances": told_balances(entries),
                "movement_ids": [str(entry.id) for entry in entries],
                **evening.to_json(),
            }
            before = unit.day_closings.all(caller.firm_id, depot_id=depot_id, day=day)
            newest = max(before, key=lambda one: one.sequence, default=None)
            if remarks is None and newest is not None:
                remarks = newest.remarks
            closing = DayClosing(
                **kept_as_evidence(
                    content, caller=caller, now=now, identifiers=identifiers or self.identifiers
                ),
                depot_id=depot_id,
                day=day,
                sequence=1 if newest is None else newest.sequence + 1,
                closed_at=now,
                remarks=remarks,
            )
            if newest and (newest.sha256, newest.remarks) == (closing.sha256, remarks):
                return ClosedDay(closing=newest, late=(), stood=newest.id != closing.id)
            kept = next((one for one in before if one.id == closing.id), None)
            if kept is None:
                unit.day_closings.add(closing)
                unit.commit()
        return ClosedDay(closing=kept or closing, late=())

    def before(self, caller: Caller, depot_id: UUID, day: date) -> Evening:
        """Return what would be kept of a day if it was closed now. Raises RecordMissing."""
        with self.open_reading() as unit:
            return self.tell_evening.within(unit, caller, depot_id, day, closes=True)

    def read(self, caller: Caller, depot_id: UUID, day: date) -> ClosedDay:
        """Return the newest closing of a day, and what was entered of the day since.

        Raises
        ------
        NotClosedYet
        """
        with self.open_reading() as unit:
            found = unit.day_closings.all(caller.firm_id, depot_id=depot_id, day=day)
            if not found:
                raise NotClosedYet(day=date_words(day))
            closing = max(found, key=lambda one: one.sequence)
            entries = unit.mass_movements.all(caller.firm_id, depot_id=depot_id, day=day)
        counted: Any = closing.content["movement_ids"]
        known = set(counted)
        late = tuple(entry for entry in entries if str(entry.id) not in known)
        return ClosedDay(closing=closing, late=late)

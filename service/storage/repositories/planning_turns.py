"""Working days, and those that wait to be planned: a change is one compare-and-set statement."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from functools import cache
from uuid import UUID

from sqlalchemy import (
    ColumnElement,
    Insert,
    Update,
    bindparam,
    delete,
    or_,
    select,
    update,
)
from sqlalchemy.dialects import postgresql, sqlite

from service.core.plans import WorkingDay
from service.storage.faults import keeping
from service.storage.mapping import RecordMapping
from service.storage.repositories.connected import Connected
from service.storage.repositories.repository import TableRepository
from service.storage.tables.work import PlanningTurnRow, WorkingDayRow
from service.usecases.base.ports.planning_turns import PlanningTurn

TURNS = RecordMapping(PlanningTurn, PlanningTurnRow, "planning turn")
WORKING_DAYS = RecordMapping(WorkingDay, WorkingDayRow, "working day")


class TableWorkingDays(TableRepository[WorkingDay]):
    """Working days. Whatever changes one counts its version on, so that no change is lost."""

    def of(self, firm_id: UUID, depot_id: UUID, day: date) -> WorkingDay | None:
        """Return the working day, or None."""
        row = self._row
        return self._first(self._of(firm_id).where(row.depot_id == depot_id, row.day == day))

    def count_event(self, working_day: WorkingDay) -> None:
        """Count one more event on the depot's day, which is kept first if it is new."""
        with keeping(self._mapping.kind, working_day.id):
            self._connection.execute(
                _counted(self._mapping)[self._connection.dialect.name],
                self._mapping.to_row(replace(working_day, revision=1)),
            )

    def bump(
        self, firm_id: UUID, *, depot_id: UUID | None, from_day: date, to_day: date | None
    ) -> None:
        """Count one more event on the kept days of one depot (None: all) in [from_day, to_day]."""
        asked = {"of_firm": firm_id, "from_day": from_day, "of_depot": depot_id, "to_day": to_day}
        self._connection.execute(
            _bumped(self._mapping, one_depot=depot_id is not None, ends=to_day is not None),
            {name: value for name, value in asked.items() if value is not None},
        )

    def mark_planned(self, working_day: WorkingDay, *, revision: int, plan_id: UUID) -> bool:
        """Note that the plan covers the revision, if the day is still at it; False if overtaken."""
        row = self._row
        marked = (
            update(self._mapping.table)
            .where(
                row.firm_id == working_day.firm_id,
                row.id == working_day.id,
                row.revision == revision,
            )
            .values(planned_revision=revision, plan_id=plan_id, version=row.version + 1)
        )
        return self._connection.execute(marked).rowcount == 1


class TablePlanningTurns(Connected):
    """Turns of all firms: the planner works for everybody."""

    def ask(self, turn: PlanningTurn) -> None:
        """Keep that a day is wanted, unless that is kept already (also by a rival just now)."""
        wanted = TURNS.insert[self._connection.dialect.name]
        self._connection.execute(wanted, TURNS.to_row(turn))

    def of(self, firm_id: UUID, depot_id: UUID, day: date) -> PlanningTurn | None:
        """Return the turn of a depot's day, or None."""
        row = PlanningTurnRow
        return self._first(row.firm_id == firm_id, row.depot_id == depot_id, row.day == day)

    def free(self, now: datetime) -> PlanningTurn | None:
        """Return the nearest day of any firm that is wanted and that nobody is at."""
        row = PlanningTurnRow
        return self._first(or_(row.until.is_(None), row.until < now))

    def waiting(self) -> Sequence[PlanningTurn]:
        """Return the turns of all firms, also those that somebody is at."""
        return [TURNS.from_row(one) for one in self._connection.execute(TURNS.selected)]

    def take(self, turn: PlanningTurn, *, holder: UUID, until: datetime) -> bool:
        """Have a free day to oneself for a time; False if somebody else just took it."""
        row = PlanningTurnRow
        as_seen = row.holder.is_(None) if turn.holder is None else row.holder == turn.holder
        taken = update(TURNS.table).where(*_the(turn), as_seen)
        return self._connection.execute(taken.values(holder=holder, until=until)).rowcount == 1

    def give_back(
        self, turn: PlanningTurn, *, holder: UUID, wanted_again_at: datetime | None
    ) -> None:
        """Let go of a day, if it is still one's own: for good, or to wait behind those who wait."""
        mine = (*_the(turn), PlanningTurnRow.holder == holder)
        self._connection.execute(
            delete(TURNS.table).where(*mine)
            if wanted_again_at is None
            else update(TURNS.table)
            .where(*mine)
            .values(holder=None, until=None, asked_at=wanted_again_at)
        )

    def stale_days(self, since: date) -> Sequence[WorkingDay]:
        """Return every firm's days since then whose plan does not cover what happened."""
        row = WorkingDayRow
        asked = WORKING_DAYS.selected.where(row.day >= since, row.planned_revision != row.revision)
        found = self._connection.execute(asked.order_by(row.day, row.firm_id, row.depot_id))
        return [WORKING_DAYS.from_row(one) for one in found]

    def _first(self, *conditions: ColumnElement[bool]) -> PlanningTurn | None:
        row = PlanningTurnRow
        asked = TURNS.selected.where(*conditions).order_by(row.day, row.asked_at)
        found = self._connection.execute(asked.limit(1)).first()
        return None if found is None else TURNS.from_row(found)


def _the(turn: PlanningTurn) -> tuple[ColumnElement[bool], ...]:
    row = PlanningTurnRow
    return (row.firm_id == turn.firm_id, row.depot_id == turn.depot_id, row.day == turn.day)


@cache
def _counted(mapping: RecordMapping[WorkingDay]) -> Mapping[str, Insert]:
    row = mapping.table.c
    return {
        dialect: made.on_conflict_do_update(
            index_elements=[row.firm_id, row.depot_id, row.day],
            set_={"revision": row.revision + 1, "version": row.version + 1},
        )
        for dialect, made in (
            ("postgresql", postgresql.insert(mapping.table)),
            ("sqlite", sqlite.insert(mapping.table)),
        )
    }


@cache
def _bumped(mapping: RecordMapping[WorkingDay], *, one_depot: bool, ends: bool) -> Update:
    row = mapping.table.c
    of_firm = row.firm_id == bindparam("of_firm")
    days = select(row.id).where(of_firm, row.day >= bindparam("from_day"))
    if one_depot:
        days = days.where(row.depot_id == bindparam("of_depot"))
    if ends:
        days = days.where(row.day <= bindparam("to_day"))
    # Two that count on many days lock them in one order, so that neither waits for the other.
    in_turn = days.order_by(row.depot_id, row.day).with_for_update()
    counted = update(mapping.table).where(of_firm, row.id.in_(in_turn))
    return counted.values(revision=row.revision + 1, version=row.version + 1)

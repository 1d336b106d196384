"""Days that wait to be planned behind: each change is one compare-and-set statement."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from uuid import UUID

from sqlalchemy import ColumnElement, Connection, delete, or_, update

from service.core.plans import WorkingDay
from service.storage.mapping import RecordMapping
from service.storage.tables.work import PlanningTurnRow, WorkingDayRow
from service.usecases.base.planning_turns import PlanningTurn

TURNS = RecordMapping(PlanningTurn, PlanningTurnRow, "planning turn")
WORKING_DAYS = RecordMapping(WorkingDay, WorkingDayRow, "working day")


class TablePlanningTurns:
    """Turns of all firms: the planner works for everybody."""

    def __init__(self, connection: Connection) -> None:
        """Work in the transaction of the connection."""
        self._connection = connection

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

"""Drop what was only meant, after its time: superseded loads, and what superseded plans said."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from sqlalchemy import ColumnElement, Select, and_, delete, exists, or_, select

from service.core.loads import HoldState, LoadState
from service.storage.repositories.connected import Connected
from service.storage.tables.access import AmendmentRow
from service.storage.tables.mass_book import MassMovementRow
from service.storage.tables.papers import (
    DeliveryNoteRow,
    HoldEntryRow,
    LoadLotRow,
    LoadRow,
    RecallRow,
    WeighedLoadRow,
)
from service.storage.tables.work import DayPlanRow, FoldedPlanRow


class TableForgetting(Connected):
    """What is on record for a time only, of one firm."""

    def superseded_loads(self, firm_id: UUID, before: date, *, most: int) -> int:
        """Drop superseded loads of days before then that nothing refers to; return how many."""
        recalls = select(RecallRow.load_ids).where(RecallRow.firm_id == firm_id)
        recalled = {
            UUID(load_id)
            for load_ids in self._connection.execute(recalls).scalars()
            for load_id in load_ids
        }
        # As many more as are recalled: else a batch of those would keep all others for ever.
        asked = _loads_over(firm_id, before).limit(most + len(recalled))
        found = self._connection.execute(asked).scalars()
        over = [load_id for load_id in found if load_id not in recalled][:most]
        if over:
            # Those first that name the loads; only what was expected of them is left to do so.
            for row, column in (
                (HoldEntryRow, HoldEntryRow.load_id),
                (LoadLotRow, LoadLotRow.load_id),
                (LoadRow, LoadRow.id),
            ):
                self._connection.execute(
                    delete(row).where(row.firm_id == firm_id, column.in_(over))
                )
        return len(over)

    def what_plans_said(self, firm_id: UUID, before: date, *, most: int) -> int:
        """Drop what superseded plans of days before then said; return of how many.

        The oldest go first: each is kept as what it said otherwise than one that came later.
        """
        over = (
            select(DayPlanRow.id)
            .join(
                FoldedPlanRow,
                and_(
                    FoldedPlanRow.firm_id == DayPlanRow.firm_id,
                    FoldedPlanRow.plan_id == DayPlanRow.id,
                ),
            )
            .where(DayPlanRow.firm_id == firm_id, DayPlanRow.day < before)
            .order_by(DayPlanRow.day, DayPlanRow.sequence)
            .limit(most)
        )
        found = list(self._connection.execute(over).scalars())
        if found:
            gone = delete(FoldedPlanRow).where(
                FoldedPlanRow.firm_id == firm_id, FoldedPlanRow.plan_id.in_(found)
            )
            self._connection.execute(gone)
        return len(found)


def _loads_over(firm_id: UUID, before: date) -> Select[UUID]:
    """Return the question for loads whose time is over, and that nothing in a table refers to.

    A word of a person or a gate about one (a lock, a hand, an amendment) is no plan's any more.
    """
    load, entry = LoadRow, HoldEntryRow
    of_firm = load.firm_id == firm_id
    # Of an entry no more than the expectation is dropped: what lay in a bay is in the book.
    is_more = or_(entry.state != HoldState.SUPERSEDED.value, _is_told_of(firm_id, entry))
    return select(load.id).where(
        of_firm,
        load.state == LoadState.SUPERSEDED.value,
        load.working_day < before,
        load.locked.is_(False),
        load.at_gate_at.is_(None),
        ~_is_told_of(firm_id, load),
        *(
            ~exists().where(row.firm_id == firm_id, row.load_id == load.id)
            for row in (DeliveryNoteRow, WeighedLoadRow)
        ),
        ~exists().where(entry.firm_id == firm_id, entry.load_id == load.id, is_more),
        ~exists().where(entry.firm_id == firm_id, entry.released_load_id == load.id),
    )


def _is_told_of(firm_id: UUID, row: type[LoadRow | HoldEntryRow]) -> ColumnElement[bool]:
    """Return whether the mass book, or the history of changes, has a record."""
    return or_(
        exists().where(MassMovementRow.firm_id == firm_id, MassMovementRow.cause_id == row.id),
        exists().where(AmendmentRow.firm_id == firm_id, AmendmentRow.record_id == row.id),
    )

"""Which clippings lay in which body, from when until when: what overlaps is mixed."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from sqlalchemy import ColumnElement, and_, case, delete, func, insert, or_, select, update
from sqlalchemy.orm import aliased

from service.core.mass_book import BodyStay
from service.storage.mapping import RecordMapping
from service.storage.repositories.connected import Connected
from service.storage.repositories.repository import in_chunks
from service.storage.tables.mass_book import BodyStayRow

BODY_STAYS: Final = RecordMapping(BodyStay, BodyStayRow, "body stay")


def _later(one: Any, two: Any) -> ColumnElement[datetime]:  # noqa: ANN401 - a column, whatever of
    """Return the later of two moments: no function of that is in both databases."""
    return case((one > two, one), else_=two)


class TableBodyStays(Connected):
    """Stays in bodies."""

    def of_lots(self, firm_id: UUID, job_ids: Sequence[UUID]) -> list[BodyStay]:
        """Return the stays of some lots, each lot's own by their hours."""
        row = BodyStayRow
        found = [
            BODY_STAYS.from_row(one)
            for some in in_chunks(job_ids)
            for one in self._connection.execute(
                BODY_STAYS.selected.where(row.firm_id == firm_id, row.job_id.in_(some))
            )
        ]
        return sorted(found, key=lambda stay: (stay.job_id, stay.since, stay.vehicle_id))

    def put(self, firm_id: UUID, job_ids: Sequence[UUID], stays: Sequence[BodyStay]) -> None:
        """Write the stays of some lots over those that were kept."""
        row = BodyStayRow
        for some in in_chunks(job_ids):
            self._connection.execute(
                delete(row).where(row.firm_id == firm_id, row.job_id.in_(some))
            )
        if stays:
            self._connection.execute(insert(row), [BODY_STAYS.to_row(stay) for stay in stays])

    def keep_apart(self, firm_id: UUID, job_id: UUID, at: datetime) -> None:
        """Keep that a lot was apart from all that had come to lie beside it by a moment."""
        mine = update(BodyStayRow).where(
            BodyStayRow.firm_id == firm_id, BodyStayRow.job_id == job_id
        )
        self._connection.execute(mine.values(apart_until=at))

    def mixed_since(self, firm_id: UUID, job_ids: Sequence[UUID]) -> dict[UUID, datetime]:
        """Return what lay in one body with some lots, and since when each counts as mixed."""
        found: dict[UUID, datetime] = {}
        for some in in_chunks(job_ids):
            for job_id, since in self._connection.execute(_mixed(firm_id, some)):
                found[job_id] = min(since, found.get(job_id, since))
        return {job_id: since for job_id, since in found.items() if job_id not in set(job_ids)}


def _mixed(firm_id: UUID, job_ids: Sequence[UUID]) -> Any:  # noqa: ANN401 - a statement with a with
    """Return the question what any of some lots was mixed with, and what with that, in one."""
    row = BodyStayRow
    reached = (
        select(row.job_id, row.since)
        .where(row.firm_id == firm_id, row.job_id.in_(job_ids))
        .cte("reached", recursive=True)
    )
    mine, beside = aliased(BodyStayRow, name="mine"), aliased(BodyStayRow, name="beside")
    together = _later(mine.since, beside.since)
    since = _later(reached.c.since, together)
    further = (
        select(beside.job_id, since)
        .select_from(reached)
        .join(mine, and_(mine.firm_id == firm_id, mine.job_id == reached.c.job_id))
        .join(
            beside,
            and_(
                beside.firm_id == firm_id,
                beside.vehicle_id == mine.vehicle_id,
                beside.job_id != mine.job_id,
                beside.until >= mine.since,
                beside.until >= reached.c.since,
                beside.since <= mine.until,
            ),
        )
        .where(
            # What it came to lie with as it left a body, it did not bring back there.
            or_(mine.until > reached.c.since, mine.since == reached.c.since),
            *(or_(one.apart_until.is_(None), one.apart_until < together) for one in (mine, beside)),
        )
    )
    reached = reached.union(further)
    return select(reached.c.job_id, func.min(reached.c.since)).group_by(reached.c.job_id)

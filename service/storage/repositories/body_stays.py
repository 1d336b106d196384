"""Which clippings lay in which body, from when until when: what overlaps is mixed."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from sqlalchemy import delete, exists, func, insert, or_, select, update

from service.core.evidence.mixing import Told, met_by, mixed_since
from service.core.mass_book import STILL, VEHICLE, BodyStay
from service.storage.mapping import RecordMapping
from service.storage.repositories.connected import Connected
from service.storage.repositories.repository import in_chunks
from service.storage.tables.mass_book import BodyStayRow, MassMovementRow

BODY_STAYS: Final = RecordMapping(BodyStay, BodyStayRow, "body stay")


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
        """Keep that a lot was apart from all that was known beside it by a moment."""
        mine = update(BodyStayRow).where(
            BodyStayRow.firm_id == firm_id, BodyStayRow.job_id == job_id
        )
        self._connection.execute(mine.values(apart_until=at))

    def mixed_since(self, firm_id: UUID, job_ids: Sequence[UUID]) -> dict[UUID, datetime]:
        """Return what lay in one body with some lots, and since when each counts as mixed."""
        known = set(self.of_lots(firm_id, job_ids))
        found = mixed_since(known, job_ids, {})
        asked: set[UUID] = set()
        while bodies := {stay.vehicle_id for stay in known if stay.job_id in found} - asked:
            asked |= bodies
            known |= self._lain_in(firm_id, sorted(bodies), min(found.values()))
            found = mixed_since(known, job_ids, self._told(firm_id, known))
        return {job_id: since for job_id, since in found.items() if job_id not in set(job_ids)}

    def met_by(self, firm_id: UUID, job_id: UUID) -> list[tuple[BodyStay, BodyStay]]:
        """Return each stay of a lot with each of another that lay in its body with it."""
        own = self.of_lots(firm_id, [job_id])
        if not own:
            return []
        bodies = sorted({stay.vehicle_id for stay in own})
        known = self._lain_in(firm_id, bodies, min(stay.since for stay in own))
        return met_by(known, job_id, self._told(firm_id, known))

    def lots_in(self, firm_id: UUID, vehicle_id: UUID, since: datetime) -> set[UUID]:
        """Return the lots that lay in a body at a moment or after it."""
        row = BodyStayRow
        asked = select(row.job_id).where(
            row.firm_id == firm_id, row.vehicle_id == vehicle_id, row.until >= since
        )
        return set(self._connection.execute(asked).scalars())

    def any_left(self, firm_id: UUID, vehicle_ids: Sequence[UUID], since: datetime) -> bool:
        """Return whether anything left some bodies at a moment or after it. In one statement."""
        row = BodyStayRow
        entry: Any = MassMovementRow  # its columns are made of the record
        ended = exists().where(
            row.firm_id == firm_id,
            row.vehicle_id.in_(vehicle_ids),
            row.until >= since,
            row.until < STILL,
        )
        brought = exists().where(
            entry.firm_id == firm_id,
            entry.from_id.in_(vehicle_ids),
            # The day is that of a depot, of which some are ahead of the clock of this hour.
            entry.day >= since.date() - timedelta(days=1),
            entry.happened_at >= since,
        )
        return bool(self._connection.execute(select(or_(ended, brought))).scalar_one())

    def _told(self, firm_id: UUID, stays: Collection[BodyStay]) -> Told:
        """Return when it was first told of lots that they came into bodies, if any was apart."""
        row: Any = MassMovementRow  # its columns are made of the record
        first = select(row.lot_id, row.to_id, func.min(row.created_at)).group_by(
            row.lot_id, row.to_id
        )
        is_said = any(stay.apart_until for stay in stays)
        ids = sorted({stay.job_id for stay in stays}) if is_said else []
        return {
            (lot_id, vehicle_id): at
            for some in in_chunks(ids)
            for lot_id, vehicle_id, at in self._connection.execute(
                first.where(row.firm_id == firm_id, row.lot_id.in_(some), row.to_kind == VEHICLE)
            )
        }

    def _lain_in(
        self, firm_id: UUID, vehicle_ids: Sequence[UUID], begun: datetime
    ) -> set[BodyStay]:
        """Return all stays, anywhere, of what lay in some bodies at a moment or since."""
        row = BodyStayRow
        lots = select(row.job_id).where(
            row.firm_id == firm_id, row.vehicle_id.in_(vehicle_ids), row.until >= begun
        )
        asked = BODY_STAYS.selected.where(row.firm_id == firm_id, row.job_id.in_(lots))
        return {BODY_STAYS.from_row(one) for one in self._connection.execute(asked)}

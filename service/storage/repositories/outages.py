"""Vehicles that are out: what of their records may concern a day."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from sqlalchemy import or_

from service.core.crews import VehicleOutage
from service.storage.repositories.repository import TableRepository


class TableVehicleOutages(TableRepository[VehicleOutage]):
    """Records of vehicles that are out."""

    def up_to(self, firm_id: UUID, day: date, *, back_after: datetime) -> list[VehicleOutage]:
        """Return those of a day, and of days before it of who is back later or nobody knows when.

        By id.
        """
        row = self._row
        goes_on = or_(row.day == day, row.back_at.is_(None), row.back_at > back_after)
        asked = self._of(firm_id, row.day <= day, goes_on)
        return self._list(asked.order_by(row.id))

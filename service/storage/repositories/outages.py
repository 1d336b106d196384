"""Vehicles that are out: what of their records may concern a day."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from sqlalchemy import or_

from service.core.crews import VehicleOutage
from service.storage.repositories.repository import TableRepository


class TableVehicleOutages(TableRepository[VehicleOutage]):
    """Records of vehicles that are out."""

    def up_to(
        self, firm_id: UUID, day: date, *, since: date, back_after: datetime
    ) -> list[VehicleOutage]:
        """Return those up to a day, of the days since another or of who is back later, by id."""
        row = self._row
        asked = self._of(firm_id, row.day <= day, or_(row.day >= since, row.back_at > back_after))
        return self._list(asked.order_by(row.id))

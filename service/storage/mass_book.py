"""The mass book: entries that are only added, and sums that are written with them."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from sqlalchemy import Connection, delete, func, insert, select

from service.core.mass_book import AMOUNTS, Amounts, MassBalance, MassMovement
from service.storage.mapping import RecordMapping
from service.storage.repository import TableRepository, in_chunks
from service.storage.tables.mass_book import MassBalanceRow, MassMovementRow

MASS_MOVEMENTS = RecordMapping(MassMovement, MassMovementRow, "mass movement")
MASS_BALANCES = RecordMapping(MassBalance, MassBalanceRow, "mass balance")


class TableMassMovements(TableRepository[MassMovement]):
    """Movements."""

    def of_lots(self, firm_id: UUID, lot_ids: Sequence[UUID]) -> list[MassMovement]:
        """Return every entry of some lots, ordered by id."""
        found = [
            entry
            for some in in_chunks(lot_ids)
            for entry in self._list(self._of(firm_id).where(self._row.lot_id.in_(some)))
        ]
        return sorted(found, key=lambda entry: entry.id)

    def replace(self, record: MassMovement, *, expected_version: int) -> None:
        """Refuse: an entry is taken back by another one."""
        raise ValueError(f"movement {record.id} stays at version {expected_version}")

    def replace_many(self, records: Sequence[MassMovement]) -> None:
        """Refuse: an entry is taken back by another one."""
        raise ValueError(f"{len(records)} movements stay as they are")

    def remove(self, firm_id: UUID, record_id: UUID) -> None:
        """Refuse: an entry is taken back by another one."""
        raise ValueError(f"movement {record_id} of firm {firm_id} stays")


class TableMassBalances:
    """Sums."""

    def __init__(self, connection: Connection) -> None:
        """Work in the transaction of the connection."""
        self._connection = connection

    def of_lots(self, firm_id: UUID, lot_ids: Sequence[UUID]) -> list[MassBalance]:
        """Return the sums of some lots at all places."""
        row = MassBalanceRow
        return [
            MASS_BALANCES.from_row(found)
            for some in in_chunks(lot_ids)
            for found in self._connection.execute(
                select(*MASS_BALANCES.columns)
                .where(row.firm_id == firm_id, row.lot_id.in_(some))
                .order_by(row.lot_id, row.place_kind, row.place_id)
            )
        ]

    def at(self, firm_id: UUID, place_kind: str, place_id: UUID | None) -> list[MassBalance]:
        """Return the sums of all lots at a place, or at all places of a kind."""
        row = MassBalanceRow
        asked = select(*MASS_BALANCES.columns).where(
            row.firm_id == firm_id, row.place_kind == place_kind
        )
        if place_id is not None:
            asked = asked.where(row.place_id == place_id)
        found = self._connection.execute(asked.order_by(row.place_id, row.lot_id))
        return [MASS_BALANCES.from_row(one) for one in found]

    def totals(
        self, firm_id: UUID, place_kind: str | None = None
    ) -> list[tuple[str, UUID, Amounts]]:
        """Return what is at every place, or at those of a kind, all lots together."""
        row = MassBalanceRow
        sums = [func.sum(getattr(row, name)) for name in AMOUNTS]
        asked = select(row.place_kind, row.place_id, *sums).where(row.firm_id == firm_id)
        if place_kind is not None:
            asked = asked.where(row.place_kind == place_kind)
        asked = asked.group_by(row.place_kind, row.place_id)
        return [
            (kind, place_id, Amounts(**dict(zip(AMOUNTS, amounts, strict=True))))
            for kind, place_id, *amounts in self._connection.execute(
                asked.order_by(row.place_kind, row.place_id)
            )
        ]

    def put(
        self,
        firm_id: UUID,
        lot_ids: Sequence[UUID],
        balances: Sequence[MassBalance],
        *,
        fresh: bool = False,
    ) -> None:
        """Write the sums of some lots over those that were kept; fresh lots have none."""
        row = MassBalanceRow
        for some in in_chunks(() if fresh else lot_ids):
            self._connection.execute(
                delete(row).where(row.firm_id == firm_id, row.lot_id.in_(some))
            )
        if balances:
            self._connection.execute(
                insert(row), [MASS_BALANCES.to_row(balance) for balance in balances]
            )

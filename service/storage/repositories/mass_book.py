"""The mass book: entries that are only added, and sums that are written with them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final
from uuid import UUID

from sqlalchemy import ColumnElement, case, delete, func, insert, literal_column, null, or_, select

from service.core.mass_book import (
    NOTHING,
    Amounts,
    BroughtOnADay,
    MassBalance,
    MassMoved,
    MassMovement,
)
from service.core.places import DestinationKind
from service.storage.mapping import RecordMapping
from service.storage.repositories import place_sums
from service.storage.repositories.connected import Connected
from service.storage.repositories.repository import TableRepository, by_ids, in_chunks
from service.storage.tables.mass_book import MassBalanceRow

SUMMED: Final = ("mass_low_kg", "mass_likely_kg", "mass_high_kg", "counted_kg")
# A word of the statement itself: what is grouped by is the same wherever it stands in it.
HOLD_BAY: Final[ColumnElement[str]] = literal_column(f"'{DestinationKind.HOLD_BAY.value}'")
MASS_BALANCES = RecordMapping(MassBalance, MassBalanceRow, "mass balance")


class TableMassMovements(TableRepository[MassMovement]):
    """Movements."""

    def of_lots(self, firm_id: UUID, lot_ids: Sequence[UUID]) -> list[MassMovement]:
        """Return every entry of some lots, ordered by id."""
        return sorted(self._named(firm_id, "lot_id", lot_ids), key=lambda entry: entry.id)

    def brought(
        self,
        firm_id: UUID,
        place_ids: Sequence[UUID],
        *,
        since: date,
        before: date,
        without: Sequence[UUID] = (),
    ) -> list[BroughtOnADay]:
        """Return what places got on each of the days in [since, before), ascending."""
        row = self._row
        # Of older entries the nitrogen in what was weighed is as much less or more as the mass.
        as_counted = func.coalesce(row.weighed_kg / func.nullif(row.mass_high_kg, 0.0), 1.0)
        found: list[BroughtOnADay] = []
        for some in in_chunks(place_ids):
            asked = (
                select(
                    row.to_id,
                    row.day,
                    func.sum(func.coalesce(row.weighed_kg, row.mass_high_kg)),
                    func.sum(
                        func.coalesce(row.weighed_nitrogen_kg, row.nitrogen_high_kg * as_counted)
                    ),
                )
                .where(
                    row.firm_id == firm_id,
                    row.to_id.in_(some),
                    row.day >= since,
                    row.day < before,
                    *([row.cause_id.not_in(without)] if without else []),
                )
                .group_by(row.to_id, row.day)
                .having(func.sum(row.share) > NOTHING)
                .order_by(row.to_id, row.day)
            )
            found += [
                BroughtOnADay(place_id=place, day=day, mass_kg=mass_kg, nitrogen_kg=nitrogen_kg)
                for place, day, mass_kg, nitrogen_kg in self._connection.execute(asked)
            ]
        return found

    def lots_brought(
        self, firm_id: UUID, place_id: UUID, *, since: date, until: date
    ) -> list[UUID]:
        """Return the lots of which a place got something in [since, until], ascending."""
        row = self._row
        # Entries are counted, not shares: of what lay in one body some share is nothing.
        stand = func.sum(case((row.corrects_id.is_(None), 1), else_=-1))
        asked = select(row.lot_id).where(
            row.firm_id == firm_id, row.to_id == place_id, row.day >= since, row.day <= until
        )
        asked = asked.group_by(row.lot_id).having(stand > 0).order_by(row.lot_id)
        return list(self._connection.execute(asked).scalars())

    def moved(self, firm_id: UUID, depot_id: UUID, *, since: date, before: date) -> list[MassMoved]:
        """Return what moved on each of a depot's days in [since, before), summed."""
        row = self._row
        ways = (row.day, row.from_kind, row.from_id, row.to_kind, row.to_id, row.status)
        of_weighed = case((row.weighed_kg.is_not(None), row.mass_likely_kg), else_=0.0)
        held = or_(row.from_kind == HOLD_BAY, row.to_kind == HOLD_BAY)
        lot = case((held, row.lot_id), else_=null())
        asked = (
            select(
                *ways,
                *(func.sum(row[name]) for name in SUMMED),
                func.sum(func.coalesce(row.counted_before_kg, row.counted_kg)),
                func.sum(func.coalesce(row.weighed_kg, 0.0)),
                func.sum(of_weighed),
                lot,
            )
            .where(
                row.firm_id == firm_id,
                row.depot_id == depot_id,
                row.day >= since,
                row.day < before,
            )
            .group_by(*ways, lot)
            .having(func.sum(row.share) > NOTHING)
            .order_by(*ways, lot)
        )
        names = tuple(MassMoved.__dataclass_fields__)
        return [
            MassMoved(**dict(zip(names, found, strict=True)))
            for found in self._connection.execute(asked)
        ]

    def replace(self, record: MassMovement, *, expected_version: int) -> None:
        """Refuse: an entry is taken back by another one."""
        raise ValueError(f"movement {record.id} stays at version {expected_version}")

    def replace_many(self, records: Sequence[MassMovement]) -> None:
        """Refuse: an entry is taken back by another one."""
        raise ValueError(f"{len(records)} movements stay as they are")

    def remove(self, firm_id: UUID, record_id: UUID) -> None:
        """Refuse: an entry is taken back by another one."""
        raise ValueError(f"movement {record_id} of firm {firm_id} stays")


class TableMassBalances(Connected):
    """Sums."""

    def of_lots(self, firm_id: UUID, lot_ids: Sequence[UUID]) -> list[MassBalance]:
        """Return the sums of some lots at all places."""
        asked = by_ids(MASS_BALANCES, "lot_id")
        found = [
            MASS_BALANCES.from_row(one)
            for some in in_chunks(lot_ids)
            for one in self._connection.execute(asked, {"of_firm": firm_id, "of_ids": list(some)})
        ]
        # In order here: asked for in order, the database reads the whole book in the order it has.
        return sorted(found, key=lambda one: (one.lot_id, one.place_kind, one.place_id))

    def at(self, firm_id: UUID, place_kind: str, place_id: UUID | None) -> list[MassBalance]:
        """Return the sums of all lots at a place, or at all places of a kind."""
        row = MassBalanceRow
        asked = MASS_BALANCES.selected.where(row.firm_id == firm_id, row.place_kind == place_kind)
        if place_id is not None:
            asked = asked.where(row.place_id == place_id)
        found = self._connection.execute(asked.order_by(row.place_id, row.lot_id))
        return [MASS_BALANCES.from_row(one) for one in found]

    def totals(
        self, firm_id: UUID, place_kind: str | None = None
    ) -> list[tuple[str, UUID, Amounts]]:
        """Return what is at every place, or at those of a kind, all lots together."""
        return place_sums.totals(self._connection, firm_id, place_kind)

    def totals_anew(self, firm_id: UUID) -> list[tuple[str, UUID, Amounts]]:
        """Return what is at every place, worked out of every lot there ever was."""
        return place_sums.totals_anew(self._connection, firm_id)

    def keep_totals_anew(self, firm_id: UUID) -> None:
        """Write what is at every place over what was kept of it."""
        place_sums.keep_anew(self._connection, firm_id)

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
        gone = [] if fresh else self.of_lots(firm_id, lot_ids)
        for some in in_chunks(lot_ids if gone else ()):
            self._connection.execute(
                delete(row).where(row.firm_id == firm_id, row.lot_id.in_(some))
            )
        if balances:
            self._connection.execute(
                insert(row), [MASS_BALANCES.to_row(balance) for balance in balances]
            )
        place_sums.change(self._connection, gone=gone, came=balances)

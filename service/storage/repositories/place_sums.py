"""Sums of all lots at a place, kept beside those of each lot: read as they are, all season."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from types import MappingProxyType
from typing import Any, Final
from uuid import UUID

from sqlalchemy import (
    BigInteger,
    ColumnElement,
    Connection,
    Select,
    cast,
    delete,
    func,
    insert,
    select,
)
from sqlalchemy.dialects import postgresql, sqlite

from service.core.mass_book import AMOUNTS, Amounts, MassBalance
from service.storage.tables.mass_book import MassBalanceRow, PlaceSumRow

# A microgram: a season of kilograms that come and go again adds up to what is there, not nearly.
BILLIONTHS: Final = 1e9
PLACE: Final = ("firm_id", "place_kind", "place_id")
COUNTED: Final = ("lots", *AMOUNTS)
ADDED: Final = MappingProxyType(
    {
        dialect: made.on_conflict_do_update(
            index_elements=PLACE,
            set_={
                name: getattr(PlaceSumRow, name) + getattr(made.excluded, name) for name in COUNTED
            },
        )
        for dialect, made in (
            ("postgresql", postgresql.insert(PlaceSumRow)),
            ("sqlite", sqlite.insert(PlaceSumRow)),
        )
    }
)

Total = tuple[str, UUID, Amounts]


def change(
    connection: Connection, *, gone: Iterable[MassBalance], came: Iterable[MassBalance]
) -> None:
    """Take from the sums what lots had at their places, and add what they have by now."""
    changes: dict[tuple[UUID, str, UUID], list[int]] = defaultdict(lambda: [0] * len(COUNTED))
    for sign, balances in ((-1, gone), (1, came)):
        for one in balances:
            sums = changes[one.firm_id, one.place_kind, one.place_id]
            for at, amount in enumerate((1, *(_whole(getattr(one, name)) for name in AMOUNTS))):
                sums[at] += sign * amount
    rows = [
        {**dict(zip(PLACE, place, strict=True)), **dict(zip(COUNTED, sums, strict=True))}
        # In one order: two that change the same places do not wait for each other in a ring.
        for place, sums in sorted(changes.items())
        if any(sums)
    ]
    if rows:
        connection.execute(ADDED[connection.dialect.name], rows)


def totals(connection: Connection, firm_id: UUID, place_kind: str | None) -> list[Total]:
    """Return what is kept of every place where anything is, or of those of a kind."""
    row = PlaceSumRow
    asked = select(row.place_kind, row.place_id, *(getattr(row, name) for name in AMOUNTS)).where(
        row.firm_id == firm_id, row.lots > 0
    )
    if place_kind is not None:
        asked = asked.where(row.place_kind == place_kind)
    return _told(connection, asked.order_by(row.place_kind, row.place_id))


def totals_anew(connection: Connection, firm_id: UUID) -> list[Total]:
    """Return the same, worked out of every lot there ever was."""
    row = MassBalanceRow
    asked = (
        select(row.place_kind, row.place_id, *_sums())
        .where(row.firm_id == firm_id)
        .group_by(row.place_kind, row.place_id)
        .order_by(row.place_kind, row.place_id)
    )
    return _told(connection, asked)


def keep_anew(connection: Connection, firm_id: UUID) -> None:
    """Write the sums of a firm's places over those that were kept."""
    row = MassBalanceRow
    connection.execute(delete(PlaceSumRow).where(PlaceSumRow.firm_id == firm_id))
    found = (
        select(row.firm_id, row.place_kind, row.place_id, func.count(), *_sums())
        .where(row.firm_id == firm_id)
        .group_by(row.firm_id, row.place_kind, row.place_id)
    )
    connection.execute(insert(PlaceSumRow).from_select([*PLACE, *COUNTED], found))


def _sums() -> list[ColumnElement[int]]:
    return [
        cast(
            func.sum(cast(func.round(getattr(MassBalanceRow, name) * BILLIONTHS), BigInteger)),
            BigInteger,
        )
        for name in AMOUNTS
    ]


def _told(connection: Connection, asked: Select[*tuple[Any, ...]]) -> list[Total]:
    return [
        (
            kind,
            place_id,
            Amounts(
                **{name: amount / BILLIONTHS for name, amount in zip(AMOUNTS, amounts, strict=True)}
            ),
        )
        for kind, place_id, *amounts in connection.execute(asked)
    ]


def _whole(amount: float) -> int:
    return round(amount * BILLIONTHS)

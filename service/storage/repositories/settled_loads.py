"""What was known of loads as a recall that had them was ended."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final
from uuid import UUID

from sqlalchemy import select
from sqlalchemy.dialects import postgresql, sqlite

from service.storage.repositories.connected import Connected
from service.storage.repositories.repository import in_chunks
from service.storage.tables.papers import SettledLoadRow

_KEPT: Final = {
    dialect: made.on_conflict_do_update(
        index_elements=[SettledLoadRow.firm_id, SettledLoadRow.load_id],
        set_={"known": made.excluded.known},
    )
    for dialect, made in (
        ("postgresql", postgresql.insert(SettledLoadRow)),
        ("sqlite", sqlite.insert(SettledLoadRow)),
    )
}


class TableSettledLoads(Connected):
    """Settled loads."""

    def keep(self, firm_id: UUID, known: Mapping[UUID, Sequence[Any]]) -> None:
        """Keep what is known of loads, in place of what was kept of them."""
        rows = [
            {"firm_id": firm_id, "load_id": load_id, "known": list(known[load_id])}
            for load_id in sorted(known)
        ]
        if rows:
            self._connection.execute(_KEPT[self._connection.dialect.name], rows)

    def of(self, firm_id: UUID, load_ids: Sequence[UUID]) -> dict[UUID, list[Any]]:
        """Return what was known of those of some loads that were recalled."""
        row = SettledLoadRow
        return {
            load_id: known
            for some in in_chunks(load_ids)
            for load_id, known in self._connection.execute(
                select(row.load_id, row.known).where(row.firm_id == firm_id, row.load_id.in_(some))
            )
        }

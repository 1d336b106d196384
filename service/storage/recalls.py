"""Recalls: what is frozen is asked of each day, what was traced of few."""

from __future__ import annotations

from dataclasses import replace
from typing import Final
from uuid import UUID

from sqlalchemy import null, select

from service.core.evidence.recalls import Recall
from service.storage.repository import TableRepository

# The trace: it names every load and place of a season, where a product is recalled.
HEAVY: Final = "content"


class TableRecalls(TableRepository[Recall]):
    """Recalls that were begun."""

    def open(self, firm_id: UUID) -> list[Recall]:
        """Return the open ones without what was traced, by id."""
        columns = [
            null().label(HEAVY) if column.name == HEAVY else column
            for column in self._mapping.columns
        ]
        asked = select(*columns).where(self._row.firm_id == firm_id, self._row.is_open.is_(True))
        found = [replace(recall, content={}) for recall in self._list(asked)]
        return sorted(found, key=lambda recall: recall.id)

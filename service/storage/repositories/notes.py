"""Delivery notes, numbers never given twice, and recalls: paper that never changes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final
from uuid import UUID

from sqlalchemy import null, select
from sqlalchemy.dialects import postgresql, sqlite

from service.core.evidence.recalls import Recall
from service.core.notes import DeliveryNote
from service.storage.repositories.loads import FoundByLoads
from service.storage.repositories.repository import TableRepository
from service.storage.tables.access import FirmsRow
from service.storage.tables.papers import NoteNumberRow

# The trace: it names every load and place of a season, where a product is recalled.
HEAVY: Final = "content"


class TableNotes(FoundByLoads[DeliveryNote]):
    """Delivery notes and their numbers."""

    def next_number(self, firm_id: UUID, year: int) -> int:
        """Return the next running number of the firm's year, never given twice.

        The number is taken when the unit commits; until then a rival waits for it. So no number
        is missing from the series either.
        """
        insert = (
            postgresql.insert(NoteNumberRow)
            if self._connection.dialect.name == "postgresql"
            else sqlite.insert(NoteNumberRow)
        )
        taken = (
            insert.values(firm_id=firm_id, year=year, last_number=1)
            .on_conflict_do_update(
                index_elements=[NoteNumberRow.firm_id, NoteNumberRow.year],
                set_={"last_number": NoteNumberRow.last_number + 1},
            )
            .returning(NoteNumberRow.last_number)
        )
        return int(self._connection.execute(taken).scalar_one())

    def find(self, note_id: UUID) -> DeliveryNote | None:
        """Return a note by id alone: for the signed link, whose signature is the key.

        Each firm's notes are asked by their own key, so that no index need leave the firm out.
        """
        firms = select(FirmsRow.id)
        return self._first(
            self._mapping.selected.where(self._row.firm_id.in_(firms), self._row.id == note_id)
        )

    def replace(self, record: DeliveryNote, *, expected_version: int) -> None:
        """Add the acknowledgement. Raises ValueError if anything else of the note would change."""
        kept = self.get(record.firm_id, record.id)
        if kept is not None:
            allowed = replace(
                kept,
                version=record.version,
                updated_at=record.updated_at,
                acknowledgement=record.acknowledgement,
                link_ended_at=record.link_ended_at,
            )
            if allowed != record:
                raise ValueError(f"delivery note {record.id} was issued and does not change")
        super().replace(record, expected_version=expected_version)

    def replace_many(self, records: Sequence[DeliveryNote]) -> None:
        """Add the acknowledgements, each looked at like one alone."""
        for record in records:
            self.replace(record, expected_version=record.version - 1)

    def remove(self, firm_id: UUID, record_id: UUID) -> None:
        """Refuse: what was issued stays."""
        raise ValueError(f"delivery note {record_id} of firm {firm_id} was issued and stays")


class TableRecalls(TableRepository[Recall]):
    """Recalls: what is frozen is asked of each day, what was traced of few."""

    def open(self, firm_id: UUID) -> list[Recall]:
        """Return the open ones without what was traced, by id."""
        columns = [
            null().label(HEAVY) if column.name == HEAVY else column
            for column in self._mapping.columns
        ]
        asked = select(*columns).where(self._row.firm_id == firm_id, self._row.is_open.is_(True))
        found = [replace(recall, content={}) for recall in self._list(asked)]
        return sorted(found, key=lambda recall: recall.id)

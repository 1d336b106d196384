"""Records that others name: those that are missing, and those of many rows, read once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any
from uuid import UUID

from service.core.errors import FieldFault
from service.core.records import Record
from service.usecases.base.ports.unit_of_work import UnitOfWork


class Remembered:
    """Finds a firm's records by id within one unit of work, each asked for at most once."""

    def __init__(self, unit: UnitOfWork, firm_id: UUID) -> None:
        """Take the unit; nothing is read yet."""
        self._unit = unit
        self._firm_id = firm_id
        self._found: dict[tuple[str, UUID], Record | None] = {}

    def read_all(self, repository: str, ids: Iterable[UUID | None]) -> None:
        """Read many records of a repository at once."""
        wanted = {record_id for record_id in ids if record_id is not None}
        fresh = sorted(wanted - {known for name, known in self._found if name == repository})
        found = self._unit.repository(repository).get_many(self._firm_id, fresh)
        for record_id in fresh:
            self._found[repository, record_id] = found.get(record_id)

    def many(self, repository: str, ids: Iterable[UUID]) -> dict[UUID, Any]:
        """Return those of the records that exist, by id."""
        wanted = sorted(set(ids))
        self.read_all(repository, wanted)
        found = {record_id: self._found[repository, record_id] for record_id in wanted}
        return {record_id: record for record_id, record in found.items() if record is not None}

    def read_references(
        self, references: Mapping[str, str], rows: Iterable[Mapping[str, Any]]
    ) -> None:
        """Read what rows of fields name, by field -> repository."""
        kept = list(rows)
        for field, repository in references.items():
            self.read_all(repository, (row.get(field) for row in kept))

    def get(self, repository: str, record_id: UUID) -> Any:  # noqa: ANN401 - of any kind
        """Return the record, or None if the firm has none with this id."""
        key = (repository, record_id)
        if key not in self._found:
            found = self._unit.repository(repository).get(self._firm_id, record_id)
            self._found[key] = found
        return self._found[key]


def missing_references(
    unit: UnitOfWork, record: Record, references: Mapping[str, str]
) -> list[FieldFault]:
    """Return a fault for every id in the record that names nothing of the firm's, or an erased."""
    found = []
    for name, repository in references.items():
        named = getattr(record, name)
        if named is None:
            continue
        kept = unit.repository(repository).get(record.firm_id, named)
        if kept is None:
            detail = f"There is no record with the id {named} among {repository}."
            fault = FieldFault(pointer=f"/{name}", detail=detail, code="reference_missing")
            found.append(fault)
        found += erased_faults(name, kept)
    return found


def erased_faults(name: str, named: object) -> Iterator[FieldFault]:
    """Yield a fault if what a field names is a client who was erased, or such a one's land."""
    if getattr(named, "erased_at", None) is not None:
        detail = (
            "Its client was erased, and nothing more is recorded of them. Enter the new client, "
            "and name that one in the property (`client_id`)."
        )
        yield FieldFault(pointer=f"/{name}", detail=detail, code="client_erased")

"""Keep records of several books together: all of them, or, with every fault named, none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable
from service.core.records import Clock, Identifiers, Record
from service.usecases.base.batch_cache import missing_references
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.records.keep_records import AfterChange
from service.usecases.records.misplaced import BOOKS, swapped_faults, yards_of
from service.usecases.records.record_kinds import shelves


@dataclass(frozen=True, slots=True, kw_only=True)
class NewRecord:
    """A record to keep.

    Attributes
    ----------
    row
        What its faults are told under: the row of a sheet, say.
    repository
        Its book.
    id
        Made before, so that records of the same call can name each other.
    values
        Its fields.
    """

    row: int
    repository: str
    id: UUID
    values: Mapping[str, Any]


class KeepTogether:
    """Keep many records in one transaction."""

    def __init__(
        self,
        *,
        open_unit_of_work: OpenUnitOfWork,
        clock: Clock,
        identifiers: Identifiers,
        after_change: AfterChange[Any] | None = None,
    ) -> None:
        """Take what is needed, and what else happens when a record is kept."""
        self._open = open_unit_of_work
        self._clock = clock
        self._identifiers = identifiers
        self._shelves = shelves(after_change)

    def next_id(self) -> UUID:
        """Return an id for a record to come."""
        return self._identifiers.next_id()

    def __call__(self, caller: Caller, found: Sequence[NewRecord], *, keep: bool) -> None:
        """Keep the records in their order.

        Parameters
        ----------
        keep
            False to try it: everything is done as if, then undone.

        Raises
        ------
        RecordNotUsable
            With the faults of all records, each under ``/rows/<row>/<field>``.
        """
        now = self._clock.now()
        own = {one.id for one in found}
        faults: list[FieldFault] = []
        with self._open() as unit:
            yards = yards_of(unit, caller.firm_id)
            for one in found:
                shelf = self._shelves[one.repository]
                record = shelf.record_type(
                    id=one.id,
                    firm_id=caller.firm_id,
                    version=1,
                    created_at=now,
                    updated_at=now,
                    **one.values,
                )
                wrong = _faults(unit, record, shelf.references, own)
                if one.repository in BOOKS and record.point is not None:
                    wrong += swapped_faults(record.point, yards)
                faults += [
                    FieldFault(
                        pointer=f"/rows/{one.row}{fault.pointer}",
                        detail=fault.detail,
                        code=fault.fault_code,
                    )
                    for fault in wrong
                ]
                if not wrong:
                    unit.repository(one.repository).add(record)
                    if shelf.after_change is not None:
                        shelf.after_change(unit, record)
            if faults:
                raise RecordNotUsable(faults)
            if keep:
                unit.commit()


def _faults(
    unit: UnitOfWork, record: Record, references: Mapping[str, str], own: set[UUID]
) -> list[FieldFault]:
    """Return what is wrong with a record; of one it names beside it, that one speaks."""
    elsewhere = {
        field: repository
        for field, repository in references.items()
        if getattr(record, field) not in own
    }
    return [*record.faults(), *missing_references(unit, record, elsewhere)]

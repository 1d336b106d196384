"""Keep records of several books together: all of them, or, with every fault named, none."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable
from service.core.records import Clock, Identifiers, Record
from service.usecases.base.batch_cache import missing_references
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.records.keep_records import AfterChange
from service.usecases.records.misplaced import BOOKS, swapped_faults, yards_of
from service.usecases.records.record_kinds import shelves

RESTS: Final = "This rests on row {row}: correct that one first."


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

    def __call__(
        self,
        caller: Caller,
        found: Sequence[NewRecord],
        *,
        keep: bool,
        refused_rows: Collection[int] = (),
    ) -> None:
        """Keep the records in their order.

        Parameters
        ----------
        keep
            False to try it: everything is done as if, then undone.
        refused_rows
            Rows that are refused already: nothing of them is tried.

        Raises
        ------
        RecordNotUsable
            With the faults of all records, each under ``/rows/<row>/<field>``.
        """
        now = self._clock.now()
        own = {one.id for one in found}
        refused = {one.id: one.row for one in found if one.row in refused_rows}
        faults: list[FieldFault] = []
        with self._open() as unit:
            yards = yards_of(unit, caller.firm_id)
            for one in found:
                if one.id in refused:
                    continue
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
                rests = dict(_rests(record, shelf.references, refused))
                wrong += [
                    FieldFault(
                        pointer=f"/{field}", detail=RESTS.format(row=row), code="row_refused"
                    )
                    for field, row in rests.items()
                    if row != one.row  # what is wrong with its own is told there already
                ]
                faults += [
                    FieldFault(
                        pointer=f"/rows/{one.row}{fault.pointer}",
                        detail=fault.detail,
                        code=fault.fault_code,
                    )
                    for fault in wrong
                ]
                if wrong or rests:
                    refused[one.id] = one.row
                    continue
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


def _rests(
    record: Record, references: Mapping[str, str], refused: Mapping[UUID, int]
) -> Iterator[tuple[str, int]]:
    """Yield the fields by which a record names one that is refused, and that one's row."""
    for field in references:
        row = refused.get(getattr(record, field))
        if row is not None:
            yield field, row

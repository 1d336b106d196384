"""What else is wrong with values that cannot be kept anyway, so that all is said at once."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import MISSING, dataclass, fields, replace
from datetime import timedelta
from types import SimpleNamespace
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault
from service.core.records import NOBODY, Record
from service.usecases.base.batch_cache import missing_references
from service.usecases.base.use_cases import Asking
from service.usecases.records.keep_records import Shelf


@dataclass(frozen=True, kw_only=True, eq=False)
class FindFurtherFaults(Asking):
    """Look at the usable values of a request whose other values are not."""

    # A cut further ahead is refused.
    clock_tolerance: timedelta

    def __call__(
        self,
        caller: Caller,
        values: Mapping[str, Any],
        *,
        shelf: Shelf[Any],
        unreadable: Collection[str],
        record_id: UUID | None = None,
    ) -> list[FieldFault]:
        """Return the ids that name nothing, and what contradicts itself in what can be read.

        Parameters
        ----------
        values
            The fields that can be used.
        shelf
            Where such records are kept.
        unreadable
            The fields that cannot: nothing is compared with them.
        record_id
            Of the record that is amended, if one is.
        """
        readable = {name: value for name, value in values.items() if name not in unreadable}
        known = dict.fromkeys(one.name for one in fields(shelf.record_type)) | readable
        told: Any = SimpleNamespace(**known | {"firm_id": caller.firm_id})
        with self.open_unit_of_work() as unit:
            kept: Record | None = None
            found: list[FieldFault] = []
            if record_id is not None:
                kept = unit.repository(shelf.repository).get(caller.firm_id, record_id)
            if kept is not None:
                new = replace(kept, **readable, updated_at=self.clock.now())
                found += new.faults_after(kept)
                # What an amendment leaves as it is says what the record says.
                found += new.faults_without({*unreadable, *new.unasked(kept)})
            elif record_id is None:
                found += self._contradictions(caller, readable, shelf.record_type, unreadable)
            if shelf.beside_others is not None:
                latest = self.clock.now() + self.clock_tolerance
                found += shelf.beside_others(unit, caller.firm_id, told, latest)
            return [*found, *missing_references(unit, told, shelf.references)]

    def _contradictions(
        self,
        caller: Caller,
        values: Mapping[str, Any],
        record_type: type[Record],
        unreadable: Collection[str],
    ) -> Sequence[FieldFault]:
        now = self.clock.now()
        members = {
            "id": NOBODY,
            "firm_id": caller.firm_id,
            "version": 1,
            "created_at": now,
            "updated_at": now,
            **values,
        }
        # Ids that others tell, and what nobody can read.
        untold = [
            field.name
            for field in fields(record_type)
            if field.name not in members and field.default is field.default_factory is MISSING
        ]
        members.update(dict.fromkeys(untold, NOBODY))
        return record_type(**members).faults_without({*unreadable, *untold})

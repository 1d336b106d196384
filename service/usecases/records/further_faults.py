"""What else is wrong with values that cannot be kept anyway, so that all is said at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, fields
from types import SimpleNamespace
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault
from service.core.records import Clock, Record
from service.usecases.base.ports import OpenUnitOfWork
from service.usecases.records.keep_records import missing_references

NOBODY = UUID(int=0)


class FindFurtherFaults:
    """Look at the usable values of a request whose other values are not."""

    def __init__(self, *, open_unit_of_work: OpenUnitOfWork, clock: Clock) -> None:
        """Take the way to the records."""
        self._open = open_unit_of_work
        self._clock = clock

    def __call__(
        self,
        caller: Caller,
        values: Mapping[str, Any],
        *,
        record_type: type[Record],
        references: Mapping[str, str],
        whole: bool,
    ) -> list[FieldFault]:
        """Return the ids that name nothing and, of a whole record, what contradicts itself.

        Parameters
        ----------
        values
            The fields that can be used.
        references
            Field that holds an id -> repository it must be found in.
        whole
            Whether every field of the record can be used: only then can fields be compared.
        """
        found = list(self._contradictions(caller, values, record_type)) if whole else []
        named = {field: values.get(field) for field in references}
        partial: Any = SimpleNamespace(firm_id=caller.firm_id, **named)
        with self._open() as unit:
            return [*found, *missing_references(unit, partial, references)]

    def _contradictions(
        self, caller: Caller, values: Mapping[str, Any], record_type: type[Record]
    ) -> list[FieldFault]:
        now = self._clock.now()
        members = {
            "id": NOBODY,
            "firm_id": caller.firm_id,
            "version": 1,
            "created_at": now,
            "updated_at": now,
            **values,
        }
        for field in fields(record_type):
            if field.name not in members and field.default is field.default_factory is MISSING:
                members[field.name] = NOBODY  # the service fills in ids that others tell
        return list(record_type(**members).faults())

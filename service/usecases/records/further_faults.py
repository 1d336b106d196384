"""What else is wrong with values that cannot be kept anyway, so that all is said at once."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import MISSING, fields
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

from service.core.callers.access import Caller
from service.core.errors import FieldFault
from service.core.jobs import Job
from service.core.records import NOBODY, Clock, Record
from service.usecases.base.batch_cache import Remembered
from service.usecases.base.ports import OpenUnitOfWork
from service.usecases.records.job_names import record_faults
from service.usecases.records.keep_records import missing_references


class FindFurtherFaults:
    """Look at the usable values of a request whose other values are not."""

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, clock: Clock, clock_tolerance: timedelta
    ) -> None:
        """Take the way to the records; a cut further ahead than the tolerance is refused."""
        self._open = open_unit_of_work
        self._clock = clock
        self._clock_tolerance = clock_tolerance

    def __call__(
        self,
        caller: Caller,
        values: Mapping[str, Any],
        *,
        record_type: type[Record],
        references: Mapping[str, str],
        unreadable: Collection[str],
    ) -> list[FieldFault]:
        """Return the ids that name nothing, and what contradicts itself in what can be read.

        Parameters
        ----------
        values
            The fields that can be used.
        references
            Field that holds an id -> repository it must be found in.
        unreadable
            The fields that cannot: nothing is compared with them.
        """
        readable = {name: value for name, value in values.items() if name not in unreadable}
        found = list(self._contradictions(caller, readable, record_type, unreadable))
        named = {field: readable.get(field) for field in references}
        partial: Any = SimpleNamespace(firm_id=caller.firm_id, **named)
        with self._open() as unit:
            if record_type is Job:
                job: Any = SimpleNamespace(**dict.fromkeys(one.name for one in fields(Job)))
                vars(job).update(readable)
                latest = self._clock.now() + self._clock_tolerance
                remembered = Remembered(unit, caller.firm_id)
                found += record_faults(remembered, job, latest=latest)
            return [*found, *missing_references(unit, partial, references)]

    def _contradictions(
        self,
        caller: Caller,
        values: Mapping[str, Any],
        record_type: type[Record],
        unreadable: Collection[str],
    ) -> Sequence[FieldFault]:
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
                members[field.name] = NOBODY  # ids that others tell, and what nobody can read
        return record_type(**members).faults_without(unreadable)

"""Release what waits in a hold bay."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from uuid import UUID

from service.core.access import Amendment, Caller
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable
from service.core.loads import HoldEntry, HoldState
from service.core.records import Clock, Identifiers
from service.usecases.base.ports import OpenUnitOfWork
from service.usecases.base.staleness import MarkDaysStale
from service.usecases.mass_book.keeping import Stamp, book_load
from service.usecases.records.hold_moves import StateNotReachable
from service.usecases.records.keep_records import changed_fields


class UpdateHold:
    """Read hold entries, and release them: where to, and when."""

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, clock: Clock, identifiers: Identifiers
    ) -> None:
        """Take what is needed."""
        self._open = open_unit_of_work
        self._clock = clock
        self._identifiers = identifiers
        self._mark_days_stale = MarkDaysStale(clock=clock)

    def __call__(
        self,
        caller: Caller,
        entry_id: UUID,
        changes: Mapping[str, Any],
        *,
        expected_version: int,
        reason: str | None = None,
    ) -> HoldEntry:
        """Write the changes (``state``, ``released_to``) and return the entry.

        Raises
        ------
        RecordMissing, VersionOvertaken, StateNotReachable, RecordNotUsable
        """
        now = self._clock.now()
        with self._open() as unit:
            old = unit.hold_entries.get(caller.firm_id, entry_id)
            if old is None:
                raise RecordMissing(record="hold entry", id=entry_id)
            new = replace(old, **changes, version=expected_version + 1, updated_at=now)
            if new.state is not old.state:
                if (old.state, new.state) != (HoldState.IN_BAY, HoldState.RELEASED):
                    raise StateNotReachable(state=old.state.value, wanted=new.state.value)
                new = replace(new, released_at=now)
            if new.state is HoldState.RELEASED and not new.released_to:
                raise RecordNotUsable(
                    [FieldFault(pointer="/released_to", detail="Say where the clippings went.")]
                )
            # The days first, as planning does: two orders would lock each other out.
            self._mark_days_stale(unit, new)
            unit.hold_entries.replace(new, expected_version=expected_version)
            unit.amendments.add(
                Amendment(
                    id=self._identifiers.next_id(),
                    firm_id=caller.firm_id,
                    record_kind="hold_entries",
                    record_id=entry_id,
                    record_version=new.version,
                    at=now,
                    key_id=caller.key_id,
                    reason=reason,
                    changes=changed_fields(old, new),
                )
            )
            load = unit.loads.get(caller.firm_id, new.load_id)
            if load is not None:
                stamp = Stamp(now=now, key_id=caller.key_id, reason=reason or new.released_to)
                book_load(unit, load, stamp, self._identifiers)
            unit.commit()
        return new

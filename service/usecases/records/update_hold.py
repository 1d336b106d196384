"""Release what waits in a hold bay."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordMissing
from service.core.loads import HoldEntry, HoldState
from service.rules.lookup import Rulebook
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.staleness import mark_days_stale
from service.usecases.base.use_cases import Changing, Stamp
from service.usecases.mass_book.keeping import book_jobs
from service.usecases.records.amending import amendment_of
from service.usecases.records.held.queue_states import StateNotReachable, in_bay_again
from service.usecases.records.held.release import (
    Release,
    as_released,
    never_was,
    released,
)
from service.usecases.records.held.release_faults import release_faults


@dataclass(frozen=True, kw_only=True, eq=False)
class UpdateHold(Changing):
    """Read hold entries, and release them: where to, and when."""

    rulebook: Rulebook

    def __call__(
        self,
        caller: Caller,
        entry_id: UUID,
        changes: Mapping[str, Any],
        *,
        expected_version: int,
        reason: str | None = None,
    ) -> HoldEntry:
        """Write what became of an entry and return it.

        Parameters
        ----------
        changes
            ``state`` (``released``, or ``in_bay`` to undo), and any of ``released_as``,
            ``released_to_kind``, ``released_to_id``, ``released_with_id``, ``released_to``,
            ``released_at``.
        reason
            Why, in words. With one, a dispatcher or an owner sets advice aside.

        Raises
        ------
        RecordMissing, VersionOvertaken, StateNotReachable, RecordNotUsable, ReleaseRefused,
        MoreThanThereIs
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            old = unit.hold_entries.get(caller.firm_id, entry_id)
            if old is None:
                raise RecordMissing(record="hold entry", id=entry_id)
            entry = replace(_said_of(old, changes), version=expected_version + 1, updated_at=now)
            if entry.state is not HoldState.RELEASED:
                entry = replace(in_bay_again(entry), state=entry.state)
            said = Release(entry=entry, caller=caller, now=now, reason=reason)
            # The days first, as planning does: two orders would lock each other out.
            mark_days_stale(unit, old, now)
            stamp = self.stamp(now, caller, reason or said.entry.released_to)
            new = self._moved(unit, old, said, stamp)
            why = replace(stamp, reason=reason)
            unit.amendments.add(amendment_of("hold_entries", old, new, why))
            unit.commit()
        return new

    def faults(
        self,
        caller: Caller,
        entry_id: UUID,
        changes: Mapping[str, Any],
        unreadable: Collection[str],
    ) -> list[FieldFault]:
        """Return what else is wrong with changes of which some cannot be read."""
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            old = unit.hold_entries.get(caller.firm_id, entry_id)
            if old is None or "state" in unreadable:
                return []
            said = {name: value for name, value in changes.items() if name not in unreadable}
            entry = _said_of(old, said)
            if entry.state is not HoldState.RELEASED:
                return []
            entry = replace(entry, released_as=as_released(entry))
            return release_faults(unit, entry, now=now)

    def _moved(self, unit: UnitOfWork, old: HoldEntry, said: Release, stamp: Stamp) -> HoldEntry:
        """Return the entry as it is now kept, with its loads and the mass book after it."""
        wanted = said.entry
        if not {old.state, wanted.state} <= {HoldState.IN_BAY, HoldState.RELEASED}:
            raise StateNotReachable(state=old.state.value, wanted=wanted.state.value)
        # A release that is corrected never was: then it is said anew.
        never = never_was(unit, old, said.now)
        if never is not None:
            unit.loads.replace(never, expected_version=never.version - 1)
        fresh = None
        if wanted.state is HoldState.RELEASED:
            wanted, fresh = released(
                unit, said, rulebook=self.rulebook, identifiers=self.identifiers
            )
        if fresh is not None:
            unit.loads.add(fresh)
        unit.hold_entries.replace(wanted, expected_version=wanted.version - 1)
        first = unit.loads.get(wanted.firm_id, wanted.load_id)
        loads = [load for load in (first, never, fresh) if load is not None]
        jobs = unit.jobs.get_many(
            wanted.firm_id, sorted({part.job_id for load in loads for part in load.parts})
        )
        book_jobs(unit, list(jobs.values()), stamp, loads=loads)
        return wanted


def _said_of(old: HoldEntry, changes: Mapping[str, Any]) -> HoldEntry:
    """Return an entry as it is said to be.

    What is corrected is said anew, whole: no half of it stays of what was wrong.
    """
    bare = old if old.state is HoldState.IN_BAY else in_bay_again(old)
    return replace(bare, **{"state": old.state, "released_at": old.released_at, **changes})

"""Keep a temperature that was measured in what lies in a bay."""

from __future__ import annotations

from dataclasses import replace
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable
from service.core.loads import HeapTemperature, HoldEntry, HoldState
from service.usecases.base.staleness import mark_days_stale
from service.usecases.base.use_cases import Changing
from service.usecases.records.amending import write_over
from service.usecases.records.held.queue_states import StateNotReachable, since_words


class MeasureHeap(Changing):
    """Adds a reading to an entry of the hold queue; days are planned anew around it."""

    def __call__(self, caller: Caller, entry_id: UUID, reading: HeapTemperature) -> HoldEntry:
        """Keep the reading and return the entry; the same reading sent again is kept once.

        Raises
        ------
        RecordNotUsable, StateNotReachable
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            old = unit.hold_entries.get(caller.firm_id, entry_id)
            if old is None:
                raise RecordNotUsable(
                    [
                        FieldFault(
                            pointer="/hold_entry_id",
                            detail=f"There is no record with the id {entry_id} among hold_entries.",
                            code="reference_missing",
                        )
                    ]
                )
            kept = old.temperatures or ()
            if reading in kept:
                return old
            if old.state is not HoldState.IN_BAY:
                raise StateNotReachable(state=old.state.value, wanted="measured")
            since = old.held_since or old.cut_at
            if not since <= reading.at <= now:
                detail = since_words(unit, old, now)
                raise RecordNotUsable([FieldFault(pointer="/at", detail=detail)])
            new = replace(
                old, temperatures=tuple(sorted((*kept, reading), key=lambda one: one.at))
            ).renewed(now)
            mark_days_stale(unit, new, now)
            said = f"{reading.temperature_c:g} C measured by {reading.measured_by}"
            stamp = self.stamp(now, caller, said)
            write_over(unit, "hold_entries", old, new, stamp)
            unit.commit()
        return new

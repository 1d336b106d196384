"""Keep that a vehicle loaded grass out of a bay: it is aboard from then on, until it is tipped."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import datetime
from uuid import UUID, uuid5

from service.core.callers.access import Caller
from service.core.crews import Vehicle
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable
from service.core.loads import BayLoading, HoldEntry, HoldState
from service.core.mass_book import NOTHING
from service.core.measures.quantities import Measure
from service.usecases.base.calendar import day_of, find_depot
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.staleness import touch_day, touch_days_from
from service.usecases.base.use_cases import Changing, Stamp
from service.usecases.mass_book.heaps import Heap, heaps_aboard, heaps_of
from service.usecases.mass_book.keeping import book_jobs
from service.usecases.records.amending import write_over
from service.usecases.records.held.loadings import PlannedLoading, planned_loading, with_loadings
from service.usecases.records.held.queue_states import StateNotReachable, since_words
from service.usecases.records.held.release_faults import ALL_OF_IT
from service.usecases.records.job_names import OTHER_DEPOT

LOADED = "loaded"


class LoadHeld(Changing):
    """Loads heaps into bodies, forks them over into others, and takes that back."""

    def __call__(
        self,
        caller: Caller,
        entry_id: UUID,
        vehicle_id: UUID,
        *,
        report_id: UUID,
        at: datetime,
        mass: Measure | None = None,
        reason: str | None = None,
    ) -> bool:
        """Keep it, and return whether it is news.

        Parameters
        ----------
        mass
            Likely kilograms. Left out, what the newest plan has this vehicle load, or else as much
            of what lies there as it may carry.

        Raises
        ------
        RecordMissing, RecordNotUsable, StateNotReachable, MoreThanThereIs
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            entry: HoldEntry | None = unit.hold_entries.get(caller.firm_id, entry_id)
            vehicle: Vehicle | None = unit.vehicles.get(caller.firm_id, vehicle_id)
            if entry is None:
                raise RecordMissing(record="hold entry", id=entry_id)
            if vehicle is None:
                raise RecordMissing(record="vehicle", id=vehicle_id)
            own_id = uuid5(report_id, str(entry.id))
            if any(one.id == own_id for one in entry.loadings or ()):
                # A try before this one kept it, and was cut off before it could say so.
                return True
            if entry.state is not HoldState.IN_BAY:
                raise StateNotReachable(state=entry.state.value, wanted=LOADED)
            if at < (entry.held_since or entry.cut_at):
                detail = since_words(unit, entry, now)
                raise RecordNotUsable([FieldFault(pointer="/at", detail=detail)])
            # What a tip since was found to need is what is said now.
            needed = [
                one
                for one in entry.loadings or ()
                if one.load_id is not None and one.vehicle_id == vehicle_id and one.at >= at
            ]
            others = tuple(one for one in entry.loadings or () if one not in needed)
            loading = BayLoading(id=own_id, vehicle_id=vehicle_id, at=at, share=0.0)
            (heap,) = heaps_of(unit, entry.firm_id, [replace(entry, loadings=(*others, loading))])
            depot = find_depot(unit, entry.firm_id, _depot_of(unit, entry))
            _refuse_strangers(unit, entry, vehicle, "/vehicle_id")
            planned = planned_loading(unit, heap, vehicle_id, (depot.id, day_of(depot, at)))
            share = _share(heap, vehicle, mass, planned, needed)
            if share is None:
                return False
            _refuse_too_much_or_little(heap, vehicle_id, share)
            new = with_loadings(entry, (*others, replace(loading, share=share)), now)
            stamp = self.stamp(now, caller, reason)
            self._write(unit, [(entry, new)], stamp)
            unit.commit()
        return True

    def forked_over(
        self,
        caller: Caller,
        vehicle_id: UUID,
        to_vehicle_id: UUID,
        *,
        report_id: UUID,
        at: datetime,
        only: Collection[UUID] | None = None,
        reason: str | None = None,
    ) -> list[UUID]:
        """Let what a body has out of bays be in another one, and return the entries it is of.

        Parameters
        ----------
        only
            Entries; all of which anything was aboard then if left out.

        Raises
        ------
        RecordMissing, RecordNotUsable, MoreThanThereIs
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            taker: Vehicle | None = unit.vehicles.get(caller.firm_id, to_vehicle_id)
            if taker is None:
                raise RecordMissing(record="vehicle", id=to_vehicle_id)
            pairs = []
            for heap in heaps_aboard(unit, caller.firm_id, vehicle_id):
                entry = heap.entry
                since = entry.loaded_since(vehicle_id)
                is_meant = only is None or entry.id in only
                if not is_meant or since is None or since > at or vehicle_id == to_vehicle_id:
                    continue
                _refuse_strangers(unit, entry, taker, "/to_vehicle_id")
                fresh = BayLoading(
                    id=uuid5(report_id, str(entry.id)),
                    vehicle_id=to_vehicle_id,
                    at=at,
                    share=heap.share_aboard(vehicle_id),
                    from_vehicle_id=vehicle_id,
                )
                pairs.append((entry, with_loadings(entry, (*(entry.loadings or ()), fresh), now)))
            if pairs:
                stamp = self.stamp(now, caller, reason)
                self._write(unit, pairs, stamp)
                unit.commit()
        return [entry.id for entry, _ in pairs]

    def taken_back(
        self, caller: Caller, entry_ids: Iterable[UUID], *, report_id: UUID, reason: str
    ) -> None:
        """Let what a report said of entries never have been.

        Raises
        ------
        RecordNotUsable, MoreThanThereIs
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            found = unit.hold_entries.get_many(caller.firm_id, sorted(entry_ids))
            pairs = []
            for entry in found.values():
                own_id = uuid5(report_id, str(entry.id))
                kept = tuple(one for one in entry.loadings or () if one.id != own_id)
                if kept != (entry.loadings or ()):
                    pairs.append((entry, with_loadings(entry, kept, now)))
            if pairs:
                self._write(unit, pairs, self.stamp(now, caller, reason))
                unit.commit()

    def _write(
        self, unit: UnitOfWork, pairs: list[tuple[HoldEntry, HoldEntry]], stamp: Stamp
    ) -> None:
        """Write entries over what they were; days are planned around them, and the book follows."""
        firm_id = pairs[0][0].firm_id
        for _, new in pairs:
            depot = find_depot(unit, firm_id, _depot_of(unit, new))
            today = day_of(depot, stamp.now)
            touch_day(unit, firm_id=firm_id, depot_id=depot.id, day=today, stamp=stamp)
            touch_days_from(unit, firm_id=firm_id, day=today)
        came = unit.loads.get_many(firm_id, sorted({new.load_id for _, new in pairs}))
        ids = sorted({part.job_id for load in came.values() for part in load.parts})
        unit.jobs.lock(firm_id, ids)
        for old, new in pairs:
            write_over(unit, "hold_entries", old, new, stamp)
        jobs = unit.jobs.get_many(firm_id, ids)
        book_jobs(unit, list(jobs.values()), stamp, loads=list(came.values()))


def _share(
    heap: Heap,
    vehicle: Vehicle,
    mass: Measure | None,
    planned: PlannedLoading | None,
    needed: list[BayLoading],
) -> float | None:
    """Return the share of a heap that was loaded; None if it is on record by now.

    Raises
    ------
    StateNotReachable
        If none of it lies in the bay.
    """
    lies = heap.share_in_bay
    if mass is not None:
        said = mass.si_value / heap.mass_kg.likely if heap.mass_kg.likely > 0.0 else 1.0
        # What is told of it is rounded: whoever says that figure has all of it.
        return lies if ALL_OF_IT * lies <= said <= lies / ALL_OF_IT else said
    is_ahead = planned is not None and planned.is_known
    if not is_ahead and not needed and heap.share_aboard(vehicle.id) > NOTHING:
        return None
    if lies <= NOTHING:
        raise StateNotReachable(state="no longer in the bay", wanted=LOADED)
    if needed:
        return min(lies, sum(one.share for one in needed))
    if planned is not None:
        return min(lies, planned.share_of(heap))
    fits = min(
        vehicle.payload_kg / max(heap.mass_kg.high, NOTHING),
        vehicle.body_volume_m3 / max(heap.volume_m3.high, NOTHING),
    )
    return min(lies, fits)


def _refuse_too_much_or_little(heap: Heap, vehicle_id: UUID, share: float) -> None:
    """Refuse more than lies in the bay, and less than was tipped since.

    Raises
    ------
    RecordNotUsable
    """
    likely_kg = heap.mass_kg.likely
    least = -min(0.0, heap.share_aboard(vehicle_id))
    if least - NOTHING <= share <= heap.share_in_bay + NOTHING and share > NOTHING:
        return
    detail = (
        f"Likely {heap.share_in_bay * likely_kg:.1f} kg of it lie in the bay: no more than that "
        "was loaded, and more than nothing."
    )
    if share < least - NOTHING:
        detail = f"Likely {least * likely_kg:.1f} kg of it were tipped since: as much was loaded."
    raise RecordNotUsable([FieldFault(pointer="/mass", detail=detail)])


def _refuse_strangers(unit: UnitOfWork, entry: HoldEntry, vehicle: Vehicle, pointer: str) -> None:
    """Refuse a vehicle of another depot, as for a job: its own day would count it as empty.

    Raises
    ------
    RecordNotUsable
    """
    if vehicle.depot_id != _depot_of(unit, entry):
        raise RecordNotUsable([FieldFault(pointer=pointer, detail=OTHER_DEPOT)])


def _depot_of(unit: UnitOfWork, entry: HoldEntry) -> UUID:
    bay = unit.hold_bays.get(entry.firm_id, entry.hold_bay_id)
    if bay is None:
        raise RecordMissing(record="hold bay", id=entry.hold_bay_id)
    depot_id: UUID = bay.depot_id
    return depot_id

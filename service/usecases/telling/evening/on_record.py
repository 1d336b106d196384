"""What of a day is not finished, by the records and the book: a plan may lag behind both."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.loads import HoldState, Load, LoadState
from service.core.mass_book import NOTHING, VEHICLE
from service.core.materials import ClippingsHandling
from service.destinations.lots import amounts_of
from service.usecases.base.calendar import find_depot, span_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.telling.evening.evening import OnRecord


def on_record(
    unit: UnitOfWork,
    firm_id: UUID,
    depot_id: UUID,
    day: date,
    loads: Sequence[Load],
    *,
    now: datetime | None = None,
) -> OnRecord:
    """Return what is not finished of a depot's day. Raises RecordMissing.

    Parameters
    ----------
    loads
        Those of the day that count.
    now
        What is planned for later is ahead, not open. None: the day is being closed, and all is.
    """
    span = span_of(find_depot(unit, firm_id, depot_id), day)
    cuts = {job.id: job for job in unit.jobs.aboard(firm_id, depot_id, span.end)}
    jobs = unit.jobs.of_day(firm_id, depot_id, span.start, span.end)
    planned = {job.id: job for job in jobs if job.state is JobState.PLANNED}
    lies = [
        one
        for one in unit.mass_balances.of_lots(firm_id, sorted(cuts))
        if one.place_kind == VEHICLE and one.share > NOTHING
    ]
    ids = {one.place_id for one in lies} | {load.vehicle_id for load in loads}
    vehicles = unit.vehicles.get_many(firm_id, sorted(ids))
    going = _going(unit, firm_id, loads, {one.lot_id for one in lies} | planned.keys())
    coming = {
        load.id: load for load in loads if load.id in going and _is_later(load.arrive_at, now)
    }
    due = [job for job in planned.values() if not _is_later(_done_at(job), now)]
    emptied = {load.vehicle_id for load in coming.values()}
    aboard: dict[str, float] = defaultdict(float)
    for one in (one for one in lies if one.place_id not in emptied):
        aboard[vehicles[one.place_id].registration] += one.mass_high_kg
    homes = unit.properties.get_many(firm_id, sorted({job.property_id for job in due}))
    return OnRecord(
        aboard_high_kg=dict(sorted(aboard.items())),
        left_kg=sum(
            amounts_of(job, job.estimate)[0].likely
            for job in jobs
            if job.state is JobState.MOWN
            and job.clippings is ClippingsHandling.LEFT
            and job.estimate is not None
        ),
        not_mown=tuple(homes[job.property_id].name for job in due),
        going=going - coming.keys(),
        lawns_ahead=len(planned) - len(due),
        loads_ahead=len(coming),
        vehicles={one.id: one.registration for one in vehicles.values()},
    )


def _is_later(at: datetime, now: datetime | None) -> bool:
    return now is not None and at > now


def _done_at(job: Job) -> datetime:
    return job.at + timedelta(minutes=job.minutes_on_site)


def _going(
    unit: UnitOfWork, firm_id: UUID, loads: Sequence[Load], left: set[UUID]
) -> frozenset[UUID]:
    """Return the loads on their way, and those planned of which anything is still to be tipped."""
    ahead = [load for load in loads if load.state is LoadState.PLANNED]
    held = {part.hold_entry_id for load in ahead for part in load.parts} - {None}
    entries = unit.hold_entries.get_many(firm_id, sorted(one for one in held if one))
    waits = {entry.id for entry in entries.values() if entry.state is HoldState.IN_BAY}
    return frozenset(
        load.id
        for load in loads
        if load.state is LoadState.UNDER_WAY
        or (
            load.state is LoadState.PLANNED
            and any(
                part.job_id in left if part.hold_entry_id is None else part.hold_entry_id in waits
                for part in load.parts
            )
        )
    )

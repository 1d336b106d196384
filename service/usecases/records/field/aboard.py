"""What was in a vehicle's body when something happened, by the records of now."""

from __future__ import annotations

from collections import defaultdict
from uuid import UUID

from service.core.callers.access import Caller
from service.core.jobs import JobState
from service.core.loads import Load
from service.core.mass_book import NOTHING, VEHICLE
from service.core.reports import Report, ReportedPart
from service.usecases.base.ports import UnitOfWork
from service.usecases.mass_book.aboard import aboard_since
from service.usecases.mass_book.heaps import heaps_aboard, shares_of_heaps_aboard


def aboard(
    unit: UnitOfWork, caller: Caller, report: Report, vehicle_id: UUID
) -> tuple[ReportedPart, ...]:
    """Return what was in a body when something happened: by the mass book, and since when it was.

    What came out of bays names its hold entry. What was cut, loaded, or forked over into it, later
    than that was not.
    """
    sums = unit.mass_balances.at(caller.firm_id, VEHICLE, vehicle_id)
    heaps = heaps_aboard(unit, caller.firm_id, vehicle_id)
    held = shares_of_heaps_aboard(heaps, vehicle_id)
    ids = sorted({one.lot_id for one in sums if one.share - held.get(one.lot_id, 0.0) > NOTHING})
    jobs = unit.jobs.get_many(caller.firm_id, ids)
    since = aboard_since(unit, jobs.values(), vehicle_id)
    fresh = (
        ReportedPart(job_id=job_id)
        for job_id in ids
        if job_id in since and since[job_id] <= report.at
    )
    loaded = (
        ReportedPart(job_id=heap.jobs[lot_id], hold_entry_id=heap.entry.id)
        for heap in heaps
        for lot_id, share in heap.aboard[vehicle_id].items()
        if share > NOTHING
        and (came_at := heap.entry.loaded_since(vehicle_id)) is not None
        and came_at <= report.at
    )
    return (*fresh, *loaded)


def aboard_anywhere(unit: UnitOfWork, load: Load, report: Report) -> tuple[ReportedPart, ...]:
    """Return the lots of a load that are aboard any vehicle: another may have taken them over."""
    ids = sorted({part.job_id for part in load.parts})
    sums = unit.mass_balances.of_lots(load.firm_id, ids)
    held = shares_of_heaps_aboard(heaps_aboard(unit, load.firm_id))
    shares: dict[UUID, float] = defaultdict(float)
    for one in sums:
        if one.place_kind == VEHICLE:
            shares[one.lot_id] += one.share
    found = {lot for lot, share in shares.items() if share - held.get(lot, 0.0) > NOTHING}
    later = came_later(unit, load, report)
    return tuple(ReportedPart(job_id=job_id) for job_id in sorted(found - later))


def came_later(unit: UnitOfWork, load: Load, report: Report) -> set[UUID]:
    """Return the lots of a load that came aboard only after what is reported."""
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    mown = (job for job in jobs.values() if job.state is JobState.MOWN)
    since = aboard_since(unit, mown, load.vehicle_id)
    return {job_id for job_id, at in since.items() if at > report.at}

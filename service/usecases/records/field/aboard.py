"""What was in a vehicle's body when something happened, by the records of now."""

from __future__ import annotations

from uuid import UUID

from service.core.callers.access import Caller
from service.core.jobs import JobState
from service.core.loads import Load
from service.core.mass_book import NOTHING, VEHICLE
from service.core.reports import Report
from service.usecases.base.ports import UnitOfWork
from service.usecases.mass_book.aboard import aboard_since
from service.usecases.records.loads.record_tip import TippedPart


def aboard(
    unit: UnitOfWork, caller: Caller, report: Report, vehicle_id: UUID
) -> tuple[TippedPart, ...]:
    """Return what was in a body when something happened: by the mass book, and since when it was.

    What was cut, or forked over into it, later than that was not.
    """
    sums = unit.mass_balances.at(caller.firm_id, VEHICLE, vehicle_id)
    ids = sorted({one.lot_id for one in sums if one.share > NOTHING})
    jobs = unit.jobs.get_many(caller.firm_id, ids)
    since = aboard_since(unit, jobs.values(), vehicle_id)
    return tuple(
        TippedPart(job_id=job_id)
        for job_id in ids
        if job_id in since and since[job_id] <= report.at
    )


def aboard_anywhere(unit: UnitOfWork, load: Load, report: Report) -> tuple[TippedPart, ...]:
    """Return the lots of a load that are aboard any vehicle: another may have taken them over."""
    ids = sorted({part.job_id for part in load.parts})
    sums = unit.mass_balances.of_lots(load.firm_id, ids)
    found = {one.lot_id for one in sums if one.place_kind == VEHICLE and one.share > NOTHING}
    later = came_later(unit, load, report)
    return tuple(TippedPart(job_id=job_id) for job_id in sorted(found - later))


def came_later(unit: UnitOfWork, load: Load, report: Report) -> set[UUID]:
    """Return the lots of a load that came aboard only after what is reported."""
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    mown = (job for job in jobs.values() if job.state is JobState.MOWN)
    since = aboard_since(unit, mown, load.vehicle_id)
    return {job_id for job_id, at in since.items() if at > report.at}

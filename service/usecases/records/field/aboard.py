"""What was in a vehicle's body when something happened, by the records of now."""

from __future__ import annotations

from collections import defaultdict
from uuid import UUID

from service.core.callers.access import Caller
from service.core.jobs import JobState
from service.core.loads import Load
from service.core.mass_book import NOTHING, VEHICLE
from service.core.reports import Report, ReportedPart
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.aboard import aboard_since, lots_aboard, parts_aboard
from service.usecases.mass_book.heaps import heaps_aboard, shares_of_heaps_aboard


def aboard(
    unit: UnitOfWork, caller: Caller, report: Report, vehicle_id: UUID
) -> tuple[ReportedPart, ...]:
    """Return what was in a body when something happened."""
    return parts_aboard(unit, caller.firm_id, vehicle_id, report.at)


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


def is_of_more_than_was_aboard(unit: UnitOfWork, load: Load, report: Report) -> bool:
    """Return whether only some of a planned load was aboard: more came since, or left before.

    A crew without a signal tips twice where its plan has it tip once. What it was to load out of a
    bay on top of its cut counts as loaded once somebody says so: a heap that goes on heating there
    would be asked after by nobody.
    """
    later = came_later(unit, load, report)
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    mown = {job_id: job for job_id, job in jobs.items() if job.state is JobState.MOWN}
    shares, _ = lots_aboard(unit, load.firm_id, mown, load.vehicle_id)
    fresh = [p for p in load.parts if p.hold_entry_id is None and p.job_id in mown]
    there = {p.job_id for p in fresh if shares[p.job_id] > NOTHING} - later
    left = {p.job_id for p in fresh if shares[p.job_id] < p.share - NOTHING}
    if there and not left:
        left = _not_loaded(unit, load)
    return bool(there and later | left) or bool(later and later != set(jobs))


def _not_loaded(unit: UnitOfWork, load: Load) -> set[UUID]:
    """Return the held lots of a load of which nobody said that they were loaded.

    A body with fresh grass in it was tipped; what the plan had it fetch may lie in its bay still.
    """
    held = {part.lot_id: part.share for part in load.parts if part.hold_entry_id is not None}
    aboard: dict[UUID, float] = defaultdict(float)
    for heap in heaps_aboard(unit, load.firm_id) if held else ():
        for shares in heap.aboard.values():
            for lot_id, share in shares.items():
                aboard[lot_id] += share
    return {lot_id for lot_id, share in held.items() if aboard[lot_id] < share - NOTHING}

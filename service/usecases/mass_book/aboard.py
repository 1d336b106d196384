"""How much of lots is aboard, and since when: from their cut on, or since they were forked over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Final
from uuid import UUID

from service.core.jobs import Job
from service.core.mass_book import NOTHING, VEHICLE
from service.core.reports import ReportedPart
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.heaps import heaps_aboard, shares_of_heaps_aboard

# Beside `vehicle_id` in the history of a job: the hour at which it was forked over.
TAKEN_OVER_AT: Final = "taken_over_at"


def aboard_since(
    unit: UnitOfWork, jobs: Iterable[Job], vehicle_id: UUID | None
) -> dict[UUID, datetime]:
    """Return since when each lot can have been tipped by a vehicle: cut, or forked over into it.

    A vehicle that was only corrected had its lot from the cut on, and so had one that gave it away.
    Where a forking over is taken back, the vehicle has it since it did before.
    """
    found = list(jobs)
    since = {job.id: job.at for job in found}
    known = {job.id: job for job in found if job.vehicle_id == vehicle_id}
    if not known:
        return since
    forked: dict[UUID, list[tuple[object, object, datetime]]] = defaultdict(list)
    for change in unit.amendments.of(found[0].firm_id, *sorted(known)):
        said = change.changes.get("vehicle_id")
        if not isinstance(said, list):
            continue
        lot_id, (was, became), hour = change.record_id, said, change.changes.get(TAKEN_OVER_AT)
        if isinstance(hour, list):
            forked[lot_id].append((was, became, since[lot_id]))
            since[lot_id] = datetime.fromisoformat(str(hour[1]))
        elif forked[lot_id] and forked[lot_id][-1][:2] == (became, was):
            since[lot_id] = forked[lot_id].pop()[2]
        else:
            forked[lot_id].clear()
            since[lot_id] = known[lot_id].at
    return {job.id: max(job.at, since[job.id]) for job in found}


def parts_aboard(
    unit: UnitOfWork, firm_id: UUID, vehicle_id: UUID, at: datetime
) -> tuple[ReportedPart, ...]:
    """Return what was in a body at a moment: by the mass book, and since when it was.

    What came out of bays names its hold entry. What was cut, loaded, or forked over into it, later
    than that was not.
    """
    sums = unit.mass_balances.at(firm_id, VEHICLE, vehicle_id)
    heaps = heaps_aboard(unit, firm_id, vehicle_id)
    held = shares_of_heaps_aboard(heaps, vehicle_id)
    ids = sorted({one.lot_id for one in sums if one.share - held.get(one.lot_id, 0.0) > NOTHING})
    jobs = unit.jobs.get_many(firm_id, ids)
    since = aboard_since(unit, jobs.values(), vehicle_id)
    fresh = (
        ReportedPart(job_id=job_id) for job_id in ids if job_id in since and since[job_id] <= at
    )
    loaded = (
        ReportedPart(job_id=heap.jobs[lot_id], hold_entry_id=heap.entry.id)
        for heap in heaps
        for lot_id, share in heap.aboard[vehicle_id].items()
        if share > NOTHING
        and (came_at := heap.entry.loaded_since(vehicle_id)) is not None
        and came_at <= at
    )
    return (*fresh, *loaded)


def lots_aboard(
    unit: UnitOfWork, firm_id: UUID, jobs: Mapping[UUID, Job], vehicle_id: UUID | None
) -> tuple[dict[UUID, float], dict[UUID, datetime]]:
    """Return by lot how much of it can have been tipped by a vehicle, and since when.

    Of what came out of bays what is in its own body; of the rest what is in any, for another may
    have had it.
    """
    shares: dict[UUID, float] = dict.fromkeys(jobs, 0.0)
    for balance in unit.mass_balances.of_lots(firm_id, sorted(jobs)):
        if balance.place_kind == VEHICLE:
            shares[balance.lot_id] += balance.share
    since = aboard_since(unit, jobs.values(), vehicle_id)
    heaps = heaps_aboard(unit, firm_id)
    for job_id, share in shares_of_heaps_aboard(heaps).items():
        if job_id in shares:
            shares[job_id] -= share
    for heap in heaps:
        loaded_at = None if vehicle_id is None else heap.entry.loaded_since(vehicle_id)
        if vehicle_id is not None and loaded_at is not None:
            shares |= heap.aboard[vehicle_id]
            since |= dict.fromkeys(heap.came, loaded_at)
    return shares, since

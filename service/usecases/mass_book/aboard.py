"""How much of lots is aboard, and since when: from their cut on, or since they were forked over."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final
from uuid import UUID

from service.core.jobs import Job
from service.core.mass_book import VEHICLE
from service.usecases.base.ports import UnitOfWork

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


def shares_aboard(unit: UnitOfWork, firm_id: UUID, job_ids: Sequence[UUID]) -> dict[UUID, float]:
    """Return the shares of lots that are in any vehicle by the mass book."""
    found: dict[UUID, float] = defaultdict(float)
    for balance in unit.mass_balances.of_lots(firm_id, sorted(job_ids)):
        if balance.place_kind == VEHICLE:
            found[balance.lot_id] += balance.share
    return found

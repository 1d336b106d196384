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
    """
    found = list(jobs)
    since = {job.id: job.at for job in found}
    known = {job.id: job for job in found if job.vehicle_id == vehicle_id}
    if not known:
        return since
    firm_id = found[0].firm_id
    for change in unit.amendments.of(firm_id, *sorted(known)):
        if "vehicle_id" not in change.changes:
            continue
        cut_at = known[change.record_id].at
        said = change.changes.get(TAKEN_OVER_AT)
        came = datetime.fromisoformat(str(said[1])) if isinstance(said, list) else cut_at
        since[change.record_id] = max(cut_at, came)
    return since


def shares_aboard(unit: UnitOfWork, firm_id: UUID, job_ids: Sequence[UUID]) -> dict[UUID, float]:
    """Return the shares of lots that are in any vehicle by the mass book."""
    found: dict[UUID, float] = defaultdict(float)
    for balance in unit.mass_balances.of_lots(firm_id, sorted(job_ids)):
        if balance.place_kind == VEHICLE:
            found[balance.lot_id] += balance.share
    return found

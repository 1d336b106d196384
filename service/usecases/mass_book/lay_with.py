"""Which lots lay in one body with some others, from when on each counts as one of them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from service.core.jobs import Job
from service.destinations.lots import MIXED
from service.usecases.base.ports import UnitOfWork


def lay_with(
    unit: UnitOfWork, firm_id: UUID, lots: Collection[Job]
) -> tuple[Mapping[UUID, Job], Mapping[UUID, datetime]]:
    """Return the lots that lay in one body with any of some, and since when each counts as mixed.

    With one that lay with one of them, and then with a third, the third counts too. Of a lot that
    the office said was kept apart, neither does it count nor what lay with it alone.
    """
    since = {job.id: job.at for job in lots}
    known = {job.id: job for job in lots}
    found: dict[UUID, Job] = {}
    reached = list(lots)
    while reached:
        names = {other_id for job in reached for other_id in _named(job)}
        missing = sorted(names - known.keys())
        known |= unit.jobs.get_many(firm_id, missing) if missing else {}
        further: dict[UUID, Job] = {}
        for job in reached:
            for other in (known[other_id] for other_id in _named(job) if other_id in known):
                moments = _named(job)[other.id] | _named(other).get(job.id, set())
                later = [at for at in moments if at >= since[job.id]]
                if job.id not in _named(other) or not later:
                    continue
                if other.id not in since or min(later) < since[other.id]:
                    since[other.id] = min(later)
                    found[other.id] = further[other.id] = other
        reached = list(further.values())
    return found, {job_id: since[job_id] for job_id in found}


def _named(job: Job) -> dict[UUID, set[datetime]]:
    """Return with which lots a job's clippings lay, by the moments until which they did."""
    named: dict[UUID, set[datetime]] = {}
    for finding in job.findings:
        told: Any = finding.facts
        for job_id in told.get("job_ids", ()) if finding.code == MIXED else ():
            named.setdefault(UUID(job_id), set()).add(datetime.fromisoformat(told["at"]))
    return named

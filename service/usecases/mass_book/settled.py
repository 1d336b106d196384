"""What was known of loads as their recall was ended: nothing of that is told again.

What is learned later of the same load is: nobody was called for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import Load
from service.core.materials import LotStatus
from service.destinations.lots import as_smelt
from service.usecases.base.ports.unit_of_work import UnitOfWork

# Grass that soured on its way is no harm to what is laid on it; all else is looked at first.
TAINTS: Final = tuple(set(LotStatus) - {LotStatus.CLEAN, LotStatus.SOUR})


def came_at(load: Load) -> datetime:
    """Return when a load came to its place, or is to come."""
    return load.done_at or load.arrive_at


def settle(unit: UnitOfWork, firm_id: UUID, loads: Mapping[UUID, Load]) -> None:
    """Keep what is known of loads: somebody was called for it, and nobody is again."""
    jobs = _jobs_of(unit, firm_id, loads.values())
    known = {load.id: _known_of(load, jobs) for load in loads.values()}
    unit.settled_loads.keep(firm_id, known)


def settled_loads(unit: UnitOfWork, firm_id: UUID, loads: Iterable[Load]) -> frozenset[UUID]:
    """Return those loads of ended recalls of which nothing more is known than was then."""
    asked = {load.id: load for load in loads}
    known = unit.settled_loads.of(firm_id, sorted(asked)) if asked else {}
    if not known:
        return frozenset()
    jobs = _jobs_of(unit, firm_id, (asked[load_id] for load_id in known))
    return frozenset(
        load_id
        for load_id, told in known.items()
        if all(word in told for word in _known_of(asked[load_id], jobs))
    )


def _jobs_of(unit: UnitOfWork, firm_id: UUID, loads: Iterable[Load]) -> dict[UUID, Job]:
    ids = sorted({part.job_id for load in loads for part in load.parts})
    jobs: dict[UUID, Job] = unit.jobs.get_many(firm_id, ids) if ids else {}
    return jobs


def _known_of(load: Load, jobs: Mapping[UUID, Job]) -> list[dict[str, Any]]:
    """Return what may not lie everywhere of the lots of a load, as they were when it came."""
    return [
        {
            "job_id": str(job_id),
            "status": finding.status.value,
            "code": finding.code,
            "facts": finding.facts,
        }
        for job_id in sorted({part.job_id for part in load.parts} & jobs.keys())
        for finding in as_smelt(jobs[job_id], came_at(load)).findings
        if finding.status in TAINTS
    ]

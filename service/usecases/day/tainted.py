"""Beds on which something lies that, by what is known now, should never have come there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import Load
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.destinations.lots import as_known
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.mass_book.settled import TAINTS, came_at, settled_loads


@dataclass(frozen=True, slots=True, kw_only=True)
class TaintingLot:
    """A lot that taints a bed, what it counts as, whose it was, and since when it lies there."""

    depot_id: UUID
    lot_code: str
    statuses: tuple[LotStatus, ...]
    since: datetime


def tainted_beds(
    unit: UnitOfWork, firm_id: UUID, bed_ids: Sequence[UUID]
) -> Mapping[UUID, tuple[TaintingLot, ...]]:
    """Return the lots that taint beds, by bed, but for those of recalls that were ended.

    A recall that is open freezes its beds by itself; one that was ended says what was found of
    them.
    """
    loads: list[Load] = [
        load
        for load in unit.loads.all(
            firm_id,
            destination_kind=DestinationKind.BED,
            state=tuple(sorted(TIPPED_STATES)),
            status=tuple(sorted(TAINTS)),
        )
        if load.destination_id in set(bed_ids)
    ]
    if not loads:
        return {}
    settled = settled_loads(unit, firm_id, loads)
    loads = [load for load in loads if load.id not in settled]
    jobs = unit.jobs.get_many(firm_id, sorted({p.job_id for load in loads for p in load.parts}))
    found: dict[UUID, dict[str, TaintingLot]] = {}
    for load in sorted(loads, key=came_at, reverse=True):
        for part in load.parts:
            job = jobs.get(part.job_id)
            statuses = () if job is None else _taints_of(as_known(job, came_at(load)))
            if statuses:
                lot = TaintingLot(
                    depot_id=load.depot_id,
                    lot_code=part.lot_code,
                    statuses=statuses,
                    since=came_at(load),
                )
                found.setdefault(load.destination_id, {})[part.lot_code] = lot
    return {bed_id: tuple(lots[code] for code in sorted(lots)) for bed_id, lots in found.items()}


def _taints_of(job: Job) -> tuple[LotStatus, ...]:
    """Return as what grass may lie on no bed; what only a site still waits for may."""
    found = {
        finding.status
        for finding in job.findings
        if finding.status in TAINTS and finding.facts.get("use", "bed") == "bed"
    }
    return tuple(one for one in LotStatus if one in found)

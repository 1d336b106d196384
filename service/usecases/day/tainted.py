"""Beds on which something lies that, by what is known now, should never have come there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import Load
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.usecases.base.ports import UnitOfWork
from service.usecases.mass_book.movements import TIPPED_STATES

# Grass that soured on its way is no harm to what is laid on it; all else is looked at first.
TAINTS: Final = tuple(set(LotStatus) - {LotStatus.CLEAN, LotStatus.SOUR})


@dataclass(frozen=True, slots=True, kw_only=True)
class TaintingLot:
    """A lot that taints a bed, and since when any of it lies there."""

    lot_code: str
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
    settled = settled_loads(unit, firm_id)
    loads = [load for load in loads if load.id not in settled]
    jobs = unit.jobs.get_many(firm_id, sorted({p.job_id for load in loads for p in load.parts}))
    found: dict[UUID, dict[str, datetime]] = {}
    for load in sorted(loads, key=came_at, reverse=True):
        codes = [
            part.lot_code
            for part in load.parts
            if part.job_id in jobs and _is_tainted(jobs[part.job_id])
        ]
        if codes:
            found.setdefault(load.destination_id, {}).update(dict.fromkeys(codes, came_at(load)))
    return {
        bed_id: tuple(TaintingLot(lot_code=code, since=lots[code]) for code in sorted(lots))
        for bed_id, lots in found.items()
    }


def came_at(load: Load) -> datetime:
    """Return when a load came to its place, or is to come."""
    return load.done_at or load.arrive_at


def settled_loads(unit: UnitOfWork, firm_id: UUID) -> frozenset[UUID]:
    """Return the loads of recalls that were ended: of these it was said what was found."""
    return frozenset(
        load_id
        for recall in unit.recalls.all(firm_id, is_open=False)
        for load_id in recall.load_ids
    )


def _is_tainted(job: Job) -> bool:
    """Return whether grass may lie on no bed: what only a compost site still waits for may."""
    return any(
        finding.status in TAINTS and finding.facts.get("use", "bed") == "bed"
        for finding in job.findings
    )

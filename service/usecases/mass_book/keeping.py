"""Keep the mass book: in the transaction of the fact, entry by entry, and the sums beside them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import Load
from service.core.mass_book import MassMovement, MovementCause
from service.core.places import Bed, Depot
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Stamp
from service.usecases.mass_book.movements import (
    MoreThanThereIs,
    balances_of,
    is_bagged,
    movements_of,
    refuse_overdrawn,
    standing,
)
from service.usecases.mass_book.openings import opening_of
from service.usecases.mass_book.stays import begin_stays, settle_stays

LOAD_CAUSES = frozenset({MovementCause.TIPPED, MovementCause.TAKEN_OVER})

Source = tuple[MovementCause, UUID, UUID, str, UUID]

__all__ = [
    "MoreThanThereIs",
    "book_fresh",
    "book_jobs",
    "book_load",
    "book_opening",
    "loads_with",
]


def book_fresh(
    unit: UnitOfWork,
    jobs: Sequence[Job],
    depots: Mapping[UUID, Depot],
    stamp: Stamp,
) -> None:
    """Enter the cuts of jobs that were not kept before."""
    bagged = [job for job in jobs if is_bagged(job)]
    if not bagged:
        return
    entries = [
        _entered(wanted, stamp)
        for job in bagged
        for wanted in movements_of(job, (), (), depot=depots[job.depot_id])
    ]
    unit.mass_movements.add_many(entries)
    unit.mass_balances.put(
        bagged[0].firm_id, [job.id for job in bagged], balances_of(entries), fresh=True
    )
    begin_stays(unit, bagged)


def book_load(unit: UnitOfWork, load: Load, stamp: Stamp) -> None:
    """Enter what a load is by now, after it was written.

    Raises
    ------
    MoreThanThereIs
    """
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    book_jobs(unit, list(jobs.values()), stamp, loads=[load])


def loads_with(
    unit: UnitOfWork, firm_id: UUID, kept: Iterable[MassMovement], known: Sequence[Load] = ()
) -> list[Load]:
    """Return the loads that entries tell of, and the known ones."""
    found = {load.id: load for load in known}
    named = {
        entry.cause_id
        for entry in standing(kept)
        if entry.cause in LOAD_CAUSES and entry.cause_id not in found
    }
    return [*found.values(), *unit.loads.get_many(firm_id, sorted(named)).values()]


def book_jobs(
    unit: UnitOfWork,
    jobs: Sequence[Job],
    stamp: Stamp,
    *,
    loads: Sequence[Load] = (),
) -> None:
    """Enter what the lots of some jobs are by now, after jobs and loads were written.

    What stands and is said as before stays; what is otherwise is taken back and said anew.

    Parameters
    ----------
    loads
        As they are by now; others are read where the book tells of them.

    Raises
    ------
    MoreThanThereIs
    """
    if not jobs:
        return
    firm_id = jobs[0].firm_id
    # Two that enter the same lot would each write its sums without the other's entries.
    unit.jobs.lock(firm_id, sorted(job.id for job in jobs))
    by_id = unit.jobs.get_many(firm_id, sorted(job.id for job in jobs))
    jobs = list(by_id.values())
    kept = unit.mass_movements.of_lots(firm_id, sorted(by_id))
    involved = loads_with(unit, firm_id, kept, loads)
    if not kept and not involved and not any(is_bagged(job) for job in jobs):
        return
    held = tuple(sorted(load.id for load in involved if is_hold(load.destination_kind)))
    holds = unit.hold_entries.all(firm_id, load_id=held) if held else []
    depots = unit.depots.get_many(firm_id, sorted({job.depot_id for job in jobs}))
    wanted = {
        entry.source: entry
        for job in jobs
        for entry in movements_of(job, involved, holds, depot=depots[job.depot_id])
    }
    balances = balances_of(wanted.values())
    wheres: dict[UUID, list[str]] = defaultdict(list)
    for entry in wanted.values():
        if entry.cause is MovementCause.TIPPED:
            wheres[entry.lot_id].append(f"/loads/{entry.cause_id}")
    lot_codes = {job.id: job.lot_code for job in jobs}
    stood = standing(kept)
    refuse_overdrawn(balances, balances_of(stood), lot_codes, wheres)
    _settle(unit, stood, wanted, stamp, lot_ids=sorted(by_id))
    settle_stays(unit, jobs, wanted.values(), kept)


def book_opening(unit: UnitOfWork, bed: Bed, stamp: Stamp) -> None:
    """Enter what a bed's record says of the time before the book, after it was written."""
    kept = unit.mass_movements.of_lots(bed.firm_id, [bed.id])
    wanted = {entry.source: entry for entry in opening_of(bed)}
    if kept or wanted:
        _settle(unit, standing(kept), wanted, stamp, lot_ids=[bed.id])


def _settle(
    unit: UnitOfWork,
    stood: Sequence[MassMovement],
    wanted: Mapping[Source, MassMovement],
    stamp: Stamp,
    *,
    lot_ids: Sequence[UUID],
) -> None:
    """Take back what stands otherwise than wanted, and enter what is not said yet."""
    said = {
        entry.source
        for entry in stood
        if entry.source in wanted and wanted[entry.source].says_as(entry)
    }
    fresh = [
        *(entry.taken_back() for entry in stood if entry.source not in said),
        *(entry for source, entry in wanted.items() if source not in said),
    ]
    if fresh:
        firm_id = fresh[0].firm_id
        unit.mass_movements.add_many([_entered(entry, stamp) for entry in fresh])
        unit.mass_balances.put(firm_id, lot_ids, balances_of(wanted.values()))


def _entered(entry: MassMovement, stamp: Stamp) -> MassMovement:
    return replace(
        entry,
        id=stamp.identifiers.next_id(),
        created_at=stamp.now,
        updated_at=stamp.now,
        reason=stamp.reason,
        key_id=stamp.key_id,
    )

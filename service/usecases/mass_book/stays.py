"""In which bodies clippings lay, from when until when: what lay there at one moment is mixed.

Their ends are worked out of the entries of the mass book, in whatever order these were told. Into
which body a lot was forked over, and when, the book does not say: that is kept as it is told.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from service.core.jobs import Job
from service.core.mass_book import (
    NOTHING,
    STILL,
    VEHICLE,
    BodyStay,
    MassMovement,
    MovementCause,
)
from service.usecases.base.ports import UnitOfWork
from service.usecases.mass_book.movements import is_bagged


def begin_stays(unit: UnitOfWork, jobs: Sequence[Job]) -> None:
    """Keep that fresh lots came into their bodies as they were cut."""
    firm_id, ids = jobs[0].firm_id, [job.id for job in jobs]
    unit.body_stays.put(firm_id, ids, [_stay(job, job.vehicle_id, job.at) for job in jobs])


def settle_stays(unit: UnitOfWork, jobs: Sequence[Job], entries: Iterable[MassMovement]) -> None:
    """Let stays end as the entries that stand of some lots say, and begin where none is kept."""
    own: dict[UUID, list[MassMovement]] = defaultdict(list)
    for entry in sorted(entries, key=lambda entry: entry.happened_at):
        own[entry.lot_id].append(entry)
    ids = sorted(job.id for job in jobs)
    kept: dict[UUID, list[BodyStay]] = defaultdict(list)
    for stay in unit.body_stays.of_lots(jobs[0].firm_id, ids):
        kept[stay.job_id].append(stay)
    after = {job.id: _settled(job, own[job.id], kept[job.id]) for job in jobs}
    others = sorted(job_id for job_id in ids if after[job_id] != kept[job_id])
    if others:
        stays = [stay for job_id in others for stay in after[job_id]]
        unit.body_stays.put(jobs[0].firm_id, others, stays)


def follow_stays(
    unit: UnitOfWork, pairs: Sequence[tuple[Job, Job]], *, taken_over_at: datetime | None
) -> None:
    """Let stays be of the body and the cut that amended jobs name, or of none.

    Parameters
    ----------
    pairs
        Each job as it was and as it is.
    taken_over_at
        When they were forked over into the body that they are in now, if they were.
    """
    if taken_over_at is not None:
        _fork_over(unit, pairs, taken_over_at)
        return
    moved = {
        new.id: (old, new)
        for old, new in pairs
        if (old.vehicle_id, old.at, is_bagged(old)) != (new.vehicle_id, new.at, is_bagged(new))
    }
    if not moved:
        return
    firm_id = pairs[0][1].firm_id
    kept = unit.body_stays.of_lots(firm_id, sorted(moved))
    after = (_followed(stay, *moved[stay.job_id]) for stay in kept)
    unit.body_stays.put(firm_id, sorted(moved), [stay for stay in after if stay is not None])


def _fork_over(unit: UnitOfWork, pairs: Sequence[tuple[Job, Job]], at: datetime) -> None:
    """Keep that lots left one body for another at a moment."""
    moved = {new.id: (old, new) for old, new in pairs if old.vehicle_id != new.vehicle_id}
    if not moved:
        return
    firm_id = pairs[0][1].firm_id
    after = [
        replace(stay, until=at)
        if stay.vehicle_id == moved[stay.job_id][0].vehicle_id and stay.since <= at < stay.until
        else stay
        for stay in unit.body_stays.of_lots(firm_id, sorted(moved))
    ]
    fresh = [_stay(new, new.vehicle_id, at) for _, new in moved.values()]
    unit.body_stays.put(firm_id, sorted(moved), [*after, *fresh])


def _stay(job: Job, vehicle_id: UUID, since: datetime) -> BodyStay:
    return BodyStay(
        firm_id=job.firm_id, vehicle_id=vehicle_id, job_id=job.id, since=since, until=STILL
    )


def _settled(job: Job, entries: Sequence[MassMovement], kept: Sequence[BodyStay]) -> list[BodyStay]:
    """Return the stays of a lot by its entries, which are in the order of their hours."""
    stays = {(stay.vehicle_id, stay.since): stay for stay in kept}
    for entry in entries:
        if entry.to_kind != VEHICLE:
            continue
        is_cut = entry.cause is MovementCause.CUT
        if not (is_cut and any(stay.vehicle_id == entry.to_id for stay in kept)):
            began = _stay(job, entry.to_id, entry.happened_at)
            stays.setdefault((entry.to_id, entry.happened_at), began)
    apart_until = max((stay.apart_until for stay in kept if stay.apart_until), default=None)
    told = {entry.to_id for entry in entries if entry.to_kind == VEHICLE}
    found = (
        replace(
            stay,
            until=_left(entries, stay) if stay.vehicle_id in told else stay.until,
            apart_until=apart_until,
        )
        for stay in stays.values()
    )
    return sorted(found, key=lambda stay: (stay.since, stay.vehicle_id))


def _left(entries: Iterable[MassMovement], stay: BodyStay) -> datetime:
    """Return when nothing was left of a stay any more, or that there still is."""
    there: dict[datetime, float] = defaultdict(float)
    for entry in entries:
        if (entry.to_kind, entry.to_id) == (VEHICLE, stay.vehicle_id):
            there[entry.happened_at] += entry.share
        if (entry.from_kind, entry.from_id) == (VEHICLE, stay.vehicle_id):
            there[entry.happened_at] -= entry.share
    left = 0.0
    for hour, share in sorted(there.items()):
        left += share
        if hour >= stay.since and left <= NOTHING:
            return hour
    return STILL


def _followed(stay: BodyStay, old: Job, new: Job) -> BodyStay | None:
    """Return a stay as an amended job has it; None if that never was."""
    is_there, is_of_cut = stay.vehicle_id == old.vehicle_id, stay.since == old.at
    if is_there and not is_of_cut and old.vehicle_id != new.vehicle_id:
        return None  # it was said to be forked over into that body, and was not
    stay = replace(
        stay,
        vehicle_id=new.vehicle_id if is_there else stay.vehicle_id,
        since=new.at if is_of_cut else stay.since,
    )
    return stay if is_bagged(new) and stay.since <= stay.until else None

"""In which bodies clippings lay, from when until when: what lay there at one moment is mixed.

Their ends are worked out of the entries of the mass book, in whatever order these were told. Into
which body a lot was forked over, and when, the book does not say: that is kept as it is told.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Final
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
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.movements import is_bagged

# What comes into a body by them was in none, or in another one, until then.
BEGIN_STAYS: Final = frozenset({MovementCause.LOADED, MovementCause.TAKEN_OVER})


def begin_stays(unit: UnitOfWork, jobs: Sequence[Job]) -> None:
    """Keep that fresh lots came into their bodies as they were cut."""
    firm_id, ids = jobs[0].firm_id, [job.id for job in jobs]
    unit.body_stays.put(firm_id, ids, [_stay(job, job.vehicle_id, job.at) for job in jobs])


def settle_stays(
    unit: UnitOfWork,
    jobs: Sequence[Job],
    entries: Iterable[MassMovement],
    before: Iterable[MassMovement],
) -> None:
    """Let stays end as the entries that stand of some lots say, and begin where none is kept.

    Parameters
    ----------
    before
        All that was ever entered of them until now: a stay that began by what is undone never was.
    """
    own: dict[UUID, list[MassMovement]] = defaultdict(list)
    for entry in sorted(entries, key=lambda entry: entry.happened_at):
        own[entry.lot_id].append(entry)
    ids = sorted(job.id for job in jobs)
    kept: dict[UUID, list[BodyStay]] = defaultdict(list)
    for stay in unit.body_stays.of_lots(jobs[0].firm_id, ids):
        kept[stay.job_id].append(stay)
    undone = {_began(one) for one in before if one.cause in BEGIN_STAYS}
    undone -= {_began(one) for some in own.values() for one in some}
    after = {
        job.id: _settled(
            job,
            own[job.id],
            [
                stay
                for stay in kept[job.id]
                if (job.id, stay.vehicle_id, stay.since) not in undone
                or stay.since == job.at
                or _was_given(job, stay, kept[job.id])
            ],
        )
        for job in jobs
    }
    others = sorted(job_id for job_id in ids if after[job_id] != kept[job_id])
    if others:
        stays = [stay for job_id in others for stay in after[job_id]]
        unit.body_stays.put(jobs[0].firm_id, others, stays)


def _began(entry: MassMovement) -> tuple[UUID, UUID, datetime]:
    return entry.lot_id, entry.to_id, entry.happened_at


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
    kept: dict[UUID, list[BodyStay]] = defaultdict(list)
    for stay in unit.body_stays.of_lots(firm_id, sorted(moved)):
        kept[stay.job_id].append(stay)
    after = [stay for job_id, own in kept.items() for stay in _followed(own, *moved[job_id])]
    unit.body_stays.put(firm_id, sorted(moved), after)


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
    given = _given_on(job, entries, kept)
    apart_until = max((stay.apart_until for stay in kept if stay.apart_until), default=None)
    told = {entry.to_id for entry in entries if entry.to_kind == VEHICLE}
    found = (
        replace(
            stay,
            until=_left(entries, stay)
            if stay.vehicle_id in told and stay not in given
            else stay.until,
            apart_until=apart_until,
        )
        for stay in stays.values()
    )
    return sorted(found, key=lambda stay: (stay.since, stay.vehicle_id))


def _given_on(
    job: Job, entries: Iterable[MassMovement], kept: Sequence[BodyStay]
) -> list[BodyStay]:
    """Return the stays that ended as a lot was forked over, before it came where it is now.

    The book has the lot in the body that it is in now from its cut on: of these it knows no end.
    """
    booked = {(entry.to_id, entry.happened_at) for entry in entries}
    came = max(
        (
            stay.since
            for stay in kept
            if stay.vehicle_id == job.vehicle_id and (stay.vehicle_id, stay.since) not in booked
        ),
        default=job.at,
    )
    return [stay for stay in kept if stay.until <= came and _is_forked_over(stay, kept)]


def _is_forked_over(stay: BodyStay, own: Iterable[BodyStay]) -> bool:
    """Return whether a lot left a body as it came into another."""
    return any(one.since == stay.until and one.vehicle_id != stay.vehicle_id for one in own)


def _was_given(job: Job, stay: BodyStay, kept: Iterable[BodyStay]) -> bool:
    """Return whether a lot is on record as forked over into the body it lies in, at that hour."""
    given = any(_is_forked_over(one, [stay]) for one in kept)
    return given and stay.vehicle_id == job.vehicle_id


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


def _followed(own: Sequence[BodyStay], old: Job, new: Job) -> list[BodyStay]:
    """Return the stays of a lot as it has them amended, without those that never were."""
    there = [stay for stay in own if stay.vehicle_id == old.vehicle_id]
    # It was said to be forked over into that body, and was not: in the others it was.
    given = [stay for stay in there if any(_is_forked_over(one, [stay]) for one in own)]
    found: dict[tuple[UUID, datetime], BodyStay] = {}
    for stay in own:
        is_there, is_of_cut = stay in there, stay.since == old.at
        if old.vehicle_id != new.vehicle_id and is_there and not is_of_cut:
            continue
        after = replace(
            stay,
            vehicle_id=new.vehicle_id if is_there and not given else stay.vehicle_id,
            since=new.at if is_of_cut else stay.since,
        )
        if is_bagged(new) and after.since <= after.until:
            # Where it was from its cut until it was forked over, it may be said to be still.
            other = found.setdefault((after.vehicle_id, after.since), after)
            found[after.vehicle_id, after.since] = max(after, other, key=lambda one: one.until)
    return list(found.values())

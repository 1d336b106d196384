"""What the records say that moved: the entries of a lot, as they would stand today."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from service.core.errors import Refusal
from service.core.jobs import Job, JobState
from service.core.loads import HoldEntry, HoldState, Load, LoadPart, LoadState
from service.core.mass_book import (
    AMOUNTS,
    BEFORE,
    ELSEWHERE,
    LAWN,
    NOTHING,
    VEHICLE,
    WEIGHED,
    MassBalance,
    MassMovement,
    MovementCause,
)
from service.core.materials import ClippingsHandling
from service.core.measures.estimates import exactly
from service.core.places import Depot, DestinationKind
from service.destinations.estimating import content_of
from service.destinations.lots import amounts_of
from service.usecases.base.calendar import day_of
from service.usecases.mass_book.counts import Counts

TIPPED_STATES = frozenset({LoadState.DELIVERED, LoadState.PARTLY_REFUSED})


class MoreThanThereIs(Refusal):
    """A lot would leave a place more often than it came there."""

    code = "more_than_there_is"
    sentence = (
        "Of {lot} {over:.1%} more would have left {place} than is recorded to have come there. "
        "What leaves the lot is recorded at {where}: take back what was wrong there first."
    )


def is_bagged(job: Job) -> bool:
    """Return whether a job's clippings are, or were, in a vehicle's body."""
    return (
        job.state is JobState.MOWN
        and job.clippings is ClippingsHandling.COLLECTED
        and job.estimate is not None
    )


def movements_of(
    job: Job, loads: Iterable[Load], holds: Iterable[HoldEntry], *, depot: Depot
) -> Iterator[MassMovement]:
    """Yield the entries that a job's clippings have by the records of today.

    Parameters
    ----------
    loads
        Those that may have any of the lot in them, in any state.
    holds
        The hold entries of those that went to a bay.
    """
    if is_bagged(job):
        yield _cut(job, depot)
    entries = {entry.id: entry for entry in holds}
    lies: dict[UUID, float] = defaultdict(float)
    bays = {load.id: load for load in loads if load.state in TIPPED_STATES}
    counts = Counts(job.id, bays, entries)
    for load in bays.values():
        parts = [part for part in load.parts if part.job_id == job.id]
        yield from _summed(e for part in parts for e in _tipped(job, load, part, counts, depot))
        for part in parts:
            lies[load.id] += part.share * load.kept_share
            if part.hold_entry_id in entries:
                lies[entries[part.hold_entry_id].load_id] -= part.share * load.kept_share
    for entry in entries.values():
        yield from _loaded(job, bays.get(entry.load_id), entry, counts, depot)
        if entry.state is HoldState.RELEASED and lies[entry.load_id] > NOTHING:
            yield _released(job, entry, lies[entry.load_id], counts, depot)


def _summed(entries: Iterable[MassMovement]) -> Iterable[MassMovement]:
    """Return one entry for each source: of one bay, what lay there in two heaps is one amount."""
    found: dict[object, MassMovement] = {}
    for entry in entries:
        other = found.setdefault(entry.source, entry)
        if other is entry:
            continue
        sums: dict[str, Any] = {n: getattr(other, n) + getattr(entry, n) for n in AMOUNTS}
        for name in WEIGHED:
            one, two = getattr(other, name), getattr(entry, name)
            if one is not None and two is not None:
                sums[name] = one + two
        found[entry.source] = replace(other, **sums)
    return found.values()


def _cut(job: Job, depot: Depot) -> MassMovement:
    return _entry(
        job,
        depot,
        share=1.0,
        cause=MovementCause.CUT,
        cause_id=job.id,
        source=(LAWN, job.lawn_id or job.property_id),
        target=(VEHICLE, job.vehicle_id),
        at=job.at,
    )


def _tipped(
    job: Job, load: Load, part: LoadPart, counts: Counts, depot: Depot
) -> Iterator[MassMovement]:
    share, at = part.share * load.kept_share, load.done_at or load.arrive_at
    entry = counts.entry_of(part)
    source = (VEHICLE, load.vehicle_id)
    if entry is not None and not entry.came_by_body(load):
        # It was shovelled up from a bay and brought on in one go.
        source = (DestinationKind.HOLD_BAY.value, entry.hold_bay_id)
    elif entry is None and load.vehicle_id != job.vehicle_id:
        # Somebody forked it over: the job says whose body it came into first.
        yield _entry(
            job,
            depot,
            share=share,
            cause=MovementCause.TAKEN_OVER,
            cause_id=load.id,
            source=(VEHICLE, job.vehicle_id),
            target=(VEHICLE, load.vehicle_id),
            at=at,
        )
    tipped = _entry(
        job,
        depot,
        share=share,
        cause=MovementCause.TIPPED,
        cause_id=load.id,
        source=source,
        target=(load.destination_kind.value, load.destination_id),
        at=at,
        counts_as=counts.came_as(part),
    )
    tipped = replace(tipped, status=load.status)
    kept_kg = load.mass_kg.likely * load.kept_share
    if load.weighed_net is None or not load.weight_counts or kept_kg <= 0:
        yield tipped
        return
    # A ticket is of the whole load: it is shared among its lots by what they were thought to be.
    weighed_kg = load.weighed_net.si_value * tipped.mass_likely_kg / kept_kg
    yield replace(
        tipped,
        weighed_kg=weighed_kg,
        weighed_nitrogen_kg=_nitrogen_high_kg(job, weighed_kg),
        counted_kg=weighed_kg,
        counted_before_kg=tipped.counted_kg,
    )


def _nitrogen_high_kg(job: Job, weighed_kg: float) -> float | None:
    if job.estimate is None or weighed_kg <= 0.0:
        return None
    weighed = exactly(weighed_kg, unit="kg", basis="weighed")
    return content_of(job.estimate).nitrogen_kg(weighed).high


def _loaded(
    job: Job, first: Load | None, entry: HoldEntry, counts: Counts, depot: Depot
) -> Iterator[MassMovement]:
    """Yield what of a job's clippings came out of a bay into bodies, and from one into another."""
    if first is None:
        return
    lay = sum(part.share for part in first.parts if part.job_id == job.id) * first.kept_share
    for one in entry.loadings or () if lay > NOTHING else ():
        came = _entry(
            job,
            depot,
            share=lay * one.share,
            cause=MovementCause.LOADED,
            cause_id=one.id,
            source=(first.destination_kind.value, first.destination_id)
            if one.from_vehicle_id is None
            else (VEHICLE, one.from_vehicle_id),
            target=(VEHICLE, one.vehicle_id),
            at=one.at,
            counts_as=counts.lies_as(entry),
        )
        # As it came to the bay: what leaves a place is summed with what came there.
        yield replace(came, status=first.status)


def _released(
    job: Job, entry: HoldEntry, share: float, counts: Counts, depot: Depot
) -> MassMovement:
    load = counts.loads[entry.load_id]
    return _entry(
        job,
        depot,
        share=share,
        cause=MovementCause.RELEASED,
        cause_id=entry.id,
        source=(load.destination_kind.value, load.destination_id),
        target=(ELSEWHERE, entry.id),
        at=entry.released_at or entry.updated_at,
        counts_as=counts.lies_as(entry),
    )


def _entry(
    job: Job,
    depot: Depot,
    *,
    share: float,
    cause: MovementCause,
    cause_id: UUID,
    source: tuple[str, UUID],
    target: tuple[str, UUID],
    at: datetime,
    counts_as: float = 1.0,
) -> MassMovement:
    if job.estimate is None:
        msg = f"job {job.id} has no estimate"
        raise ValueError(msg)
    mass_kg, _, nitrogen_kg = amounts_of(job, job.estimate)
    return MassMovement(
        id=job.id,
        firm_id=job.firm_id,
        version=1,
        created_at=at,
        updated_at=at,
        cause=cause,
        cause_id=cause_id,
        lot_id=job.id,
        lot_code=job.lot_code,
        from_kind=source[0],
        from_id=source[1],
        to_kind=target[0],
        to_id=target[1],
        share=share,
        mass_low_kg=mass_kg.low * share,
        mass_likely_kg=mass_kg.likely * share,
        mass_high_kg=mass_kg.high * share,
        nitrogen_low_kg=nitrogen_kg.low * share,
        nitrogen_likely_kg=nitrogen_kg.likely * share,
        nitrogen_high_kg=nitrogen_kg.high * share,
        counted_kg=mass_kg.likely * share * counts_as,
        status=job.status,
        happened_at=at,
        day=day_of(depot, at),
        depot_id=job.depot_id,
    )


def standing(entries: Iterable[MassMovement]) -> list[MassMovement]:
    """Return the entries that were not taken back, and take nothing back."""
    found = list(entries)
    taken_back = {entry.corrects_id for entry in found}
    return [entry for entry in found if entry.corrects_id is None and entry.id not in taken_back]


def balances_of(entries: Iterable[MassMovement]) -> list[MassBalance]:
    """Return the sums of entries, by place and lot; none where nothing is."""
    sums: dict[tuple[str, UUID, UUID], dict[str, float]] = defaultdict(
        lambda: dict.fromkeys(AMOUNTS, 0.0)
    )
    firms = {}
    for entry in entries:
        firms[entry.lot_id] = entry.firm_id
        for kind, place_id, amounts, sign in (
            (entry.from_kind, entry.from_id, entry.amounts_left, -1.0),
            (entry.to_kind, entry.to_id, entry.amounts, 1.0),
        ):
            at = sums[kind, place_id, entry.lot_id]
            for name in AMOUNTS:
                at[name] += sign * getattr(amounts, name)
    return [
        MassBalance(firm_id=firms[lot_id], place_kind=kind, place_id=place_id, lot_id=lot_id, **at)
        for (kind, place_id, lot_id), at in sorted(sums.items(), key=lambda item: item[0])
        if abs(at["share"]) > NOTHING
    ]


def refuse_overdrawn(
    balances: Iterable[MassBalance],
    before: Iterable[MassBalance],
    lot_codes: Mapping[UUID, str],
    wheres: Mapping[UUID, Collection[str]],
) -> None:
    """Refuse sums of which a vehicle or a bay would hold less than nothing, and less than before.

    Parameters
    ----------
    before
        The sums as they were: what was wrong already may be said better in steps.
    wheres
        By lot, the paths of the records that say what left it.

    Raises
    ------
    MoreThanThereIs
    """
    was = {(one.place_kind, one.place_id, one.lot_id): one.share for one in before}
    for one in balances:
        key = one.place_kind, one.place_id, one.lot_id
        if (
            one.place_kind not in {LAWN, BEFORE}
            and one.share < min(0.0, was.get(key, 0.0)) - NOTHING
        ):
            raise MoreThanThereIs(
                lot=lot_codes[one.lot_id],
                over=-one.share,
                place=f"the {one.place_kind.replace('_', ' ')}",
                where=", ".join(sorted(wheres.get(one.lot_id, ()))) or "no load",
            )

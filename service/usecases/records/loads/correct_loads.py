"""What a corrected job means for loads that are tipped or on their way: their amounts move with it.

A load that is only planned is planned again. One that was delivered lies where it lies, but it was
never what it was thought to be: the account of its bed, the day's room and its note follow.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from service.core.errors import FieldFault, RecordNotUsable
from service.core.jobs import Job, JobState
from service.core.loads import FIXED_LOAD_STATES, HoldState, Load, LoadState
from service.core.materials import LotStatus, worst_status
from service.core.measures.estimates import Estimate
from service.destinations.lots import amounts_of
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of, depot_clock, find_depot
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.lots.lot_estimates import as_it_stood
from service.usecases.base.ports.unit_of_work import RenewNote, UnitOfWork
from service.usecases.base.staleness import touch_days_from
from service.usecases.base.use_cases import Stamp
from service.usecases.day.bodies.composition import summed
from service.usecases.day.held.clocks import clock_of_cuts
from service.usecases.day.held.entries import RELEASE_CONDITIONS
from service.usecases.mass_book.keeping import book_jobs, loads_with
from service.usecases.records.amending import write_over
from service.usecases.records.loads.charges import as_charged
from service.usecases.records.loads.mixed_later import mixed_later


def follow_jobs(
    unit: UnitOfWork,
    pairs: Sequence[tuple[Job, Job]],
    stamp: Stamp,
    renew_note: RenewNote,
    *,
    rulebook: Rulebook,
) -> None:
    """Let loads, days, the mass book and notes be what amended jobs make of them.

    Parameters
    ----------
    pairs
        Each job as it was and as it was just written.

    Raises
    ------
    RecordNotUsable, MoreThanThereIs
    """
    if not pairs:
        return
    firm_id = pairs[0][1].firm_id
    amended = {new.id: (old, new) for old, new in pairs}
    loads = [
        load
        for load in _loads_of(unit, firm_id, sorted(amended))
        if load.state in FIXED_LOAD_STATES
    ]
    _refuse_cut_after_tip(unit, pairs, loads)
    jobs = unit.jobs.get_many(firm_id, sorted({p.job_id for load in loads for p in load.parts}))
    changed = []
    for load in loads:
        after = with_amounts(unit, load, jobs)
        if _is_other_grass(load, amended):
            after = as_it_became(unit, after, now=stamp.now, rulebook=rulebook)
        if after != load:
            changed.append((load, after.renewed(stamp.now)))
    if changed:
        touch_days_from(unit, firm_id=firm_id, day=min(old.working_day for old, _ in changed))
    for old, new in changed:
        codes = ", ".join(p.lot_code for p in new.parts if p.job_id in amended)
        why = replace(stamp, reason=f"Corrected with {codes}. {stamp.reason or ''}".rstrip())
        write_over(unit, "loads", old, new, why)
        if is_hold(new.destination_kind):
            follow_heap(unit, new, now=stamp.now, rulebook=rulebook)
    others = [job for job in jobs.values() if job.id not in amended] if changed else []
    book_jobs(
        unit,
        [*(new for _, new in amended.values()), *others],
        stamp,
        loads=[new for _, new in changed],
    )
    for _, new in changed:
        if new.state is not LoadState.REFUSED:
            renew_note(unit, new)
    _follow_mixed(unit, pairs, stamp, renew_note, rulebook=rulebook)


def follow_late(
    unit: UnitOfWork,
    fresh: Sequence[Job],
    stamp: Stamp,
    renew_note: RenewNote,
    *,
    rulebook: Rulebook,
) -> None:
    """Let jobs that are told of late have been mixed with what left their bodies since.

    Raises
    ------
    RecordNotUsable, MoreThanThereIs
    """
    pairs = [(replace(job, state=JobState.PLANNED), job) for job in fresh]
    _follow_mixed(unit, pairs, stamp, renew_note, rulebook=rulebook)


def _follow_mixed(
    unit: UnitOfWork,
    pairs: Sequence[tuple[Job, Job]],
    stamp: Stamp,
    renew_note: RenewNote,
    *,
    rulebook: Rulebook,
) -> None:
    """Let what lay in one body with some jobs be what is learned of them by now."""
    mixed = mixed_later(unit, pairs, stamp.now)
    if not mixed:
        return
    firm_id = mixed[0][1].firm_id
    days = [day_of(find_depot(unit, firm_id, job.depot_id), job.at) for _, job in mixed]
    touch_days_from(unit, firm_id=firm_id, day=min(days))
    codes = ", ".join(sorted({new.lot_code for _, new in pairs}))
    why = replace(stamp, reason=f"Lay in one body with {codes}. {stamp.reason or ''}".rstrip())
    for old, new in mixed:
        write_over(unit, "jobs", old, new, why)
    follow_jobs(unit, mixed, why, renew_note, rulebook=rulebook)


def _refuse_cut_after_tip(
    unit: UnitOfWork, pairs: Sequence[tuple[Job, Job]], loads: Sequence[Load]
) -> None:
    """Refuse that grass was cut only after it was brought somewhere."""
    later = {n.id: n for o, n in pairs if n.state is JobState.MOWN and n.at > o.at}
    found = [
        (load, load.done_at, later[part.job_id])
        for load in loads
        for part in load.parts
        if part.job_id in later
        and load.done_at is not None
        and load.done_at < later[part.job_id].at
    ]
    if found:
        load, done_at, job = min(found, key=lambda one: one[1])
        at = depot_clock(unit.depots.get(load.firm_id, load.depot_id), done_at, now=job.at)
        detail = (
            f"{job.lot_code} was brought away at {at} by /loads/{load.id}: it was cut before that. "
            "If that hour is wrong, correct it first."
        )
        raise RecordNotUsable([FieldFault(pointer="/cut_at", detail=detail)])


def _loads_of(unit: UnitOfWork, firm_id: UUID, job_ids: Sequence[UUID]) -> list[Load]:
    """Return the loads that have any of some lots in them: by the book, and those on their way."""
    wanted = set(job_ids)
    on_their_way = [
        load
        for load in unit.loads.all(firm_id, state=LoadState.UNDER_WAY)
        if any(part.job_id in wanted for part in load.parts)
    ]
    return loads_with(
        unit, firm_id, unit.mass_movements.of_lots(firm_id, job_ids), known=on_their_way
    )


def _is_other_grass(load: Load, amended: Mapping[UUID, tuple[Job, Job]]) -> bool:
    """Return whether amended jobs may have changed the status of a load: how old it is counts."""
    pairs = [amended[part.job_id] for part in load.parts if part.job_id in amended]
    return any(
        (old.status, old.at, old.wetness) != (new.status, new.at, new.wetness) for old, new in pairs
    )


def with_amounts(unit: UnitOfWork, load: Load, jobs: Mapping[UUID, Job]) -> Load:
    """Return a load with the amounts of its parts, as their jobs are by now."""
    found = {
        job.id: amounts_of(job, job.estimate) for job in jobs.values() if job.estimate is not None
    }
    if any(part.job_id not in found for part in load.parts):
        return load

    def of(place: int, unit_name: str) -> Estimate:
        shares = [(found[part.job_id][place], part.share) for part in load.parts]
        return summed(shares, unit=unit_name)

    as_it_is = replace(load, mass_kg=of(0, "kg"), volume_m3=of(1, "m3"), nitrogen_kg=of(2, "kg"))
    return as_charged(unit, load, as_it_is)


def as_tipped(unit: UnitOfWork, load: Load, *, now: datetime, rulebook: Rulebook) -> Load:
    """Return a load that set off or ended, sour if any of its lots had stood too long by then."""
    if load.state is LoadState.PLANNED:
        return load
    became = _became(unit, load, now=now, rulebook=rulebook)
    return replace(load, status=worst_status([load.status, *became]))


def as_it_became(unit: UnitOfWork, load: Load, *, now: datetime, rulebook: Rulebook) -> Load:
    """Return a load that set off or ended with the status that is left of what is in it by now."""
    became = _became(unit, load, now=now, rulebook=rulebook)
    return replace(load, status=worst_status(became))


def _became(unit: UnitOfWork, load: Load, *, now: datetime, rulebook: Rulebook) -> list[LotStatus]:
    """Return what had become of all that is in a load by its end, or by now.

    What was shovelled up from a bay is as old as the oldest that lay in its heap.
    """
    entry_ids = {part.hold_entry_id for part in load.parts if part.hold_entry_id is not None}
    entries = unit.hold_entries.get_many(load.firm_id, sorted(entry_ids)) if entry_ids else {}
    came = unit.loads.get_many(load.firm_id, sorted({e.load_id for e in entries.values()}))
    ids = {part.job_id for one in (load, *came.values()) for part in one.parts}
    jobs = unit.jobs.get_many(load.firm_id, sorted(ids))
    depot = find_depot(unit, load.firm_id, load.depot_id)
    at = load.done_at or now
    return [as_it_stood(job, depot, at, rulebook=rulebook).status for job in jobs.values()]


def follow_heap(unit: UnitOfWork, load: Load, *, now: datetime, rulebook: Rulebook) -> None:
    """Let what lies in a bay, or is on its way there, be as its load and its lots are by now."""
    stands = (HoldState.EXPECTED, HoldState.IN_BAY)
    entries = unit.hold_entries.all(load.firm_id, load_id=load.id, state=stands)
    if not entries:
        return
    jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
    clock = clock_of_cuts(
        [(job.at, job.wetness) for job in jobs.values()],
        here=RulesHere(
            rulebook, load.working_day, find_depot(unit, load.firm_id, load.depot_id).jurisdiction
        ),
    )
    code, condition = RELEASE_CONDITIONS[load.status]
    for entry in entries:
        after = replace(
            entry,
            status=load.status,
            release_condition_code=code,
            release_condition=condition,
            cut_at=clock.cut_at,
            amber_at=clock.amber_at,
            red_at=clock.red_at,
            held_since=load.done_at if entry.state is HoldState.IN_BAY else None,
        )
        if after != entry:
            after = after.renewed(now)
            unit.hold_entries.replace(after, expected_version=entry.version)

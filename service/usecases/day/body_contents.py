"""What lies in a vehicle's body with a load, and what its destination says to all of it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from service.core.errors import WITH_A_REASON, Refusal
from service.core.jobs import Job, JobState
from service.core.loads import Load, LoadPart
from service.core.materials import ClippingsHandling, worst_status
from service.core.plans import Ground, Verdict
from service.destinations.heaps import as_measured_by
from service.destinations.keeping import HeldHeap
from service.destinations.lots import as_smelt
from service.destinations.reasons import Reason
from service.destinations.verdicts import Lot, verdict_on
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.lots.held_grass import HeldGrass, read_held
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.destinations import ready_destinations
from service.usecases.day.facts import NOTHING_LEFT, DayFacts
from service.usecases.day.freezes import frozen_by
from service.usecases.day.held.clocks import heap_of
from service.usecases.day.overrides import said_of
from service.usecases.day.reading.read_day import read_met
from service.usecases.day.reading.recent_loads import DAYS_BACK, DAYS_ON
from service.usecases.mass_book.aboard import aboard_since
from service.usecases.mass_book.movements import TIPPED_STATES

# What a destination may say to a lot because of the lot: the rest is its own day.


class NotForThisPlace(Refusal):
    """Something in the body may not go to the load's destination."""

    code = "not_for_this_place"
    sentence = (
        "{lots} in this vehicle may not go there: {why} What lies in one body is mixed. If a lot "
        "was brought elsewhere before, record that first. If this lies there already, "
        f"{WITH_A_REASON}: it is kept, and told as a recall."
    )


class OutsideHours(Refusal):
    """A load was tipped when its client wants nobody there."""

    code = "outside_hours"
    sentence = f"{{why}} If it lies there already, {WITH_A_REASON}: it is kept."


@dataclass(frozen=True, slots=True, kw_only=True)
class InTheBody:
    """The lots that lie in one body when a load is tipped, and which of them it refuses.

    ``shut`` is why its client wants nobody there when it was tipped.
    """

    lots: tuple[Lot, ...]
    refusals: tuple[tuple[Lot, Verdict], ...]
    shut: Reason | None = None

    def judged(self, load: Load, *, insists: bool) -> Load:
        """Return the load as it was tipped; what should not have been is kept if somebody insists.

        Raises
        ------
        NotForThisPlace, OutsideHours
        """
        if self.refusals and not insists:
            raise self.refusal()
        if self.shut is not None and not insists:
            verdict = {"code": self.shut.code, "facts": self.shut.facts}
            raise OutsideHours(why=self.shut.sentence, verdict=verdict)
        return self.as_tipped(load) if self.refusals else load

    def refusal(self) -> NotForThisPlace:
        """Return why nothing of this body may be tipped there; there is a reason."""
        codes = list(dict.fromkeys(lot.lot_code for lot, _ in self.refusals))
        said = self.refusals[0][1]
        verdict = {"code": said.code, "facts": said.facts}
        return NotForThisPlace(lots=", ".join(codes), why=said.sentence, verdict=verdict)

    def as_tipped(self, load: Load) -> Load:
        """Return the load as a part of all that lay in the body, with its worst status.

        How much of each was in it nobody knows: what the plan did not count has a share of nothing.
        """
        known = {part.lot_id for part in load.parts}
        return replace(
            load,
            status=worst_status([load.status, *(lot.status for lot in self.lots)]),
            parts=(
                *load.parts,
                *(
                    LoadPart(
                        job_id=lot.job_id,
                        lot_code=lot.lot_code,
                        share=0.0,
                        hold_entry_id=None if lot.held is None else lot.held.entry_id,
                    )
                    for lot in self.lots
                    if lot.id not in known
                ),
            ),
        )


def read_body(
    unit: UnitOfWork, load: Load, *, rulebook: Rulebook, now: datetime, as_planned: bool = False
) -> InTheBody:
    """Return what lies in a vehicle's body when a load is tipped, by the records of now.

    That is the load's own lots, and what came aboard before and was not tipped elsewhere by then.

    Parameters
    ----------
    as_planned
        Take what the plan has tipped before the load for tipped, though nobody has said so yet.
    """
    if is_hold(load.destination_kind):
        return InTheBody(lots=(), refusals=())
    facts = read_met(unit, load, now=now)
    before: dict[UUID, float] = defaultdict(float)
    for other in facts.planned_loads if as_planned else ():
        if other.vehicle_id == load.vehicle_id and other.sequence < load.sequence:
            for part in other.parts:
                before[part.lot_id] += part.share
    fresh = _jobs_aboard(unit, facts, load, at=load.done_at or now, before=before)
    jobs = {job.id: job for grass in facts.loaded for job in grass.jobs} | fresh
    lot_facts = read_lot_facts(unit, load.firm_id, list(jobs.values()))
    at = load.done_at or (max(now, load.arrive_at) if as_planned else now)
    heaps = _heaps(unit, replace(facts, now=at), load, rulebook=rulebook)

    def lot_of(job: Job, heap: HeldHeap | None) -> Lot:
        # Of a heap in a bay its own clock tells whether it is sour.
        asked_at = at if heap is None else job.at
        lot = lot_facts.lot_of(as_smelt(job, at), rulebook=rulebook, at=asked_at)
        return lot if heap is None else replace(lot, held=heap)

    lies = dict.fromkeys((p.job_id, p.hold_entry_id) for p in load.parts if p.job_id in fresh)
    own = {job_id for job_id, _ in lies}
    lies |= dict.fromkeys(
        (job.id, grass.entry.id)
        for grass in _loaded_beside(facts, load, at=load.done_at or now, before=before)
        for job in grass.jobs
    )
    lots = tuple(
        lot_of(jobs[job_id], None if entry_id is None else heaps.get(entry_id))
        for job_id, entry_id in (*lies, *((one, None) for one in fresh if one not in own))
    )
    # As of when it was tipped: what is said later was in time.
    destinations = ready_destinations(replace(facts, now=at), rulebook=rulebook)
    frozen = [
        (lot, said)
        for ready in destinations
        for lot in lots
        if (said := frozen_by(verdict_on(lot, ready.destination), lot, facts.recalls)) is not None
    ]
    return InTheBody(
        lots=lots,
        refusals=tuple(frozen)
        or tuple(
            (lot, said)
            for ready in destinations
            for lot in lots
            if (said := said_of(load, lot, ready.destination)).refused
            and said.ground in {Ground.LOT, Ground.PAIR}  # the rest is the day of the place
        ),
        shut=next(
            (
                shut
                for ready in destinations
                if load.done_at is not None
                and ready.id == load.destination_id
                and (shut := ready.shut_at(load.done_at)) is not None
            ),
            None,
        ),
    )


def _heaps(
    unit: UnitOfWork, facts: DayFacts, load: Load, *, rulebook: Rulebook
) -> dict[UUID, HeldHeap]:
    """Return what is known at a moment of the heaps whose grass is in a load, or beside it."""
    named = {part.hold_entry_id for part in load.parts if part.hold_entry_id is not None}
    ids = sorted(named | {grass.entry.id for grass in facts.loaded})
    kept = unit.hold_entries.get_many(load.firm_id, ids).values()
    entries = [as_measured_by(entry, facts.now) for entry in kept]
    return {
        grass.entry.id: heap_of(grass, facts, rulebook=rulebook)
        for grass in read_held(unit, load.firm_id, entries, {})
    }


def _loaded_beside(
    facts: DayFacts, load: Load, *, at: datetime, before: Mapping[UUID, float]
) -> list[HeldGrass]:
    """Return what came out of a bay and lies in the body of a load, though it is not in it."""
    own = {part.hold_entry_id for part in load.parts}
    return [
        grass
        for grass in facts.loaded
        if grass.vehicle_id == load.vehicle_id
        and grass.entry.id not in own
        and (since := grass.entry.loaded_since(load.vehicle_id)) is not None
        and since <= at
        and any(
            share - before.get(lot_id, 0.0) > NOTHING_LEFT
            for lot_id, share in zip(grass.lot_ids, grass.shares, strict=True)
        )
    ]


def _jobs_aboard(
    unit: UnitOfWork, facts: DayFacts, load: Load, *, at: datetime, before: Mapping[UUID, float]
) -> dict[UUID, Job]:
    own = unit.jobs.get_many(load.firm_id, [part.job_id for part in load.parts])
    lies = [
        job for job in facts.jobs if facts.share_left(job) - before.get(job.id, 0.0) > NOTHING_LEFT
    ]
    if load.done_at is not None:
        lies += _tipped_since(unit, facts, load, at=at)
    beside = {
        job.id: job
        for job in lies
        if job.id not in own
        and job.vehicle_id == load.vehicle_id
        and job.state is JobState.MOWN
        and job.clippings is ClippingsHandling.COLLECTED
    }
    since = aboard_since(unit, beside.values(), load.vehicle_id)
    there = [job for job in beside.values() if since[job.id] <= at]
    return {job.id: job for job in (*own.values(), *there) if job.estimate is not None}


def _tipped_since(unit: UnitOfWork, facts: DayFacts, load: Load, *, at: datetime) -> list[Job]:
    """Return the lots that a load's vehicle tipped only later: till then they were in its body."""
    day = day_of(facts.depot, at)
    others: list[Load] = unit.loads.all(
        load.firm_id,
        vehicle_id=load.vehicle_id,
        working_day=tuple(day + timedelta(days=apart) for apart in range(-DAYS_BACK, DAYS_ON + 1)),
        state=tuple(sorted(TIPPED_STATES)),
    )
    ids = {
        part.job_id
        for other in others
        if other.id != load.id and other.done_at is not None and other.done_at > at
        for part in other.parts
        if part.hold_entry_id is None
    }
    return list(unit.jobs.get_many(load.firm_id, sorted(ids)).values()) if ids else []

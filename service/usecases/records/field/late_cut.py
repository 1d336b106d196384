"""Cuts that are told only after a tip of their vehicle: by the records they lie aboard since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.loads import Load
from service.core.mass_book import NOTHING, MovementCause
from service.core.materials import ClippingsHandling
from service.core.plans import RuleClass
from service.usecases.base.calendar import depot_clock
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.mass_book.movements import TIPPED_STATES

# A tip that a cut may have been in is of its own day, or of a day beside it by another clock.
AROUND: Final = tuple(timedelta(days=n) for n in (-1, 0, 1))
CODE: Final = "cut_before_tip"
SENTENCE: Final = (
    "{lot} was cut before the tip at {place} of {tipped_at}, which is on record without it: it "
    "counts as aboard. Did it go in that tip, or is it still aboard? Tell the office."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LateCut:
    """A cut that is aboard by the records, and the first tip after it, told of before it."""

    job: Job
    tip: Load
    tipped_at: datetime
    share: float


def late_cuts(unit: UnitOfWork, jobs: Iterable[Job], *, is_new: bool = False) -> list[LateCut]:
    """Return the cuts of which somebody should say whether they went in a tip, or are aboard.

    What was on record when its vehicle tipped was tipped as it was told, or left aboard.

    Parameters
    ----------
    is_new
        Whether the cuts are told just now.
    """
    bagged = [
        job
        for job in jobs
        if job.state is JobState.MOWN and job.clippings is not ClippingsHandling.LEFT
    ]
    if not bagged:
        return []
    firm_id = bagged[0].firm_id
    tips = unit.loads.all(
        firm_id,
        vehicle_id=tuple(sorted({job.vehicle_id for job in bagged})),
        working_day=tuple(sorted({(job.at + apart).date() for job in bagged for apart in AROUND})),
        state=tuple(sorted(TIPPED_STATES)),
    )
    after = {job.id: _after(job, tips) for job in bagged}
    late = {job.id: job for job in bagged if after[job.id]}
    if not late:
        return []
    told = {} if is_new else _told_at(unit, late, after)
    aboard, _ = lots_aboard(unit, firm_id, late, None)
    return [
        LateCut(job=job, tip=tip, tipped_at=tip.done_at, share=share)
        for job in late.values()
        if (share := aboard.get(job.id, 0.0)) > NOTHING
        for tip in after[job.id][:1]
        if tip.done_at is not None and (is_new or told[tip.id] < told[job.id])
    ]


def late_cut_told(unit: UnitOfWork, late: LateCut) -> dict[str, object]:
    """Return what is said of a late cut to whoever tells it, and to the office; JSON-ready."""
    job, tip = late.job, late.tip
    depot = unit.depots.get(job.firm_id, job.depot_id)
    place = unit.repository(KINDS[tip.destination_kind].repository).get(
        job.firm_id, tip.destination_id
    )
    facts = {
        "lot": job.lot_code,
        "lots": [job.lot_code],
        "place": KINDS[tip.destination_kind].one if place is None else place.name,
        "tipped_at": depot_clock(depot, late.tipped_at, now=job.at),
        "job_id": str(job.id),
        "load_id": str(tip.id),
    }
    return {
        "code": CODE,
        "rule_class": RuleClass.ADVICE.value,
        "sentence": SENTENCE.format(**facts),
        "facts": facts,
    }


def _after(job: Job, tips: Sequence[Load]) -> list[Load]:
    """Return the tips of a cut's vehicle after it, in order; none if it was in any."""
    since = job.at if job.aboard_after is None else max(job.at, job.aboard_after)
    if any(part.job_id == job.id for load in tips for part in load.parts):
        return []
    own = [one for one in tips if one.vehicle_id == job.vehicle_id and one.done_at is not None]
    return sorted(
        (one for one in own if (one.done_at or one.arrive_at) > since),
        key=lambda one: (one.done_at or one.arrive_at, one.id),
    )


def _told_at(
    unit: UnitOfWork, jobs: Mapping[UUID, Job], after: Mapping[UUID, Sequence[Load]]
) -> dict[UUID, datetime]:
    """Return when cuts and tips came on record, by the id of the job or the load."""
    firm_id = next(iter(jobs.values())).firm_id
    lots = {part.job_id for job_id in jobs for load in after[job_id] for part in load.parts}
    told: dict[UUID, datetime] = {}
    for one in unit.mass_movements.of_lots(firm_id, sorted(lots | jobs.keys())):
        if one.cause in {MovementCause.CUT, MovementCause.TIPPED}:
            told[one.cause_id] = min(one.created_at, told.get(one.cause_id, one.created_at))
    return told

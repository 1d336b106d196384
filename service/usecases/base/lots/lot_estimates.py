"""Work out what a job's clippings are: estimate, status, findings, and their public code."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from service.agronomy.learning.weigh_tickets import Ticket
from service.core.jobs import Job, JobState
from service.core.mass_book import NOTHING, VEHICLE
from service.core.materials import ClippingsHandling, GrassKind, LotStatus, worst_status
from service.core.places import Depot, Lawn, Property
from service.destinations.estimating import estimate_lot
from service.destinations.freshness import keeping_time
from service.destinations.learning import learned_estimate, ticket_group, ticket_lawn
from service.destinations.lots import as_smelt
from service.destinations.verdicts import stood_too_long
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of
from service.usecases.base.lots.lot_facts import LotFacts
from service.usecases.base.ports.unit_of_work import UnitOfWork

LOT_CODE_LETTERS = "23456789BCDFGHJKLMNPQRSTVWXZ"  # no vowels, nothing read two ways
LOT_CODE_LENGTH = 7


def work_out(job: Job, facts: LotFacts, tickets: Sequence[Ticket], *, rulebook: Rulebook) -> Job:
    """Return the job with the estimate, the status and the findings the facts give it."""
    lawn: Lawn | None = facts.lawns.get(job.lawn_id) if job.lawn_id else None
    place: Property = facts.properties[job.property_id]
    depot: Depot = facts.depots[job.depot_id]
    day = day_of(depot, job.at)
    here = RulesHere(rulebook, day, depot.jurisdiction)
    if job.grass_kind is GrassKind.UNKNOWN and lawn is not None:
        job = replace(job, grass_kind=lawn.grass_kind)
    estimate = estimate_lot(job, latitude=place.point.latitude, here=here)
    estimated = replace(
        job,
        estimate=learned_estimate(
            estimate,
            tickets,
            group=ticket_group(job, day=day, latitude=place.point.latitude),
            lawn=ticket_lawn(job),
            here=here,
        ),
    )
    lot = facts.lot_of(estimated, rulebook=rulebook)
    return replace(estimated, status=lot.status, findings=lot.findings)


def as_it_stood(job: Job, depot: Depot, at: datetime, *, rulebook: Rulebook) -> Job:
    """Return a job with what had become of its bagged clippings by a moment: sour, or as cut."""
    if not _is_bagged(job):
        return job
    job = as_smelt(job, at)
    here = RulesHere(rulebook, day_of(depot, job.at), depot.jurisdiction)
    keeps = keeping_time(job.wetness, here=here)
    if at < job.at + keeps.red:
        return job
    return replace(
        job,
        status=worst_status([job.status, LotStatus.SOUR]),
        findings=(*job.findings, stood_too_long(job.at, keeps)),
    )


def _is_bagged(job: Job) -> bool:
    return job.state is JobState.MOWN and job.clippings is ClippingsHandling.COLLECTED


def as_they_stand(
    unit: UnitOfWork, firm_id: UUID, jobs: Sequence[Job], *, now: datetime, rulebook: Rulebook
) -> list[Job]:
    """Return jobs as their clippings are now, or were when the last of them left the body."""
    bagged = [job for job in jobs if _is_bagged(job)]
    if not bagged:
        return list(jobs)
    depots = unit.depots.get_many(firm_id, sorted({job.depot_id for job in bagged}))
    left = stood_until(unit, firm_id, bagged, now=now)
    return [
        as_it_stood(job, depots[job.depot_id], left[job.id], rulebook=rulebook)
        if job.id in left
        else job
        for job in jobs
    ]


def stood_until(
    unit: UnitOfWork, firm_id: UUID, jobs: Sequence[Job], *, now: datetime
) -> dict[UUID, datetime]:
    """Return until when clippings stood in a body: now, or when the last was tipped; by job.

    What was never in a body stood nowhere: of it that is the cut.
    """
    aboard: dict[UUID, float] = defaultdict(float)
    out: dict[UUID, dict[datetime, float]] = defaultdict(lambda: defaultdict(float))
    for entry in unit.mass_movements.of_lots(firm_id, sorted({job.id for job in jobs})):
        if entry.to_kind == VEHICLE:
            aboard[entry.lot_id] += entry.share
        if entry.from_kind == VEHICLE:
            aboard[entry.lot_id] -= entry.share
            if entry.to_kind != VEHICLE:
                out[entry.lot_id][entry.happened_at] += entry.share
    return {
        job.id: now
        if aboard[job.id] > NOTHING
        else max((at for at, share in out[job.id].items() if share > NOTHING), default=job.at)
        for job in jobs
    }


def lot_code_of(job_id: UUID) -> str:
    """Return the public code of a job's lot: it tells nothing of whose lawn it was."""
    number = int.from_bytes(sha256(job_id.bytes).digest()[:8], "big")
    letters = []
    for _ in range(LOT_CODE_LENGTH):
        number, rest = divmod(number, len(LOT_CODE_LETTERS))
        letters.append(LOT_CODE_LETTERS[rest])
    return "L-" + "".join(letters)

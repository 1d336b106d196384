"""Work out what a job's clippings are: estimate, status, findings, and their public code."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from hashlib import sha256
from uuid import UUID

from service.agronomy.learning.weigh_tickets import Ticket
from service.core.jobs import Job
from service.core.materials import GrassKind, LotStatus
from service.core.places import Depot, Lawn, Property
from service.destinations.estimating import estimate_lot
from service.destinations.learning import learned_estimate, ticket_group, ticket_lawn
from service.destinations.lots import find_lot
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of
from service.usecases.base.lot_facts import LotFacts

LOT_CODE_LETTERS = "23456789BCDFGHJKLMNPQRSTVWXZ"  # no vowels, nothing read two ways
LOT_CODE_LENGTH = 7


def work_out(job: Job, facts: LotFacts, tickets: Sequence[Ticket], *, rulebook: Rulebook) -> Job:
    """Return the job with the estimate, the status and the findings the facts give it."""
    lawn: Lawn | None = facts.lawns.get(job.lawn_id) if job.lawn_id else None
    place: Property = facts.properties[job.property_id]
    depot: Depot = facts.depots[job.depot_id]
    day = day_of(depot, job.at)
    if job.grass_kind is GrassKind.UNKNOWN and lawn is not None:
        job = replace(job, grass_kind=lawn.grass_kind)
    estimate = estimate_lot(
        job,
        latitude=place.point.latitude,
        rulebook=rulebook,
        day=day,
        jurisdiction=depot.jurisdiction,
    )
    estimated = replace(
        job,
        estimate=learned_estimate(
            estimate,
            tickets,
            group=ticket_group(job, day=day, latitude=place.point.latitude),
            lawn=ticket_lawn(job),
            rulebook=rulebook,
            day=day,
            jurisdiction=depot.jurisdiction,
        ),
    )
    lot = find_lot(
        estimated,
        treatments=facts.treatments_for(job),
        mowings=facts.mowings_for(job),
        rulebook=rulebook,
        day=day,
        jurisdiction=depot.jurisdiction,
    )
    findings = tuple(finding for finding in lot.findings if finding.status is not LotStatus.CLEAN)
    return replace(estimated, status=lot.status, findings=findings)


def lot_code_of(job_id: UUID) -> str:
    """Return the public code of a job's lot: it tells nothing of whose lawn it was."""
    number = int.from_bytes(sha256(job_id.bytes).digest()[:8], "big")
    letters = []
    for _ in range(LOT_CODE_LENGTH):
        number, rest = divmod(number, len(LOT_CODE_LETTERS))
        letters.append(LOT_CODE_LETTERS[rest])
    return "L-" + "".join(letters)

"""What becomes of each lot, and why: chosen, runner-up, and what the others said."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection
from heapq import nsmallest
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.loads import Load
from service.core.materials import ClippingsHandling
from service.destinations.ready import ReadyDestination
from service.usecases.base.destination_kinds import COLLECTABLE, is_hold
from service.usecases.day.planned_day import PlannedDay, range_of, told_verdict
from service.usecases.day.replanning.outages import OutageTeller
from service.usecases.telling.left_material import LeftTeller

NEAREST_REFUSALS_TOLD = 6


def told_lots(made: PlannedDay, outages: OutageTeller, left: LeftTeller) -> list[dict[str, object]]:
    """Return every lot of the day with its outcome and the reasons, JSON-ready."""
    by_job: dict[UUID, list[tuple[Load, float]]] = defaultdict(list)
    for load in made.loads:
        for part in load.parts:
            share = part.share * load.kept_share
            if share > 0.0:  # what was refused goes elsewhere, and is told there
                by_job[part.job_id].append((load, share))
    went_to: dict[UUID, set[UUID]] = defaultdict(set)
    for load in (*made.facts.fixed_loads, *made.facts.planned_loads):
        for part in load.parts:
            went_to[part.job_id].add(load.destination_id)
    return [
        {
            **_lot(made, job, by_job[job.id], went_to[job.id], left.leave(job.id)),
            "needs_attention": left.of_lot(job.id),
            **outages.of_lot(job.id, job.vehicle_id),
        }
        for job in made.facts.jobs
    ]


def _lot(
    made: PlannedDay,
    job: Job,
    carried: list[tuple[Load, float]],
    went_to: Collection[UUID],
    leave: str | None,
) -> dict[str, object]:
    lot = made.asked.lots.get(job.id)
    advice = made.advice.get(job.id)
    estimate = job.estimate
    return {
        "job_id": str(job.id),
        "lot_code": job.lot_code,
        "lawn_id": str(job.lawn_id) if job.lawn_id else None,
        "state": job.state.value,
        "status": (lot.status if lot else job.status).value,
        "findings": [
            {"status": finding.status.value, "code": finding.code, "facts": finding.facts}
            for finding in (lot.findings if lot else job.findings)
        ],
        "mass_kg": range_of(estimate.mass_kg) if estimate else None,
        "outcome": _outcome(job, carried, leave),
        "advice": None
        if advice is None
        else {
            "must": advice.must,
            "code": advice.code,
            "sentence": advice.sentence,
            "rule_class": advice.rule_class.value,
            "facts": advice.facts,
            "sources": list(advice.sources),
        },
        "goes_to": [_chosen(made, load, share) for load, share in carried],
        "elsewhere": _elsewhere(made, job, went_to),
        "links": {"why": f"/jobs/{job.id}/why", "verdicts": f"/jobs/{job.id}/verdicts"},
    }


def _outcome(job: Job, carried: list[tuple[Load, float]], leave: str | None) -> str:
    """Return one word for what becomes of a lot."""
    if job.clippings is ClippingsHandling.LEFT:
        return "left_on_lawn"
    if not carried and leave is not None and job.state is JobState.PLANNED:
        return "leave_on_lawn"
    if not carried:
        return "unplaced"
    if all(is_hold(load.destination_kind) for load, _ in carried):
        return "hold"
    return "routed"


def _chosen(made: PlannedDay, load: Load, share: float) -> dict[str, object]:
    ready = made.ready(load)
    return {
        "load_id": str(load.id),
        "destination_kind": load.destination_kind.value,
        "destination_id": str(load.destination_id),
        "name": ready.name if ready else None,
        "share": round(share, 4),
        "why": load.explanation.get("chosen"),
        "fairness": load.explanation.get("fairness"),
        "load_status": load.status.value,
        "runner_up": {
            "destinations": load.explanation.get("runner_up") or [],
            "extra_cents": load.explanation.get("runner_up_extra_cents"),
        },
    }


def _elsewhere(made: PlannedDay, job: Job, went_to: Collection[UUID]) -> dict[str, object] | None:
    """Return what the other destinations said: the nearest refusals with numbers, all by code.

    A refusal where the plan before sent the lot is told however far away it is: that is why it
    goes elsewhere now. None where nobody was asked: what is delivered, or left on the lawn, goes
    nowhere else.
    """
    verdicts = made.asked.verdicts.get(job.id)
    if verdicts is None:
        return None
    here = made.facts.properties[job.property_id].point
    refusals = [
        (_rough_distance(here.latitude, here.longitude, ready), ready, verdict)
        for ready, verdict in zip(made.asked.destinations, verdicts, strict=True)
        if verdict.refused
    ]
    nearest = nsmallest(
        NEAREST_REFUSALS_TOLD, refusals, key=lambda item: (item[0], str(item[1].id))
    )
    nearest += [item for item in refusals if item[1].id in went_to and item not in nearest]
    return {
        "willing": sum(
            1
            for verdict in verdicts
            if not verdict.refused and verdict.destination_kind in COLLECTABLE
        ),
        "refused_by_code": dict(
            sorted(Counter(verdict.code for _, _, verdict in refusals).items())
        ),
        "nearest_refusals": [
            told_verdict(verdict, name=ready.name) for _, ready, verdict in nearest
        ],
    }


def _rough_distance(latitude: float, longitude: float, ready: ReadyDestination) -> float:
    """Return a number that grows with distance, for sorting within a firm's area."""
    return (ready.point.latitude - latitude) ** 2 + (ready.point.longitude - longitude) ** 2

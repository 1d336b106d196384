"""What becomes of each lot, and why: chosen, runner-up, and what the others said."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping
from heapq import nsmallest
from typing import Any
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.loads import Load
from service.core.materials import ClippingsHandling
from service.destinations.ready import ReadyDestination
from service.usecases.base.destination_kinds import COLLECTABLE, is_hold
from service.usecases.day.planned_day import PlannedDay, range_of
from service.usecases.day.replanning.outages import OUT, OutageTeller
from service.usecases.telling.told.forms import Range
from service.usecases.telling.told.lots import (
    Attention,
    Elsewhere,
    FindingTold,
    GoesTo,
    LotLinks,
    LotTold,
    Outcome,
)
from service.usecases.telling.told.places import FairnessSaid
from service.usecases.telling.told.verdicts import told_advice, told_verdict
from service.usecases.telling.unplaced.left_material import LeftTeller

NEAREST_REFUSALS_TOLD = 6


def told_lots(made: PlannedDay, outages: OutageTeller, left: LeftTeller) -> Iterator[LotTold]:
    """Yield every lot of the day with its outcome and the reasons."""
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
    for job in made.facts.jobs:
        lot = made.asked.lots.get(job.id)
        advice = made.advice.get(job.id)
        carried = by_job[job.id]
        carrier, taken_from = outages.carrier(job.id, job.vehicle_id)
        yield LotTold(
            job_id=job.id,
            lot_code=job.lot_code,
            lawn_id=job.lawn_id,
            state=job.state,
            status=lot.status if lot else job.status,
            findings=tuple(
                FindingTold(status=finding.status, code=finding.code, facts=finding.facts)
                for finding in (lot.findings if lot else job.findings)
            ),
            mass_kg=Range(**range_of(job.estimate.mass_kg)) if job.estimate else None,
            outcome=_outcome(job, carried, left.leave(job.id)),
            advice=None if advice is None else told_advice(advice),
            goes_to=tuple(_chosen(made, load, share) for load, share in carried),
            elsewhere=_elsewhere(made, job, went_to[job.id]),
            links=LotLinks(why=f"/jobs/{job.id}/why", verdicts=f"/jobs/{job.id}/verdicts"),
            needs_attention=_nobody_takes_over(outages, job.id) or left.of_lot(job.id),
            vehicle_id=carrier,
            taken_over_from_id=taken_from,
        )


def _nobody_takes_over(outages: OutageTeller, job_id: UUID) -> Attention | None:
    sentence = outages.nobody(job_id)
    return None if sentence is None else Attention(code=OUT, sentence=sentence, facts={})


def _outcome(job: Job, carried: list[tuple[Load, float]], leave: str | None) -> Outcome:
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


def _chosen(made: PlannedDay, load: Load, share: float) -> GoesTo:
    ready = made.ready(load)
    kept: Mapping[str, Any] = load.explanation
    return GoesTo(
        load_id=load.id,
        destination_kind=load.destination_kind,
        destination_id=load.destination_id,
        name=ready.name if ready else None,
        share=round(share, 4),
        why=kept.get("chosen"),
        fairness=FairnessSaid(**kept["fairness"]) if kept.get("fairness") else None,
        load_status=load.status,
        chosen_by_hand=load.chosen_by_id is not None and load.locked,
        against_advice=load.override_reason is not None and load.locked,
        runner_up={
            "destinations": kept.get("runner_up") or [],
            "extra_cents": kept.get("runner_up_extra_cents"),
        },
    )


def _elsewhere(made: PlannedDay, job: Job, went_to: Collection[UUID]) -> Elsewhere | None:
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
    return Elsewhere(
        willing=sum(
            1
            for verdict in verdicts
            if not verdict.refused and verdict.destination_kind in COLLECTABLE
        ),
        refused_by_code=dict(sorted(Counter(verdict.code for _, _, verdict in refusals).items())),
        nearest_refusals=tuple(
            told_verdict(verdict, name=ready.name) for _, ready, verdict in nearest
        ),
    )


def _rough_distance(latitude: float, longitude: float, ready: ReadyDestination) -> float:
    """Return a number that grows with distance, for sorting within a firm's area."""
    return (ready.point.latitude - latitude) ** 2 + (ready.point.longitude - longitude) ** 2

"""What waits for a word of lawns of which less was mown than was planned."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from service.core.callers.access import Amendment
from service.core.jobs import UNCOUNTED_STATES, Job, JobState
from service.core.measures.quantities import Measure
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.records.visits import AREAS_TOGETHER_SLACK
from service.usecases.telling.decisions.decision import Decision, Urgency, Way


def part_not_mown(unit: UnitOfWork, facts: DayFacts) -> Iterator[Decision]:
    """Yield the lawns of the day of which a rest is in no plan, until it is planned or mown.

    What a lawn on record and a crew's word of its round are off by is no rest; see there.
    """
    cut = {
        job.id: job
        for job in facts.jobs
        if job.state is JobState.MOWN and job.planned_at and job.lawn_id and facts.is_today(job)
    }
    if not cut:
        return
    for amendment in unit.amendments.of(facts.depot.firm_id, *sorted(cut)):
        job = cut[amendment.record_id]
        planned_m2 = _planned_m2(amendment)
        mown_m2 = job.area_mowed.si_value
        if planned_m2 is None or planned_m2 <= mown_m2 * AREAS_TOGETHER_SLACK:
            continue
        if not _goes_on(job, facts):
            yield _asked(facts, job, planned_m2=planned_m2)


def _planned_m2(amendment: Amendment) -> float | None:
    """Return how much was planned where a change is the cut of a planned job; None of another."""
    state: Any = amendment.changes.get("state")
    area: Any = amendment.changes.get("area_mowed")
    if not area or not state or list(state) != [JobState.PLANNED, JobState.MOWN]:
        return None
    was = area[0]
    if isinstance(was, Mapping):
        was = Measure(value=was["value"], unit=was["unit"])
    return float(was.si_value)


def _goes_on(job: Job, facts: DayFacts) -> bool:
    """Return whether the lawn was planned or mown once more since the cut."""
    return any(
        other.id != job.id
        and other.lawn_id == job.lawn_id
        and other.state not in UNCOUNTED_STATES
        and job.cut_at is not None
        and other.created_at >= job.cut_at
        for other in facts.jobs
    )


def _asked(facts: DayFacts, job: Job, *, planned_m2: float) -> Decision:
    mown_m2 = job.area_mowed.si_value
    lawn = facts.lawns.get(job.lawn_id) if job.lawn_id else None
    crew = facts.crews.get(job.crew_id)
    return Decision(
        code="part_not_mown",
        urgency=Urgency.TODAY,
        sentence=(
            f"{'A lawn' if lawn is None else lawn.name} ({job.lot_code}): {mown_m2:,.0f} m2 of "
            f"{planned_m2:,.0f} m2 that were planned are mown. The other "
            f"{planned_m2 - mown_m2:,.0f} m2 are in no plan. Ask "
            f"{'the crew' if crew is None else crew.name}, and plan them again, or correct the "
            "area."
        ),
        lot_codes=(job.lot_code,),
        job_id=job.id,
        ways=(
            Way(what="Plan the rest again (state planned)", method="POST", href="/jobs"),
            Way(what="Correct how much was mown", method="PATCH", href=f"/jobs/{job.id}"),
        ),
    )

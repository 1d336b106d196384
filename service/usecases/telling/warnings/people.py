"""The warning that nobody may be on a treated lawn yet, where a job is planned too early."""

from __future__ import annotations

from service.core.jobs import JobState
from service.usecases.day.planned_day import PlannedDay
from service.usecases.telling.before_mowing.keep_off import kept_off


def people_warnings(made: PlannedDay) -> list[dict[str, object]]:
    """Return the planned jobs that come before people may be on their lawns again.

    The plan's hour counts, and the one that was said with the job: a crew may come by either.
    """
    facts, begins = made.facts, made.mowing_begins()
    return [
        {
            "vehicle_id": str(job.vehicle_id),
            "code": told["code"],
            "job_id": str(job.id),
            "until": told["until"],
            "product": told["product"],
            "why": told["sentence"],
        }
        for job in facts.jobs
        if job.state is JobState.PLANNED
        and (
            told := kept_off(
                facts.lot_facts.treatments_for(job),
                min(job.at, begins.get(job.id, job.at)),
                span=facts.span,
            )
        )
        is not None
    ]

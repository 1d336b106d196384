"""The warning that a lawn is mown, or to be mown, outside the hours recorded of it."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from service.core.jobs import JobState
from service.usecases.day.lawn_hours import hours_of
from service.usecases.day.planned_day import PlannedDay


def lawn_hours_warnings(made: PlannedDay) -> list[dict[str, object]]:
    """Return the jobs whose mowing begins outside the hours of their lawns.

    Of one still to come it is the plan's hour that counts, else that on record.
    """
    facts, begins = made.facts, _begins(made)
    return [
        {
            "vehicle_id": str(job.vehicle_id),
            "job_id": str(job.id),
            **{name: told[name] for name in ("code", "between", "day")},
            "why": told["sentence"],
        }
        for job in facts.jobs
        if facts.is_today(job)
        and (hours := hours_of(facts, job)) is not None
        and (told := hours.outside(begins.get(job.id, job.at))) is not None
    ]


def _begins(made: PlannedDay) -> dict[UUID, datetime]:
    jobs, found = made.facts.known_jobs, dict[UUID, datetime]()
    for name, at in made.begins_at().items():
        job_id = made.built.pieces[name].job_id
        if jobs[job_id].state is JobState.PLANNED:
            found[job_id] = min(at, found.get(job_id, at))
    return found

"""The warning that a lawn is mown, or to be mown, outside the hours recorded of it."""

from __future__ import annotations

from service.usecases.day.lawn_hours import hours_of
from service.usecases.day.planned_day import PlannedDay


def lawn_hours_warnings(made: PlannedDay) -> list[dict[str, object]]:
    """Return the jobs whose mowing begins outside the hours of their lawns.

    Of one still to come it is the plan's hour that counts, else that on record.
    """
    facts, begins = made.facts, made.mowing_begins()
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

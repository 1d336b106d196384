"""What waits for a word of lawns that were planned on a day before, and of which none came."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from service.core.jobs import Job
from service.core.measures.units import date_words
from service.usecases.base.calendar import day_of, span_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way


def planned_not_reported(unit: UnitOfWork, facts: DayFacts) -> Iterator[Decision]:
    """Yield the lawns that were planned before the day and before today, and not reported since.

    Rain moves a round, and a telephone forgets a cut: the plan of the next day knows of neither. A
    cut of the lawn on a day after answers it.
    """
    depot = facts.depot
    today = span_of(depot, day_of(depot, facts.now))
    waiting = unit.jobs.not_reported(depot.firm_id, depot.id, min(facts.span.start, today.start))
    if not waiting:
        return
    lawn_ids = sorted({job.lawn_id for job in waiting if job.lawn_id is not None})
    first = day_of(depot, waiting[0].at)
    cuts = unit.jobs.mowings_since(depot.firm_id, lawn_ids, first)
    lawns = unit.lawns.get_many(depot.firm_id, lawn_ids)
    homes = unit.properties.get_many(depot.firm_id, sorted({job.property_id for job in waiting}))
    for job in waiting:
        day = day_of(depot, job.at)
        if job.lawn_id and any(day_of(depot, at) > day for at in cuts.get(job.lawn_id, ())):
            continue
        lawn = lawns.get(job.lawn_id) if job.lawn_id else None
        home = homes.get(job.property_id)
        where = ", ".join(one.name for one in (home, lawn) if one is not None)
        yield _asked(facts, job, where=where)


def _asked(facts: DayFacts, job: Job, *, where: str) -> Decision:
    day = day_of(facts.depot, job.at)
    crew = facts.crews.get(job.crew_id)
    is_of_yesterday = day == day_of(facts.depot, facts.now) - timedelta(days=1)
    when = f"yesterday, {date_words(day)}" if is_of_yesterday else date_words(day)
    own = f"{where} ({job.lot_code}, {'a crew' if crew is None else crew.name})"
    return Decision(
        code="planned_not_reported",
        urgency=Urgency.TODAY,
        sentence=(
            f"Planned for {when}, and not reported: {own}. Mown, moved to another day, or not "
            "mown? Until somebody says so, no plan has it."
        ),
        own=own,
        lot_codes=(job.lot_code,),
        job_id=job.id,
        ways=tuple(
            Way(what=what, method="PATCH", href=f"/jobs/{job.id}")
            for what in (
                "It was mown (state mown, cut_at)",
                "Move it to another day (planned_at)",
                "It is not mown (state cancelled)",
            )
        ),
    )

"""What may be supposed of single lots: left on their lawn, or known to be untreated."""

from __future__ import annotations

from dataclasses import dataclass, replace
from uuid import UUID

from service.core.jobs import Job
from service.core.materials import ClippingsHandling, TreatmentHistory
from service.rules.lookup import Rulebook
from service.usecases.base.lots.lot_estimates import work_out
from service.usecases.base.lots.weigh_tickets import Tickets
from service.usecases.day.facts import DayFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class SupposedLots:
    """The jobs of the day that are done otherwise, or of which more is known.

    Attributes
    ----------
    left_on_lawn_job_ids
        Planned jobs whose clippings stay where they fall.
    untreated_job_ids
        Jobs whose clients say that nothing was put on the lawn; a treatment on record still counts.
    """

    left_on_lawn_job_ids: tuple[UUID, ...] = ()
    untreated_job_ids: tuple[UUID, ...] = ()


LOTS_AS_THEY_ARE = SupposedLots()


def untreated(facts: DayFacts, lots: SupposedLots) -> list[Job]:
    """Return the jobs of which it is supposed that nothing was put on the lawn."""
    return [job for job in facts.jobs if job.id in lots.untreated_job_ids]


def with_lots(
    facts: DayFacts, lots: SupposedLots, tickets: Tickets, *, rulebook: Rulebook
) -> DayFacts:
    """Return the facts of the day with the lots as supposed; there are no faults in it.

    Parameters
    ----------
    tickets
        Of the jobs that `untreated` gives, too.
    """
    if lots == LOTS_AS_THEY_ARE:
        return facts
    jobs = [
        work_out(
            replace(job, treatment_history=TreatmentHistory.NONE_RECORDED),
            facts.lot_facts,
            tickets.of(job),
            rulebook=rulebook,
        )
        if job.id in lots.untreated_job_ids
        else job
        for job in facts.jobs
    ]
    left = lots.left_on_lawn_job_ids
    return replace(
        facts,
        jobs=tuple(
            replace(job, clippings=ClippingsHandling.LEFT) if job.id in left else job
            for job in jobs
        ),
    )

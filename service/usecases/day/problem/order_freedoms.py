"""Which crews have jobs but no order, how far theirs may change, and the times that would make it.

A crew's order is that of its planned times. Jobs planned for the same time have none.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from uuid import UUID

from service.core.jobs import Job
from service.planning.orders.choice import Block, FoundOrder, Freedom
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.facts import DayFacts
from service.usecases.day.problem.build import DayProblem
from service.usecases.day.problem.prices import COSTS

MINUTE = timedelta(minutes=1)  # planned times are told to the minute, each job one of its own


def jobs_ahead(facts: DayFacts, day: VehicleDay) -> list[Job]:
    """Return a vehicle's jobs still ahead, in the order of the day."""
    ahead = {piece.job_id for piece in day.ahead if piece.hold_entry_id is None}
    return [job for job in facts.jobs if job.id in ahead]


def has_no_order(facts: DayFacts, day: VehicleDay) -> bool:
    """Tell whether two jobs of a vehicle that are ahead are planned for the same time."""
    return any(one.at == two.at for one, two in pairwise(jobs_ahead(facts, day)))


def freedom_of(facts: DayFacts, key: str, day: VehicleDay, *, wholly: bool) -> Freedom:
    """Return how far a vehicle's jobs may change places.

    Parameters
    ----------
    key
        The vehicle's name in the planner's problem.
    wholly
        Whether its planned times count for nothing; if not, only jobs planned for the same time
        change places. The parts of one lot stay together, and a job under way stays first.
        A crew that has an order leaves it only for what sending it elsewhere is worth.
    """
    jobs = jobs_ahead(facts, day)
    times = sorted({job.at for job in jobs})
    first = under_way(facts, jobs)
    return Freedom(
        vehicle=key,
        blocks=tuple(
            Block(
                jobs=tuple(piece.key for piece in day.ahead if piece.job_id == job.id),
                rank=-1 if job is first else 0 if wholly else times.index(job.at),
            )
            for job in jobs
        ),
        least_gain_cents=1 if has_no_order(facts, day) else COSTS.change_cents_per_stop,
    )


def under_way(facts: DayFacts, jobs: Sequence[Job]) -> Job | None:
    """Return the job a crew must be thought to be at: the first by time, if its time has come.

    Among jobs planned for the same time nobody can say which one was begun.
    """
    if not jobs or jobs[0].at > facts.now or not facts.span.start <= facts.now < facts.span.end:
        return None
    alone = len(jobs) == 1 or jobs[1].at > jobs[0].at
    return jobs[0] if alone else None


def planned_times(
    facts: DayFacts,
    built: DayProblem,
    orders: Sequence[FoundOrder],
    *,
    wholly: Collection[str],
) -> dict[UUID, datetime]:
    """Return the planned time that each job needs for its vehicle's day to have the order found.

    It is the time of arrival, to the minute. Where only jobs of the same time changed places and
    the crew has several times, no job is planned before its own: somebody may have been told it.

    Parameters
    ----------
    wholly
        The vehicles whose planned times count for nothing.
    """
    times: dict[UUID, datetime] = {}
    for order in orders:
        day = built.vehicles[order.vehicle]
        jobs = jobs_ahead(facts, day)
        kept = order.vehicle not in wholly and len({job.at for job in jobs}) > 1
        times |= _times(facts, built, order, jobs, first=under_way(facts, jobs), kept=kept)
    return times


def _times(
    facts: DayFacts,
    built: DayProblem,
    order: FoundOrder,
    jobs: Sequence[Job],
    *,
    first: Job | None,
    kept: bool,
) -> dict[UUID, datetime]:
    by_id = {job.id: job for job in jobs}
    arrivals: dict[UUID, datetime] = {}
    for name, second in zip(order.jobs[-len(order.arrive_s) :], order.arrive_s, strict=True):
        arrivals.setdefault(built.pieces[name].job_id, facts.span.at_second(second))
    times: dict[UUID, datetime] = {}
    before: datetime | None = None
    for number, (job_id, at) in enumerate(arrivals.items()):
        job = by_id[job_id]
        if job is first:
            times[job_id] = before = job.at
            continue
        # A job planned past midnight would be another day's.
        latest = facts.span.end - MINUTE * (len(arrivals) - number)
        wanted = at.replace(second=0, microsecond=0)
        if kept:
            wanted = max(wanted, job.at)
        if before is not None:
            wanted = max(wanted, before + MINUTE)
        times[job_id] = before = min(wanted, latest)
    return times

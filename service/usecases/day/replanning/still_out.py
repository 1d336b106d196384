"""Vehicles that went out on a day before, of which nobody said since that they are back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from typing import Final
from uuid import UUID

from service.core.crews import VehicleOutage
from service.core.jobs import Job, JobState
from service.core.loads import FIXED_LOAD_STATES, Load
from service.usecases.base.calendar import DaySpan
from service.usecases.base.ports import UnitOfWork

# So long a vehicle is asked about, and planned with nothing; what is not answered then is
# forgotten rather than broken. Common practice, no source.
ASKED_FOR_DAYS: Final = 10


def outages_on(
    unit: UnitOfWork, firm_id: UUID, span: DaySpan, loads: Sequence[Load], jobs: Iterable[Job]
) -> list[VehicleOutage]:
    """Return what is on record as out on a day: of the day itself, and what goes on into it.

    Parameters
    ----------
    loads, jobs
        Of around the day: what a vehicle mowed or tipped on a day since, it did as one that works.
    """
    days = [span.day - timedelta(days=apart) for apart in range(ASKED_FOR_DAYS + 1)]
    recent: list[VehicleOutage] = unit.vehicle_outages.all(firm_id, day=tuple(days))
    of_day = [one for one in recent if one.day == span.day]
    newest: dict[UUID, VehicleOutage] = {}
    for one in sorted(recent, key=lambda one: one.out_since):
        newest[one.vehicle_id] = one
    earlier = [one for one in newest.values() if one.day < span.day]
    if not earlier:
        return of_day
    done = [*_worked(loads, jobs, span)]
    goes_on = [
        one
        for one in earlier
        if (
            one.back_at is None
            and not any(who == one.vehicle_id and on > one.day for who, on in done)
        )
        or (one.back_at is not None and one.back_at > span.start)
    ]
    return [*goes_on, *of_day]


def _worked(
    loads: Iterable[Load], jobs: Iterable[Job], span: DaySpan
) -> Iterator[tuple[UUID, date]]:
    """Yield which vehicles worked on which days, as far as is known around a day."""
    for load in loads:
        if load.state in FIXED_LOAD_STATES:
            at = load.done_at or load.arrive_at
            yield load.vehicle_id, at.astimezone(span.zone).date()
    for job in jobs:
        if job.state is JobState.MOWN:
            yield job.vehicle_id, job.at.astimezone(span.zone).date()

"""What happens to plans when the world changes: they go stale, in the same transaction."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, timedelta
from uuid import UUID

from service.core.jobs import Job
from service.core.places import Depot
from service.core.plans import WorkingDay
from service.core.records import AnyRecord
from service.usecases.base.calendar import day_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Stamp


def mark_days_stale(unit: UnitOfWork, record: AnyRecord, now: datetime) -> None:
    """Count an event on the days that are not over, of all depots of a record's firm.

    Yesterday, because it is still today somewhere west of Greenwich.
    """
    first = now.date() - timedelta(days=1)
    unit.working_days.bump(record.firm_id, depot_id=None, from_day=first, to_day=None)


def touch_days_from(unit: UnitOfWork, *, firm_id: UUID, day: date) -> None:
    """Count an event on every kept day of every depot from a day on.

    What happens to a load changes the room of beds and sites that all depots share, and a
    layer that was laid makes a bed rest on the days after.
    """
    unit.working_days.bump(firm_id, depot_id=None, from_day=day, to_day=None)


def touch_day(
    unit: UnitOfWork,
    *,
    firm_id: UUID,
    depot_id: UUID,
    day: date,
    stamp: Stamp,
) -> None:
    """Count an event on one depot's day, which is kept first if it is new."""
    unit.working_days.count_event(
        WorkingDay(
            id=stamp.identifiers.next_id(),
            firm_id=firm_id,
            version=1,
            created_at=stamp.now,
            updated_at=stamp.now,
            depot_id=depot_id,
            day=day,
        )
    )


def touch_days_of(
    unit: UnitOfWork,
    jobs: Iterable[Job],
    depots: Mapping[UUID, Depot],
    stamp: Stamp,
) -> None:
    """Count the event on every day the jobs lie on, always in the same order.

    Nobody plans a day again that is over: what is told late of one is aboard, or in a bay, on
    those since.
    """
    days = {(job.firm_id, job.depot_id, day_of(depots[job.depot_id], job.at)) for job in jobs}
    for firm_id, depot_id, day in sorted(days):
        touch_day(unit, firm_id=firm_id, depot_id=depot_id, day=day, stamp=stamp)
        today = day_of(depots[depot_id], stamp.now)
        if day < today:
            unit.working_days.bump(firm_id, depot_id=depot_id, from_day=today, to_day=None)


def is_current(working_day: WorkingDay) -> bool:
    """Return whether the day's plan covers everything that happened."""
    return working_day.plan_id is not None and working_day.planned_revision == working_day.revision

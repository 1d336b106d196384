"""What happens to plans when the world changes: they go stale, in the same transaction."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

from service.core.plans import WorkingDay
from service.core.records import AnyRecord, Clock, Identifiers
from service.usecases.base.ports import UnitOfWork


class MarkDaysStale:
    """Count an event on every kept day from yesterday on: a bed, a site, a vehicle changed.

    Yesterday, because it is still today somewhere west of Greenwich.
    """

    def __init__(self, *, clock: Clock) -> None:
        """Take the clock."""
        self._clock = clock

    def __call__(self, unit: UnitOfWork, record: AnyRecord) -> None:
        """Count the event for all depots of the record's firm."""
        unit.working_days.bump(
            record.firm_id,
            depot_id=None,
            from_day=self._clock.now().date() - timedelta(days=1),
            to_day=None,
        )


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
    clock: Clock,
    identifiers: Identifiers,
) -> None:
    """Count an event on one depot's day, which is kept first if it is new."""
    now = clock.now()
    unit.working_days.ensure(
        WorkingDay(
            id=identifiers.next_id(),
            firm_id=firm_id,
            version=1,
            created_at=now,
            updated_at=now,
            depot_id=depot_id,
            day=day,
        )
    )
    unit.working_days.bump(firm_id, depot_id=depot_id, from_day=day, to_day=day)


def is_current(working_day: WorkingDay) -> bool:
    """Return whether the day's plan covers everything that happened."""
    return working_day.plan_id is not None and working_day.planned_revision == working_day.revision

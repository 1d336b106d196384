"""Read a day's routing, planned again first if something happened since."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from service.core.access import Caller
from service.core.errors import RecordMissing, Refusal
from service.core.plans import DayPlan
from service.usecases.plan_day import PlanDay
from service.usecases.ports import OpenUnitOfWork
from service.usecases.staleness import is_current


class NotPlannedYet(Refusal):
    """Nobody has planned this day."""

    code = "not_planned_yet"
    sentence = "The day {day} has no plan yet and no jobs to plan."


class ReadRouting:
    """Read a day's routing; a stale or missing plan is made first."""

    def __init__(self, *, open_reading: OpenUnitOfWork, plan_day: PlanDay) -> None:
        """Take the records and the planner."""
        self._open = open_reading
        self._plan_day = plan_day

    def __call__(self, caller: Caller, depot_id: UUID, day: date) -> DayPlan:
        """Return the newest plan of the day, made now if the day has changed since.

        Raises
        ------
        RecordMissing, NotPlannedYet, PlanOvertaken
        """
        with self._open() as unit:
            if unit.depots.get(caller.firm_id, depot_id) is None:
                raise RecordMissing(record="depot", id=depot_id)
            working_day = unit.working_days.of(caller.firm_id, depot_id, day)
            if working_day is None:
                raise NotPlannedYet(day=day)
            if is_current(working_day):
                plan = unit.day_plans.latest(caller.firm_id, depot_id, day)
                if plan is not None:
                    return plan
        return self._plan_day(caller, depot_id, day)

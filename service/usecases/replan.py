"""Plan a day again when something happened, without ever losing what happened."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from uuid import UUID

from service.core.access import Caller
from service.core.errors import RecordMissing, Refusal
from service.core.plans import DayPlan, WorkingDay
from service.usecases.plan_day import PlanDay
from service.usecases.ports import OpenUnitOfWork

TellRefusal = Callable[[str, Refusal], None]


class NotPlannedYet(Refusal):
    """Nobody has planned this day."""

    code = "not_planned_yet"
    sentence = "The day {day} has no plan yet and no jobs to plan."


class ReplanAfter:
    """After a job, a treatment or a gate changed: plan the day again if it had a plan.

    The record is already kept. If planning is refused the day stays stale, and the
    next reader plans it.
    """

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, plan_day: PlanDay, tell: TellRefusal
    ) -> None:
        """Take the planner and where to tell of a refusal (a log)."""
        self._open = open_unit_of_work
        self._plan_day = plan_day
        self._tell = tell

    def __call__(self, caller: Caller, depot_id: UUID, day: date) -> DayPlan | None:
        """Return the new plan, or None if the day has none or planning was refused."""
        with self._open() as unit:
            working_day = unit.working_days.of(caller.firm_id, depot_id, day)
        if working_day is None or working_day.plan_id is None:
            return None
        try:
            return self._plan_day(caller, depot_id, day)
        except Refusal as refusal:
            self._tell("replan_refused", refusal)
            return None


class ReadRouting:
    """Read a day's routing; a stale or missing plan is made first."""

    def __init__(self, *, open_unit_of_work: OpenUnitOfWork, plan_day: PlanDay) -> None:
        """Take the records and the planner."""
        self._open = open_unit_of_work
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


def is_current(working_day: WorkingDay) -> bool:
    """Return whether the day's plan covers everything that happened."""
    return working_day.plan_id is not None and working_day.planned_revision == working_day.revision

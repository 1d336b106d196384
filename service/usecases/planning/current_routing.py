"""Read a day's routing, planned again first if something happened since."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from service.core.access import Caller
from service.core.errors import RecordMissing, Refusal
from service.core.places import Depot
from service.core.plans import DayPlan
from service.core.records import Clock
from service.usecases.base.calendar import day_of, span_of
from service.usecases.base.ports import OpenUnitOfWork, UnitOfWork
from service.usecases.base.staleness import is_current
from service.usecases.day.facts import is_over_for
from service.usecases.day.told_routing import ToldDay
from service.usecases.planning.store_plan import PlanDay


class NotPlannedYet(Refusal):
    """Nobody has planned this day."""

    code = "not_planned_yet"
    sentence = "The day {day} has no plan, and nothing that can still be planned."


class ReadRouting:
    """Read a day's routing; a stale or missing plan is made first."""

    def __init__(self, *, open_reading: OpenUnitOfWork, clock: Clock, plan_day: PlanDay) -> None:
        """Take the records, the clock and the planner."""
        self._open = open_reading
        self._clock = clock
        self._plan_day = plan_day

    def __call__(self, caller: Caller, depot_id: UUID, day: date) -> DayPlan:
        """Return the newest plan of the day, made now if the day has changed since.

        What happened since is answered for those it concerns; everybody else's tips stay. That the
        hour has come for which a vehicle was announced to be out is such a thing, too.
        A day that is over is read as it was last planned: reading changes no history.

        Raises
        ------
        RecordMissing, NotPlannedYet, PlanOvertaken
        """
        with self._open() as unit:
            depot = unit.depots.get(caller.firm_id, depot_id)
            if depot is None:
                raise RecordMissing(record="depot", id=depot_id)
            over = day < day_of(depot, self._clock.now())
            working_day = unit.working_days.of(caller.firm_id, depot_id, day)
            if working_day is None:
                raise NotPlannedYet(day=day)
            if over or is_current(working_day):
                plan = unit.day_plans.latest(caller.firm_id, depot_id, day)
                if plan is not None and (over or not self._went_out(unit, depot, plan)):
                    return plan
            if over:
                raise NotPlannedYet(day=day)
        return self._plan_day(caller, depot_id, day, whole=False)

    def _went_out(self, unit: UnitOfWork, depot: Depot, plan: DayPlan) -> bool:
        """Return whether a vehicle stands by now that was to go on when the plan was made."""
        span, now = span_of(depot, plan.day), self._clock.now()
        out = {
            str(outage.vehicle_id)
            for outage in unit.vehicle_outages.all(depot.firm_id, day=plan.day)
            if outage.back_at is None
            and is_over_for(outage, depot, span, now)
            and not is_over_for(outage, depot, span, plan.planned_at)
        }
        return bool(out) and not out.isdisjoint(ToldDay.of(plan).vehicles)

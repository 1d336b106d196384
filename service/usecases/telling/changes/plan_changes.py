"""What a plan moved against the plan it superseded."""

from __future__ import annotations

from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.core.jobs import JobState
from service.core.plans import DayPlan
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.telling.changes.differences import lots_gone, lots_that_moved
from service.usecases.telling.changes.move_reasons import Reason
from service.usecases.telling.told.moved import ChangesTold, PlanCostsTold


class TellPlanChanges:
    """Answer "what moved since I looked?", lot by lot."""

    def __init__(self, *, open_reading: OpenUnitOfWork) -> None:
        """Take the way to the plans."""
        self._open = open_reading

    def __call__(
        self, caller: Caller, plan_id: UUID, *, since_id: UUID | None = None
    ) -> ChangesTold:
        """Return what a plan moved since another plan of the day, or since the one before it.

        Raises
        ------
        RecordMissing, PlanForgotten
            If the firm has no such plan, or the other is of another day.
        """
        with self._open() as unit:
            plan = unit.day_plans.get(caller.firm_id, plan_id)
            if plan is None:
                raise RecordMissing(record="day plan", id=plan_id)
            before_id = since_id or plan.supersedes_id
            before = unit.day_plans.get(caller.firm_id, before_id) if before_id else None
            elsewhere = _elsewhere(unit, before, plan) if before is not None else {}
        if since_id is not None and not _same_day(before, plan):
            raise RecordMissing(record="day plan", id=since_id)
        plan = plan.whole()
        if before is not None:
            # Nobody asked for the one before by its name: then nothing moved that is known.
            before = before.whole() if since_id is not None or before.routing else None
        return ChangesTold(
            plan_id=plan.id,
            since_id=before.id if before else None,
            moved=lots_that_moved(before.routing, plan.routing, elsewhere=elsewhere)
            if before
            else (),
            cost_cents=PlanCostsTold(
                before=before.cost_cents if before else None, after=plan.cost_cents
            ),
        )


def _elsewhere(unit: UnitOfWork, before: DayPlan, plan: DayPlan) -> dict[UUID, Reason]:
    """Return of the jobs that a plan has no more which vehicle of another yard has them."""
    ids = lots_gone(before.routing, plan.routing) if before.routing and plan.routing else []
    jobs = unit.jobs.get_many(plan.firm_id, ids)
    others = [job for job in jobs.values() if job.depot_id != plan.depot_id]
    yards = unit.depots.get_many(plan.firm_id, sorted({job.depot_id for job in others}))
    vehicles = unit.vehicles.get_many(plan.firm_id, sorted({job.vehicle_id for job in others}))
    found: dict[UUID, Reason] = {}
    for job in others:
        who = f"{vehicles[job.vehicle_id].registration} of {yards[job.depot_id].name}"
        at = f"{job.at.astimezone(ZoneInfo(yards[job.depot_id].time_zone)):%H:%M}"
        cut = f"{who} mowed it at {at}: its clippings are of that yard's day."
        is_mown = job.state is JobState.MOWN
        found[job.id] = ("other_yard", cut if is_mown else f"{who} has this job now.")
    return found


def _same_day(before: DayPlan | None, plan: DayPlan) -> bool:
    return before is not None and (before.depot_id, before.day) == (plan.depot_id, plan.day)

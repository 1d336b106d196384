"""Read a day's routing, planned again first if something happened since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from threading import BoundedSemaphore
from time import monotonic, sleep
from typing import Final, Protocol
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import Refusal
from service.core.places import Depot
from service.core.plans import DayPlan, WorkingDay
from service.core.records import Clock
from service.usecases.base.calendar import day_of, find_depot, span_of
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.staleness import is_current
from service.usecases.day.facts import is_over_for, lasts_the_day
from service.usecases.day.reading.read_day import read_day
from service.usecases.day.told_routing import PlanHolds
from service.usecases.planning.one_by_one import OneByOne

# Each who waits holds a thread of the server; the others must get on with theirs. Common practice.
MOST_WAITING: Final = 2
# How long whoever needs what was just said waits for its plan [s]: what an answer to one event
# takes, at the most. Then it hears that one is to come. Common practice, no source.
WAITS_S: Final = 4.0
LOOK_EVERY_S: Final = 0.1
# Of so many plans a process remembers how long they hold; each takes some kilobytes.
MOST_KNOWN: Final = 1000


class NotPlannedYet(Refusal):
    """Nobody has planned this day."""

    code = "not_planned_yet"
    sentence = "The day {day} has no plan, and nothing that can still be planned."


class BeingPlanned(Refusal):
    """The first plan of a day is being made behind."""

    code = "being_planned"
    sentence = "The first plan of {day} is being made; ask again."


class MakePlan(Protocol):
    """Has a day planned: at once by `PlanDay`, or behind by `AskPlanner`, who answers None."""

    def __call__(self, caller: Caller, depot_id: UUID, day: date, *, whole: bool) -> DayPlan | None:
        """Return the new plan, or None if another process makes it."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class NewestPlan:
    """A day's newest plan, and the revision the day is at; ``plan.revision`` is what it covers.

    ``being_planned`` says that another process is asked for one that covers more.
    """

    plan: DayPlan
    day_revision: int
    being_planned: bool = False


class ReadRouting:
    """Read a day's routing; a stale or missing plan is made, or asked for, first."""

    def __init__(self, *, open_reading: OpenUnitOfWork, clock: Clock, plan_day: MakePlan) -> None:
        """Take the records, the clock and the planner."""
        self._open = open_reading
        self._clock = clock
        self._plan_day = plan_day
        self._one_by_one = OneByOne()
        self._waiting = BoundedSemaphore(MOST_WAITING)
        self._known: dict[UUID | None, PlanHolds] = {}

    def __call__(
        self, caller: Caller, depot_id: UUID, day: date, *, wait_s: float = 0.0
    ) -> DayPlan:
        """Return the newest plan of the day, see ``read``."""
        return self.read(caller, depot_id, day, wait_s=wait_s).plan

    def read(self, caller: Caller, depot_id: UUID, day: date, *, wait_s: float = 0.0) -> NewestPlan:
        """Return the newest plan of the day, one that covers everything if that can be had.

        What happened since is answered for those it concerns; everybody else's tips stay. That the
        hour has come for which a vehicle was announced to be out is such a thing, too, or that at
        which something in a bay, or aboard, begins to turn or counts as sour.
        A day that is over is read as it was last planned: reading changes no history.
        Of several who read a changed day at once, one has it planned, and all get that plan.

        Parameters
        ----------
        wait_s
            How long to wait for a plan that is made by another process [s]; then the newest there
            is will do. Where plans are made at once nobody waits otherwise than for that.

        Raises
        ------
        RecordMissing, NotPlannedYet, BeingPlanned, PlanOvertaken
        """
        newest = self._kept(caller, depot_id, day)
        if newest is not None:
            return newest
        with self._one_by_one((caller.firm_id, depot_id, day)):
            newest = self._kept(caller, depot_id, day)
            if newest is None:
                plan = self._plan_day(caller, depot_id, day, whole=False)
                if plan is not None:
                    self._holds_of(plan)
                    return NewestPlan(plan=plan, day_revision=plan.revision)
        newest = newest or self._waited_for(caller, depot_id, day, wait_s)
        if newest is not None:
            return newest
        try:
            return self.newest(caller, depot_id, day)
        except NotPlannedYet:
            raise BeingPlanned(day=day) from None

    def newest(self, caller: Caller, depot_id: UUID, day: date) -> NewestPlan:
        """Return the newest plan as it is kept, whatever happened since; nothing is planned.

        Raises
        ------
        RecordMissing, NotPlannedYet
        """
        with self._open() as unit:
            _, working_day = self._day_of(unit, caller, depot_id, day)
            plan = unit.day_plans.latest(caller.firm_id, depot_id, day)
            turn = unit.planning_turns.of(caller.firm_id, depot_id, day)
        if plan is None or working_day is None:
            raise NotPlannedYet(day=day)
        return NewestPlan(
            plan=plan, day_revision=working_day.revision, being_planned=turn is not None
        )

    def _waited_for(
        self, caller: Caller, depot_id: UUID, day: date, wait_s: float
    ) -> NewestPlan | None:
        """Look for the plan of another process until the time is up; only so many may."""
        until = monotonic() + wait_s
        if monotonic() >= until or not self._waiting.acquire(blocking=False):
            return None
        try:
            found = None
            while found is None and monotonic() < until:
                sleep(LOOK_EVERY_S)
                found = self._kept(caller, depot_id, day)
            return found
        finally:
            self._waiting.release()

    def unchanged(self, caller: Caller, depot_id: UUID, day: date) -> WorkingDay | None:
        """Return the day, if its plan is the one that a reading would answer, without reading it.

        None if it has to be read, or made, before one can say.

        Raises
        ------
        RecordMissing, NotPlannedYet
        """
        with self._open() as unit:
            depot, working_day = self._day_of(unit, caller, depot_id, day)
            if working_day is None or self._is_over(depot, day):
                return working_day
            holds = self._known.get(working_day.plan_id)
            if holds is None or not is_current(working_day):
                return None
            return None if self._is_past(unit, depot, holds) else working_day

    def _kept(self, caller: Caller, depot_id: UUID, day: date) -> NewestPlan | None:
        """Return the plan that is kept, None if another is to be made."""
        with self._open() as unit:
            depot, working_day = self._day_of(unit, caller, depot_id, day)
            over = self._is_over(depot, day)
            if working_day is not None and (over or is_current(working_day)):
                plan = unit.day_plans.latest(caller.firm_id, depot_id, day)
                if plan is not None and (
                    over or not self._is_past(unit, depot, self._holds_of(plan))
                ):
                    return NewestPlan(plan=plan, day_revision=working_day.revision)
        if over:
            raise NotPlannedYet(day=day)
        return None

    def _day_of(
        self, unit: UnitOfWork, caller: Caller, depot_id: UUID, day: date
    ) -> tuple[Depot, WorkingDay | None]:
        """Return the depot and its day, None while only what is aboard since before is of it."""
        depot = find_depot(unit, caller.firm_id, depot_id)
        working_day = unit.working_days.of(caller.firm_id, depot_id, day)
        if working_day is None and (
            self._is_over(depot, day) or not self._has_grass(unit, depot, day)
        ):
            raise NotPlannedYet(day=day)
        return depot, working_day

    def _is_over(self, depot: Depot, day: date) -> bool:
        return day < day_of(depot, self._clock.now())

    def _has_grass(self, unit: UnitOfWork, depot: Depot, day: date) -> bool:
        """Return whether a day on which nobody works has clippings of days before aboard."""
        now = self._clock.now()
        facts = read_day(unit, firm_id=depot.firm_id, depot_id=depot.id, day=day, now=now)
        return bool(facts.jobs or facts.loaded)

    def _is_past(self, unit: UnitOfWork, depot: Depot, holds: PlanHolds) -> bool:
        """Return whether a plan holds no more, though nothing was said since it was made."""
        turned = holds.until is not None and holds.until <= self._clock.now()
        return turned or self._went_out(unit, depot, holds) or self._was_ahead(unit, depot, holds)

    def _was_ahead(self, unit: UnitOfWork, depot: Depot, holds: PlanHolds) -> bool:
        """Return whether the day has begun since, and clippings that were to be gone are aboard."""
        start = span_of(depot, holds.day).start
        return holds.planned_at < start <= self._clock.now() and bool(
            unit.jobs.aboard(depot.firm_id, depot.id, start)
        )

    def _went_out(self, unit: UnitOfWork, depot: Depot, holds: PlanHolds) -> bool:
        """Return whether a vehicle stands by now that was to go on when the plan was made."""
        span, now = span_of(depot, holds.day), self._clock.now()
        out = {
            str(outage.vehicle_id)
            for outage in unit.vehicle_outages.all(depot.firm_id, day=holds.day)
            if lasts_the_day(outage, depot, span, now)
            and is_over_for(outage, depot, span, now)
            and not is_over_for(outage, depot, span, holds.planned_at)
        }
        return not out.isdisjoint(holds.vehicles)

    def _holds_of(self, plan: DayPlan) -> PlanHolds:
        """Return how long a plan holds, and remember it: a plan never changes."""
        holds = PlanHolds.of(plan)
        if len(self._known) >= MOST_KNOWN:
            self._known.clear()
        self._known[plan.id] = holds
        return holds

"""Look at a depot's day as it was last planned: nothing is planned by being looked at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.callers.access import Caller
from service.core.crews import Crew, is_used_on
from service.core.places import Depot
from service.core.plans import DayPlan, WorkingDay
from service.usecases.base.calendar import day_of, find_depot
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.staleness import is_current
from service.usecases.base.use_cases import Looking
from service.usecases.records.visits import undecided_jobs


@dataclass(frozen=True, slots=True, kw_only=True)
class DayMark:
    """How far a day is, told without reading its plan: it changes when anything there changes.

    Cuts that may be on record twice are in no plan, and are counted beside it: ``undecided``.
    """

    revision: int
    planned_revision: int
    plan_id: UUID | None
    undecided: int

    @classmethod
    def of(cls, day: WorkingDay | None, *, undecided: int) -> DayMark:
        """Return the mark of a kept day; of one that nothing happened on, too."""
        return cls(
            revision=0 if day is None else day.revision,
            planned_revision=-1 if day is None else day.planned_revision,
            plan_id=None if day is None else day.plan_id,
            undecided=undecided,
        )

    @property
    def text(self) -> str:
        """The mark as one word, for an entity tag."""
        return f"{self.revision}-{self.planned_revision}-{self.plan_id or 'none'}-{self.undecided}"


@dataclass(frozen=True, slots=True, kw_only=True)
class DayLook:
    """A day as it was last planned, and what came since."""

    depot: Depot
    day: date
    today: date
    now: datetime
    plan: DayPlan | None
    crews: tuple[Crew, ...]
    mark: DayMark
    is_current: bool
    being_planned: bool

    @property
    def is_past(self) -> bool:
        """Whether the day is over: it is read as it was, and nothing of it is planned."""
        return self.day < self.today

    @property
    def unplanned_events(self) -> int:
        """How many records came that the plan does not know of."""
        return 0 if self.is_current else self.mark.revision - max(self.mark.planned_revision, 0)


class LookAtDay(Looking):
    """Read the newest kept plan of a day; the clock alone is asked what is past."""

    def __call__(self, caller: Caller, depot_id: UUID, day: date | None = None) -> DayLook:
        """Return the day as it was last planned; today's if none is named.

        Raises
        ------
        RecordMissing
        """
        with self.open_reading() as unit:
            return self.within(unit, caller, depot_id, day)

    def within(
        self, unit: UnitOfWork, caller: Caller, depot_id: UUID, day: date | None = None
    ) -> DayLook:
        """Return the day as one unit of work sees it. Raises RecordMissing."""
        depot = find_depot(unit, caller.firm_id, depot_id)
        now = self.clock.now()
        today = day_of(depot, now)
        looked_at = day or today
        working_day = unit.working_days.of(caller.firm_id, depot_id, looked_at)
        waiting = undecided_jobs(unit, caller.firm_id, depot_id)
        plan = unit.day_plans.latest(caller.firm_id, depot_id, looked_at)
        of_depot: list[Crew] = unit.crews.all(caller.firm_id, depot_id=depot_id)
        crews = tuple(one for one in of_depot if is_used_on(looked_at, one))
        current = working_day is not None and is_current(working_day)
        turn = None if current else unit.planning_turns.of(caller.firm_id, depot_id, looked_at)
        return DayLook(
            depot=depot,
            day=looked_at,
            today=today,
            now=now.astimezone(ZoneInfo(depot.time_zone)),
            plan=plan,
            crews=crews,
            mark=DayMark.of(working_day, undecided=len(waiting)),
            is_current=current,
            being_planned=turn is not None,
        )

    def now(self, zone: ZoneInfo) -> datetime:
        """Return what the clock of a place shows."""
        return self.clock.now().astimezone(zone)

    def mark_of_today(self, caller: Caller, depot_id: UUID) -> DayMark:
        """Return how far the day is that a depot is in. Raises RecordMissing."""
        with self.open_reading() as unit:
            today = day_of(find_depot(unit, caller.firm_id, depot_id), self.clock.now())
            return self._mark(unit, caller, depot_id, today)

    def mark(self, caller: Caller, depot_id: UUID, day: date) -> DayMark:
        """Return how far a day is: two statements, whatever the day holds."""
        with self.open_reading() as unit:
            return self._mark(unit, caller, depot_id, day)

    def _mark(self, unit: UnitOfWork, caller: Caller, depot_id: UUID, day: date) -> DayMark:
        working_day = unit.working_days.of(caller.firm_id, depot_id, day)
        waiting = undecided_jobs(unit, caller.firm_id, depot_id)
        return DayMark.of(working_day, undecided=len(waiting))

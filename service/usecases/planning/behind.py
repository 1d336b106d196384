"""Plan days behind, in a process of its own: asked for by readers, and by a sweep."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller, Role
from service.core.errors import Refusal
from service.core.plans import SAID_LASTS, WorkingDay
from service.core.records import NOBODY
from service.usecases.base.calendar import day_of, span_of
from service.usecases.base.idempotency import ANSWERS_LAST
from service.usecases.base.ports.planning_turns import PlanningTurn
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.staleness import is_current
from service.usecases.base.use_cases import Changing, Looking
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.planning.store_plan import PlanDay

# How long a day is left to whoever took it. One that was killed meanwhile costs so much, and no
# plan; one that takes longer is overtaken by another, and whoever stores second stores nothing.
LEASE: Final = timedelta(seconds=60)
# A day that nobody asked about has its first plan so long before the shift. Common practice, no
# source: a crew looks at its day over breakfast.
AHEAD_OF_SHIFT: Final = timedelta(hours=1)
# More than a large firm's day leaves; more would keep SQLite's other writers waiting.
DROPPED_AT_ONCE: Final = 500
# It plans for every firm and belongs to none; what it stores names no key.


@dataclass(frozen=True, kw_only=True, eq=False)
class AskPlanner(Looking):
    """Leave a day to the planner's process: the other way to have it planned is `PlanDay`."""

    open_unit_of_work: OpenUnitOfWork

    def __call__(self, caller: Caller, depot_id: UUID, day: date, *, whole: bool) -> None:  # noqa: ARG002 - as `PlanDay` is called
        """Say that a day is wanted, if nobody has."""
        turn = PlanningTurn(
            firm_id=caller.firm_id, depot_id=depot_id, day=day, asked_at=self.clock.now()
        )
        # A reader must not wait for writers only to say what somebody said before.
        with self.open_reading() as unit:
            if unit.planning_turns.of(turn.firm_id, depot_id, day) is not None:
                return
        with self.open_unit_of_work() as unit:
            unit.planning_turns.ask(turn)
            unit.commit()


@dataclass(frozen=True, kw_only=True, eq=False)
class PlanBehind(Changing):
    """Plan what is wanted, one day after the other; several of these share the work."""

    open_reading: OpenUnitOfWork
    plan_day: PlanDay

    def sweep(self) -> None:
        """Want every day that is stale, has a plan or soon needs one, and is not over."""
        with working_for(EveryFirm.PLANNER):
            self._want_stale()

    def _want_stale(self) -> None:
        now = self.clock.now()
        with self.open_reading() as unit:
            # Yesterday, because it is still today somewhere west of Greenwich.
            stale = unit.planning_turns.stale_days(now.date() - timedelta(days=1))
            wanted = [day for day in stale if self._is_due(unit, day)]
        if not wanted:
            return
        with self.open_unit_of_work() as unit:
            for day in wanted:
                unit.planning_turns.ask(
                    PlanningTurn(
                        firm_id=day.firm_id, depot_id=day.depot_id, day=day.day, asked_at=now
                    )
                )
            unit.commit()

    def tidy(self) -> None:
        """Drop what is kept for a time only, and whose time is over."""
        now = self.clock.now()
        with working_for(EveryFirm.TIDY):
            with self.open_unit_of_work() as unit:
                unit.answers.forget_before(now - ANSWERS_LAST)
                unit.commit()
            with self.open_reading() as unit:
                firms = unit.firms.all()
            # Firm by firm, some at once: whoever writes meanwhile waits for little.
            for firm in firms:
                with self.open_unit_of_work() as unit:
                    before = (now - SAID_LASTS).date()
                    unit.forgetting.superseded_loads(firm.id, before, most=DROPPED_AT_ONCE)
                    unit.forgetting.what_plans_said(firm.id, before, most=DROPPED_AT_ONCE)
                    unit.commit()

    def plan_next(self) -> bool:
        """Plan the nearest day that is wanted; False if there is none that is free."""
        holder = self.identifiers.next_id()
        with working_for(EveryFirm.PLANNER):
            turn = self._taken(holder)
        if turn is None:
            return False
        with working_for(turn.firm_id):
            self._plan(turn, holder)
        return True

    def _plan(self, turn: PlanningTurn, holder: UUID) -> None:
        again_at: datetime | None = None
        try:
            # A day that something always happens on must not keep others of its date waiting.
            again_at = self.clock.now() if self._planned(turn) else None
        finally:
            with self.open_unit_of_work() as unit:
                unit.planning_turns.give_back(turn, holder=holder, wanted_again_at=again_at)
                unit.commit()

    def _taken(self, holder: UUID) -> PlanningTurn | None:
        now = self.clock.now()
        with self.open_reading() as unit:
            turn = unit.planning_turns.free(now)
        if turn is None:
            return None
        with self.open_unit_of_work() as unit:
            if not unit.planning_turns.take(turn, holder=holder, until=now + LEASE):
                return None
            unit.commit()
        return turn

    def _planned(self, turn: PlanningTurn) -> bool:
        """Plan a day, and return whether something happened meanwhile."""
        with self.open_reading() as unit:
            depot = unit.depots.get(turn.firm_id, turn.depot_id)
        if depot is None or turn.day < day_of(depot, self.clock.now()):
            return False
        caller = Caller(firm_id=turn.firm_id, key_id=NOBODY, role=Role.DISPATCHER)
        try:
            self.plan_day(caller, turn.depot_id, turn.day, whole=False)
        except Refusal as refusal:
            # It must not keep other days waiting; the next sweep wants it again.
            logging.getLogger("service.usecases").warning("not planned behind: %s", refusal.code)
            return False
        with self.open_reading() as unit:
            kept = unit.working_days.of(turn.firm_id, turn.depot_id, turn.day)
        return kept is not None and not is_current(kept)

    def _is_due(self, unit: UnitOfWork, day: WorkingDay) -> bool:
        depot = unit.depots.get(day.firm_id, day.depot_id)
        now = self.clock.now()
        if depot is None or day.day < day_of(depot, now):
            return False
        starts = span_of(depot, day.day).at_clock(depot.shift_starts)
        return day.plan_id is not None or now >= starts - AHEAD_OF_SHIFT

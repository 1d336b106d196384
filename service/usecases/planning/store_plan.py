"""Plan a depot's day: what is done stays, everything else is routed again."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from time import perf_counter
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordExists, RecordsBusy, Refusal
from service.core.loads import HoldState, Load
from service.core.plans import DayPlan
from service.planning.model.stop_rule import StopRule
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, RenewNote, UnitOfWork
from service.usecases.base.staleness import is_current, touch_day, touch_days_from
from service.usecases.day.facts import DayFacts
from service.usecases.day.held.entries import hold_entry_of
from service.usecases.day.loads import LoadStamp, PlannedLoads, loads_of
from service.usecases.day.planned_day import PlannedDay
from service.usecases.day.reading.read_day import read_day
from service.usecases.planning.dependencies import DayPlanning
from service.usecases.planning.planner import UnstoredPlan
from service.usecases.telling.routing.day_routing import told_routing

TRIES = 3
OnPlan = Callable[[DayPlan, float], None]
"""Hears of each plan that is stored, and of the seconds it took."""


class PlanOvertaken(Refusal):
    """The day changed while it was planned, again and again."""

    code = "plan_overtaken"
    sentence = "The day changed {tries} times while it was planned; ask again."


@dataclass(frozen=True, kw_only=True, eq=False)
class PlanDay(DayPlanning):
    """Make and store the plan of a depot's day, read in a unit that keeps no writer waiting."""

    open_reading: OpenUnitOfWork
    renew_note: RenewNote
    on_plan: OnPlan | None = None

    def __call__(
        self,
        caller: Caller,
        depot_id: UUID,
        day: date,
        *,
        stop: StopRule | None = None,
        whole: bool = True,
    ) -> DayPlan:
        """Return the new plan of the day.

        No transaction is open while the planner works. If the day changed meanwhile,
        the plan is made again, a few times.

        Parameters
        ----------
        whole
            Search the whole day; without it, what happened since the last plan is answered for
            those it concerns, if such an answer will do.

        Raises
        ------
        RecordMissing, PlanOvertaken
        """
        began_s = perf_counter()
        for _ in range(TRIES):
            facts = self._read(caller, depot_id, day)
            made = self._make_day(facts, stop or self._stop, whole=whole)
            try:
                stored = self._store(caller, facts, made)
            except RecordsBusy:  # another depot's plan was being stored; it goes first
                continue
            if stored is not None and self.on_plan is not None:
                self.on_plan(stored, perf_counter() - began_s)
            rivals = stored or self._if_current(caller, depot_id, day)
            if rivals is not None:
                return rivals
        raise PlanOvertaken(tries=TRIES)

    def _if_current(self, caller: Caller, depot_id: UUID, day: date) -> DayPlan | None:
        """Return the plan a rival stored meanwhile, if it covers everything."""
        with self.open_reading() as unit:
            working_day = unit.working_days.of(caller.firm_id, depot_id, day)
            if working_day is None or not is_current(working_day):
                return None
            return unit.day_plans.latest(caller.firm_id, depot_id, day)

    def _read(self, caller: Caller, depot_id: UUID, day: date) -> DayFacts:
        facts = self._read_once(caller, depot_id, day)
        if facts.working_day is not None:
            return facts
        with self.open_unit_of_work() as unit:
            stamp = self.stamp(self.clock.now())
            touch_day(unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, stamp=stamp)
            unit.commit()
        return self._read_once(caller, depot_id, day)

    def _read_once(self, caller: Caller, depot_id: UUID, day: date) -> DayFacts:
        with self.open_reading() as unit:
            return read_day(
                unit, firm_id=caller.firm_id, depot_id=depot_id, day=day, now=self.clock.now()
            )

    def _store(self, caller: Caller, facts: DayFacts, made: UnstoredPlan) -> DayPlan | None:
        """Keep the plan, its loads and its hold entries; None if the day has moved on."""
        working_day = facts.working_day
        if working_day is None:
            msg = "the day was kept before it was planned"
            raise RuntimeError(msg)
        plan_id = self.identifiers.next_id()
        stamp = LoadStamp(plan_id=plan_id, firm_id=caller.firm_id, facts=facts)
        planned = loads_of(stamp, made.built, made.plan, made.asked, self.identifiers)
        day_plan = self._day_plan(stamp, made, planned.loads, revision=working_day.revision)
        with self.open_unit_of_work() as unit:
            try:
                unit.day_plans.add(day_plan)
            except RecordExists:  # a rival planned the same day just now
                return None
            if not unit.working_days.mark_planned(
                working_day, revision=working_day.revision, plan_id=plan_id
            ):
                return None
            if facts.previous is not None:
                unit.day_plans.fold(facts.previous, beside=day_plan)
            unit.loads.replace_many([*planned.amended, *planned.superseded])
            unit.loads.add_many(planned.fresh)
            self._store_hold(unit, facts, made, planned)
            self._renew_notes(unit, planned.amended)
            if planned.fresh or planned.superseded:
                self._tell_other_depots(unit, facts)
            unit.commit()
        return day_plan

    def _renew_notes(self, unit: UnitOfWork, amended: Sequence[Load]) -> None:
        """Issue the next versions of notes whose loads are planned otherwise now."""
        if not amended:
            return
        loads = {load.id: load for load in amended}
        notes = unit.delivery_notes.all(amended[0].firm_id, load_id=tuple(sorted(loads)))
        for load_id in dict.fromkeys(note.load_id for note in notes):
            self.renew_note(unit, loads[load_id])

    def _tell_other_depots(self, unit: UnitOfWork, facts: DayFacts) -> None:
        """Count an event where room of beds and sites moved: other depots, and later days."""
        firm_id, day = facts.depot.firm_id, facts.span.day
        touch_days_from(unit, firm_id=firm_id, day=day + timedelta(days=1))
        for other in unit.working_days.all(firm_id, day=day):
            if other.depot_id != facts.depot.id:
                unit.working_days.bump(firm_id, depot_id=other.depot_id, from_day=day, to_day=day)

    def _day_plan(
        self, stamp: LoadStamp, made: UnstoredPlan, loads: Sequence[Load], *, revision: int
    ) -> DayPlan:
        facts = stamp.facts
        day = PlannedDay(
            facts=facts,
            asked=made.asked,
            built=made.built,
            plan=made.plan,
            planned=loads,
            advice=made.advice,
            local=made.local,
            held_stays=made.held_stays,
        )
        return DayPlan(
            id=stamp.plan_id,
            firm_id=stamp.firm_id,
            version=1,
            created_at=facts.now,
            updated_at=facts.now,
            depot_id=facts.depot.id,
            day=facts.span.day,
            sequence=(facts.previous.sequence if facts.previous else 0) + 1,
            revision=revision,
            planned_at=facts.now,
            rulebook_version=self.rulebook.version,
            supersedes_id=facts.previous.id if facts.previous else None,
            cost_cents=made.plan.cost_cents.total,
            bound_cents=made.plan.bound_cents,
            bound_proven=made.plan.bound_proven,
            routing=told_routing(day, rulebook=self.rulebook),
            record_versions=facts.record_versions,
        )

    def _store_hold(
        self, unit: UnitOfWork, facts: DayFacts, made: UnstoredPlan, planned: PlannedLoads
    ) -> None:
        """Expect the new loads in the bay, the kept ones as they are now, the gone ones no more."""
        firm_id = facts.depot.firm_id
        now_expected = {
            load.id: hold_entry_of(
                load,
                facts=facts,
                rulebook=self.rulebook,
                asked=made.asked,
                identifiers=self.identifiers,
            )
            for load in planned.loads
            if is_hold(load.destination_kind)
        }
        touched = sorted(load.id for load in (*planned.superseded, *planned.amended))
        changed = []
        for entry in unit.hold_entries.all(
            firm_id, load_id=tuple(touched), state=HoldState.EXPECTED
        ):
            again = now_expected.pop(entry.load_id, None)
            after = (
                replace(entry, state=HoldState.SUPERSEDED)
                if again is None
                else replace(again, id=entry.id, created_at=entry.created_at)
            )
            changed.append(replace(after, version=entry.version + 1, updated_at=facts.now))
        unit.hold_entries.replace_many(changed)
        unit.hold_entries.add_many(list(now_expected.values()))

"""A planned day that is kept in memory, so that an event costs only what it concerns.

``LiveDay.of`` makes it once from a problem and a plan. ``at`` freezes what is done or under way;
``after`` answers an event. Both return another standing day and leave this one as it is.
"""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.room import (
    add_done,
    done_of,
    numbers_of,
    room_of,
    scarcity_of,
    with_capacity,
)
from service.planning.arrays.tables import Tables, Whole, tables_of, vehicle_reader
from service.planning.events.accounts import (
    carriers,
    passed,
    shut_out,
    told_before,
    uses_of,
    with_reasons,
)
from service.planning.events.affected import offer, plan_concerned
from service.planning.events.amendment import Event, amended_tables
from service.planning.events.differences import Change, differences
from service.planning.events.freezing import frozen_vehicle
from service.planning.events.repair import Local
from service.planning.explain.explanation import explained
from service.planning.model.problem import Problem
from service.planning.model.result import Plan, Work
from service.planning.outcome.assembly import NO_SCOPE, Bound, sum_up
from service.planning.outcome.stops import Written, write_vehicle
from service.planning.search.construction import Fleet, left_by, take
from service.planning.tip_plans.columns import Column
from service.planning.tip_plans.kept_tips import (
    Stops,
    columns_carried,
    stops_of,
    stops_of_vehicle,
    tips_ahead,
)
from service.planning.tip_plans.shortlists import CANDIDATES

NOTE = "planned locally after an event"
NAMED = "it was to be planned again"
LOST = "its tips are no longer possible"


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveDay:
    """A day with its plan, and what a planner needs to change a part of it.

    Attributes
    ----------
    plan
        The plan as it is now. Its bound is of the past only, until the next full solve.
    changes
        What the last event moved, and why.
    columns
        The tips still to come, by vehicle.
    left_kg
        What they leave at each destination; below nothing where it overflows.
    causes
        Why vehicles were planned again, by their numbers.
    """

    plan: Plan
    changes: tuple[Change, ...]
    fleet: Fleet
    columns: tuple[Column, ...]
    left_kg: Whole
    done_kg: Whole
    scarcity: Whole
    fresh: frozenset[int]
    kept: Mapping[str, Stops]
    written: tuple[Written, ...]
    causes: Mapping[int, str]

    @classmethod
    def of(
        cls,
        problem: Problem,
        plan: Plan,
        *,
        about: Iterable[str] = (),
        why: str = "",
        causes: Mapping[str, str] | None = None,
        offers: Mapping[str, Mapping[str, str]] | None = None,
    ) -> LiveDay:
        """Return the day standing; vehicles whose tips are not legal in it are planned again.

        Parameters
        ----------
        problem
            The day as it is now.
        plan
            A plan of it, or of the day before something happened to it.
        about
            Ids of further vehicles to plan again.
        why
            What happened, if something did; overfull destinations are then relieved too.
        causes
            Why further vehicles are planned again, by their ids; told as the cause.
        offers
            By vehicle ids, destinations that take more, and why: it stays unless it gains there.

        Raises
        ------
        LockNotPossible
            If a vehicle has no legal day with its locked tips.
        """
        started = time.perf_counter()
        kept, numbers = stops_of(plan), numbers_of(problem)
        tables, done_kg = tables_of(problem, kept), done_of(problem, numbers)
        columns, lost = columns_carried(tables, plan, numbers)
        told = dict.fromkeys(about, why or NAMED) | dict(causes or {})
        concerned = {
            number: told.get(vehicle.id, LOST)
            for number, vehicle in enumerate(problem.vehicles)
            if vehicle.id in told or number in lost
        }
        displaced = [n for n in concerned if problem.vehicles[n].id not in told]
        left_kg = left_by(tables, columns)
        local = Local(
            fleet=Fleet.of(tables, count=CANDIDATES),
            columns=columns,
            left_kg=left_kg,
            scarcity=scarcity_of(problem, plan.destinations),
            fresh=set(range(len(columns))),
            kept=kept,
            read=vehicle_reader(tables, kept),
        )
        before = np.zeros_like(left_kg) if why or concerned else left_kg.copy()
        plan_concerned(local, concerned, before_kg=before, why=why or LOST, displaced=displaced)
        rows = {vehicle.id: number for number, vehicle in enumerate(problem.vehicles)}
        for name, places in (offers or {}).items():
            offer(local, rows[name], {numbers[place]: said for place, said in places.items()})
        return _standing(local, done_kg, _written(local, plan), plan, started)

    @property
    def problem(self) -> Problem:
        """The day as it is now, with what is done or under way frozen."""
        return self.fleet.tables.problem

    def at(self, clock_s: int) -> LiveDay:
        """Return the day at a later time: what is done or under way by then is frozen.

        Parameters
        ----------
        clock_s
            Seconds from midnight of the working day.
        """
        started = time.perf_counter()
        local, written = self._opened(self.fleet.tables)
        tables, problem = self.fleet.tables, self.problem
        numbers = numbers_of(problem)
        done_kg, vehicles = self.done_kg.copy(), list(problem.vehicles)
        for number, vehicle in enumerate(problem.vehicles):
            old = written[number]
            frozen = frozen_vehicle(
                vehicle,
                old.plan,
                clock_s,
                left_kg={part.after_job: part.mass_kg for part in old.unplaced},
                jobs=tables.jobs,
                destinations=tables.named,
            )
            if len(frozen.done) == len(vehicle.done):
                continue
            vehicles[number] = frozen
            add_done(done_kg, frozen.done[len(vehicle.done) :], numbers)
            written[number] = passed(tables, old, frozen)
            tips = tips_ahead(frozen, old.plan, written[number].unplaced, numbers) or ()
            local.columns[number] = Column(vehicle=number, cost=0, tips=tips)
            local.fresh.discard(number)
        later = dataclasses.replace(problem, vehicles=tuple(vehicles))
        local.fleet.tables = with_capacity(dataclasses.replace(tables, problem=later), done_kg)
        return _standing(local, done_kg, written, self.plan, started)

    def after(self, event: Event) -> LiveDay:
        """Return the day after an event, planned again as far as it must be.

        Those the event is about are planned in the room that the others leave. Only if somebody is
        displaced (a destination overflows, material is left over, or a destination is closed to
        those who meant to go there), others are asked to make way, as far as that saves something.
        Tips that the plan did not have before the event cost ``change_cents_per_stop`` each.

        Raises
        ------
        LockNotPossible
            If a vehicle has no legal day with its locked tips; this day stays as it is.
        """
        started = time.perf_counter()
        done_kg = self.done_kg.copy()
        numbers = numbers_of(self.problem)
        known = {vehicle.id: vehicle for vehicle in self.problem.vehicles}
        for changed in event.vehicles:
            add_done(done_kg, changed.done, numbers)
            add_done(done_kg, known[changed.id].done, numbers, -1)
        tables = amended_tables(self.fleet.tables, event, done_kg)
        if event.vehicles:
            tables = with_capacity(tables, done_kg)
        local, written = self._opened(tables)
        local.fleet.tables = tables
        before = local.left_kg.copy()
        local.left_kg += self.done_kg - done_kg
        concerned = set(carriers(tables.problem, event))
        for place in event.destinations:
            number, old = numbers[place.id], self.fleet.tables.named[place.id]
            local.left_kg[number] += place.capacity_kg - old.capacity_kg
            concerned |= shut_out(self.columns, self.written, number, old=old, new=place)
            local.fresh.clear()
        for number in concerned:
            vehicle, answer = tables.problem.vehicles[number], written[number]
            tips = tips_ahead(vehicle, answer.plan, answer.unplaced, numbers)
            take(local.left_kg, local.columns[number], -1)
            local.columns[number] = Column(vehicle=number, cost=0, tips=tips or ())
            take(local.left_kg, local.columns[number])
            local.fresh.discard(number)
        plan_concerned(
            local,
            dict.fromkeys(sorted(concerned), event.why),
            before_kg=before,
            why=event.why,
            displaced=sorted(concerned) if len(concerned) > 1 else (),
        )
        for number, cause in local.causes.items():
            new = write_vehicle(local.fleet.tables, local.columns[number])
            written[number] = with_reasons(tables, new, local.left_kg, cause)
        return _standing(local, done_kg, written, self.plan, started)

    def explained(
        self,
        *,
        hints: bool = True,
        about: frozenset[str] | None = None,
        labels: int | None = None,
    ) -> Plan:
        """Return the plan with reason, runner-up and, if asked for, hints for every tip.

        Of the vehicles with the ids in ``about`` only, if given; ``labels`` limit the search for
        runners-up.
        """
        local, _ = self._opened(self.fleet.tables)
        for number in range(len(local.columns)):
            local.refresh(number, local.fleet.tables.destinations.capacity_kg)
        return explained(
            local.fleet.tables,
            local.fleet,
            local.columns,
            self.plan,
            hints=hints,
            about=about,
            labels=labels,
        )

    def _opened(self, tables: Tables) -> tuple[Local, list[Written]]:
        """Return a copy to work on, in which what moved last is no change any more."""
        kept, written = dict(self.kept), list(self.written)
        for number in self.causes:
            old = written[number]
            kept[old.plan.id] = stops_of_vehicle(old.plan)
            written[number] = dataclasses.replace(old, parts=old.parts | {"changes": 0})
        local = Local(
            fleet=Fleet(tables=self.fleet.tables, lists=list(self.fleet.lists)),
            columns=list(self.columns),
            left_kg=self.left_kg.copy(),
            scarcity=self.scarcity,
            fresh=set(self.fresh.difference(self.causes)),
            kept=kept,
            read=vehicle_reader(tables, kept),
        )
        return local, written


def _written(local: Local, before: Plan) -> list[Written]:
    """Return the vehicles' answers, as they were told before where nothing moved."""
    tables = local.fleet.tables
    answers = {answer.id: answer for answer in before.vehicles}
    written = [write_vehicle(tables, column) for column in local.columns]
    for number, vehicle in enumerate(tables.problem.vehicles):
        if number not in local.causes and vehicle.id in answers:
            written[number] = told_before(written[number], answers[vehicle.id].stops)
    return written


def _standing(
    local: Local, done_kg: Whole, written: list[Written], before: Plan, started: float
) -> LiveDay:
    """Close the work on a day: sum up, and say what moved."""
    tables = local.fleet.tables
    over_done = int(np.maximum(done_kg - room_of(tables.problem), 0).sum())
    plan = sum_up(
        tables,
        written,
        uses=uses_of(tables.problem, local.left_kg, before.destinations),
        over_kg=-int(np.minimum(local.left_kg, 0).sum()),
        bound=Bound(units=over_done * tables.overflow, proven=False, scope=NO_SCOPE, note=NOTE),
        work=Work(seed=0, columns=len(local.causes), nodes=local.nodes, ended_by="local"),
    )
    causes = {tables.problem.vehicles[n].id: cause for n, cause in local.causes.items()}
    return LiveDay(
        plan=plan.after(time.perf_counter() - started),
        changes=tuple(differences(before, plan, causes)),
        fleet=local.fleet,
        columns=tuple(local.columns),
        left_kg=local.left_kg,
        done_kg=done_kg,
        scarcity=local.scarcity,
        fresh=frozenset(local.fresh),
        kept=local.kept,
        written=tuple(written),
        causes=dict(local.causes),
    )

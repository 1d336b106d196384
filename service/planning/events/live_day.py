"""A planned day after something happened to it: who it concerns is planned again, nobody else."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.room import numbers_of, scarcity_of
from service.planning.arrays.tables import tables_of
from service.planning.events.affected import offer, plan_concerned
from service.planning.events.repair import Local, looking_best
from service.planning.explain.explanation import explained
from service.planning.model.problem import Problem
from service.planning.model.result import Plan, Work
from service.planning.outcome.assembly import NO_SCOPE, Bound, write_answer
from service.planning.search.construction import Fleet, left_by
from service.planning.tip_plans.columns import Column
from service.planning.tip_plans.kept_tips import columns_carried, stops_of
from service.planning.tip_plans.shortlists import CANDIDATES
from service.planning.tip_plans.whole_tips import emptied_at_once

NOTE = "planned locally after an event"
LOST = "its tips are no longer possible"


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveDay:
    """A day as it is now, with its plan.

    Attributes
    ----------
    plan
        The plan as it is now; nobody sought a bound of it.
    moved
        Ids of the vehicles that have other tips than before.
    columns
        The tips still to come, by vehicle.
    causes
        Why vehicles were planned again, by their numbers.
    """

    problem: Problem
    plan: Plan
    moved: frozenset[str]
    columns: tuple[Column, ...]
    causes: Mapping[int, str]

    @classmethod
    def of(
        cls,
        problem: Problem,
        plan: Plan,
        *,
        why: str = "",
        causes: Mapping[str, str] | None = None,
        offers: Mapping[str, Mapping[str, str]] | None = None,
    ) -> LiveDay:
        """Return the day standing; vehicles whose tips are not legal in it are planned again.

        Those are planned in the room that the others leave. Only if somebody is displaced (a
        destination overflows, material is left over, or tips are lost), others are asked to make
        way, as far as that saves something. Tips that the plan did not have cost
        ``change_cents_per_stop`` each.

        Parameters
        ----------
        problem
            The day as it is now.
        plan
            A plan of it, or of the day before something happened to it.
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
        tables, numbers, told = (
            tables_of(problem, stops_of(plan)),
            numbers_of(problem),
            causes or {},
        )
        columns, lost = columns_carried(tables, plan, numbers)
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
        )
        before = np.zeros_like(left_kg) if why or concerned else left_kg.copy()
        plan_concerned(local, concerned, before_kg=before, why=why or LOST, displaced=displaced)
        rows = {vehicle.id: number for number, vehicle in enumerate(problem.vehicles)}
        for name, places in (offers or {}).items():
            offer(local, rows[name], {numbers[place]: said for place, said in places.items()})
        for number in local.causes:  # whose way stands keeps what its crew was told
            local.columns[number] = emptied_at_once(tables, local.columns[number])
        answer = _told(local)
        return cls(
            problem=problem,
            plan=answer.after(time.perf_counter() - started),
            moved=frozenset(_moved(plan, answer)),
            columns=tuple(local.columns),
            causes=local.causes,
        )

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
        tables = tables_of(self.problem, stops_of(self.plan))  # what moved is no change any more
        room_kg = tables.destinations.capacity_kg
        fleet = Fleet(
            tables=tables, lists=[looking_best(tables, v, room_kg) for v in tables.vehicles]
        )
        columns = [fleet.column(column.vehicle, column.tips) for column in self.columns]
        return explained(tables, fleet, columns, self.plan, hints=hints, about=about, labels=labels)


def _told(local: Local) -> Plan:
    return write_answer(
        local.fleet.tables,
        local.columns,
        bound=Bound(units=0, proven=False, scope=NO_SCOPE, note=NOTE),
        prices=dict(enumerate(local.scarcity.tolist())),
        work=Work(seed=0, columns=len(local.causes), nodes=local.nodes, ended_by="local"),
    )


def _moved(before: Plan, after: Plan) -> set[str]:
    """Return the ids of the vehicles that have other tips than before."""
    old, new = _tipped(before), _tipped(after)
    return {key[0] for key in old.keys() | new.keys() if old[key] != new[key]}


def _tipped(plan: Plan) -> Counter[tuple[str, str | None, str]]:
    """Return the kilograms of each tip, by vehicle, job before and destination."""
    tipped: Counter[tuple[str, str | None, str]] = Counter()
    for answer in plan.vehicles:
        job = None
        for stop in answer.stops:
            if stop.job is not None:
                job = stop.job
            elif stop.destination is not None:
                tipped[answer.id, job, stop.destination] += stop.mass_kg
    return tipped

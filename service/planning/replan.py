"""Plan again after an event: only whom it concerns, and only as far as it must be."""

from __future__ import annotations

import random
import time
from dataclasses import dataclass

import numpy as np

from service.planning.answer import Bound, write_answer
from service.planning.check import check_plan
from service.planning.columns import Column, Tips, true_cost
from service.planning.explain import explained
from service.planning.greedy import Fleet, cost_of, improve, take
from service.planning.master import Master
from service.planning.neighbourhood import Search, sub_problem
from service.planning.problem import Problem
from service.planning.result import Plan, Work
from service.planning.shortlists import NOWHERE
from service.planning.solve import CANDIDATES, stops_of
from service.planning.tables import Tables, tables_of

NEIGHBOURS = 5
ROUNDS = 3


def replan(
    problem: Problem,
    previous: Plan,
    vehicles: list[str],
    *,
    seed: int = 0,
    explain: bool = True,
) -> Plan:
    """Return a plan in which these vehicles are planned again and the others stay, if they can.

    Vehicles whose old tips have become illegal or impossible are planned again too. If somebody is
    displaced (destinations overflow, or material is left unplaced), the vehicles that share
    destinations with those concerned are planned together with them.

    Parameters
    ----------
    problem
        The day after the event, with what is done or under way frozen, see ``frozen_at``.
    previous
        The plan before; tips it did not have cost ``change_cents_per_stop`` each.
    vehicles
        Ids of the vehicles the event is about.

    Returns
    -------
    Plan
        Without a bound of its own: ``bound_proven`` is false until the next full solve.
    """
    started = time.perf_counter()
    tables = tables_of(problem, stops_of(previous))
    fleet = Fleet.of(tables, count=CANDIDATES)
    numbers = {vehicle.id: number for number, vehicle in enumerate(problem.vehicles)}
    concerned = {numbers[name] for name in vehicles if name in numbers}
    old = _old_tips(problem, previous)
    for _ in range(ROUNDS):
        columns = _fit(fleet, old, concerned)
        draft = _written(tables, columns, seed, 0)
        broken = {
            int(fault.pointer.split("/")[2])
            for fault in check_plan(problem, draft, previous)
            if fault.pointer.startswith("/vehicles/")
        }
        if broken <= concerned:
            break
        concerned |= broken
    columns = improve(fleet, columns, rounds=1, who=sorted(concerned))
    nodes = 0
    if _displaces(tables, columns) and len(columns) > 1:
        columns, nodes = _with_neighbours(fleet, columns, concerned, seed)
    plan = _written(tables, columns, seed, nodes)
    if explain:
        plan = explained(tables, fleet, columns, plan)
    return plan.after(time.perf_counter() - started)


def _old_tips(problem: Problem, previous: Plan) -> list[Tips | None]:
    """Return the old plan's tips still to come, by vehicle; None where they no longer apply."""
    at = {d.id: number for number, d in enumerate(problem.destinations)}
    answers = {answer.id: answer for answer in previous.vehicles}
    left = {(u.vehicle, u.after_job): u.mass_kg for u in previous.unplaced}
    found: list[Tips | None] = []
    for vehicle in problem.vehicles:
        answer = answers.get(vehicle.id)
        done_jobs = [stop.job for stop in vehicle.done if stop.job is not None]
        if answer is None or [s.job for s in answer.stops if s.job] != list(vehicle.jobs):
            found.append(None)
            continue
        tips, gap = [], -len(done_jobs)
        for passed, stop in enumerate(answer.stops, start=1):
            if stop.job is not None:
                gap += 1
                if passed > len(vehicle.done) and (vehicle.id, stop.job) in left:
                    tips.append((gap, NOWHERE, left[vehicle.id, stop.job]))
            elif passed > len(vehicle.done):
                number = at.get(str(stop.destination))
                if number is not None:
                    tips.append((gap, number, stop.mass_kg))
        found.append(tuple(tips))
    return found


def _fit(fleet: Fleet, old: list[Tips | None], concerned: set[int]) -> list[Column]:
    """Keep the old tips of all but those concerned, and fit these into the room that is left."""
    tables = fleet.tables
    room = tables.destinations.capacity_kg.copy()
    columns: dict[int, Column] = {}
    for number, tips in enumerate(old):
        if tips is None:
            concerned.add(number)
        elif number not in concerned:
            cost = true_cost(tables, tables.vehicles[number], tips)
            columns[number] = Column(vehicle=number, cost=cost, tips=tips)
            take(room, columns[number])
    for number in sorted(concerned):
        columns[number] = fleet.fit(number, tables.destinations.fee, np.maximum(room, 0))
        take(room, columns[number])
    return [columns[number] for number in range(len(columns))]


def _displaces(tables: Tables, columns: list[Column]) -> bool:
    room = tables.destinations.capacity_kg.copy()
    for column in columns:
        take(room, column)
    unplaced = any(number == NOWHERE for column in columns for _, number, _ in column.tips)
    return bool((room < 0).any()) or unplaced


def _with_neighbours(
    fleet: Fleet, columns: list[Column], concerned: set[int], seed: int
) -> tuple[list[Column], int]:
    """Plan those concerned together with vehicles that use what they could use."""
    near = set().union(*(set(fleet.lists[number].touched.tolist()) for number in concerned))
    shared = [
        (-sum(1 for d in column.use() if d in near), number)
        for number, column in enumerate(columns)
        if number not in concerned
    ]
    chosen = sorted([*concerned, *(number for _, number in sorted(shared)[:NEIGHBOURS])])
    pool = Master(
        fleet.tables,
        room=fleet.tables.destinations.capacity_kg,
        vehicles=list(range(len(columns))),
    )
    for column in columns:
        pool.add(column)
    search = Search(
        fleet=fleet,
        pool=pool,
        prices=np.zeros(len(fleet.tables.destinations.fee), dtype=np.int64),
        chance=random.Random(seed),  # noqa: S311 - a repeatable choice, nothing secret
    )
    better, gained = sub_problem(search, columns, chosen)
    if gained and cost_of(fleet.tables, better) < cost_of(fleet.tables, columns):
        return better, 1
    return columns, 1


def _written(tables: Tables, columns: list[Column], seed: int, nodes: int) -> Plan:
    return write_answer(
        tables,
        columns,
        bound=Bound(units=0, proven=False, scope="none", note="planned locally after an event"),
        prices={},
        work=Work(seed=seed, columns=len(columns), nodes=nodes, ended_by="first"),
        seconds=0.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One tip that differs between two plans.

    ``kind`` is added, removed or amount; ``before_kg`` and ``after_kg`` are 0 where there is none.
    """

    vehicle: str
    after_job: str | None
    destination: str
    kind: str
    before_kg: int
    after_kg: int
    reason: str


def differences(before: Plan, after: Plan) -> list[Change]:
    """Return what moved between two plans of a day, and the new plan's reason for it."""
    old, new = _tips(before), _tips(after)
    found = []
    for key in [*old, *(key for key in new if key not in old)]:
        (was, _), (becomes, reason) = old.get(key, (0, "")), new.get(key, (0, ""))
        if was == becomes:
            continue
        kind = "added" if key not in old else "removed" if key not in new else "amount"
        if kind == "removed":
            instead = [
                f"{name} {kg} kg: {why}"
                for (vehicle, job, name), (kg, why) in new.items()
                if (vehicle, job) == key[:2] and (vehicle, job, name) not in old
            ]
            reason = "instead " + "; ".join(instead) if instead else "the load goes on"
        found.append(
            Change(
                vehicle=key[0],
                after_job=key[1],
                destination=key[2],
                kind=kind,
                before_kg=was,
                after_kg=becomes,
                reason=reason,
            )
        )
    return found


def _tips(plan: Plan) -> dict[tuple[str, str | None, str], tuple[int, str]]:
    """Return kilograms and reason of each tip, by vehicle, job before and destination."""
    tips: dict[tuple[str, str | None, str], tuple[int, str]] = {}
    for vehicle in plan.vehicles:
        job = None
        for stop in vehicle.stops:
            if stop.job is not None:
                job = stop.job
            elif stop.destination is not None:
                key = (vehicle.id, job, stop.destination)
                tips[key] = (tips.get(key, (0, ""))[0] + stop.mass_kg, stop.reason)
    return tips

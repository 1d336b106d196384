"""Propose an order of jobs to vehicles that have none, plan tips on it, and say the gain.

Own code on purpose. A general router sees ways and loads, not which lots may lie in one body: on
measured days, tips planned on such orders cost 30 to 45 % more than on the crews' own, and a router
that takes tips as stops found no legal day. So few orders are made on ways, and tips judge them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.planning.model.problem import Problem, Vehicle
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.orders.budget import OrderWork
from service.planning.orders.choice import Block, FoundOrder, Freedom, orders_found
from service.planning.outcome.figures import DayFigures, figures_of
from service.planning.solve import solve

TRIES = 3  # plans made until the orders taken together pay


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """The day on the crews' own orders beside the day on the orders proposed.

    Without any gain, ``problem`` and ``plan`` are the own ones and ``taken`` is empty.
    """

    own: Plan
    problem: Problem
    plan: Plan
    found: tuple[FoundOrder, ...]
    taken: tuple[FoundOrder, ...]
    own_figures: dict[str, DayFigures]
    figures: dict[str, DayFigures]
    work: OrderWork

    @property
    def gain_cents(self) -> int:
        """Return what the proposed orders save, planned the same way; 0 if none is proposed."""
        return self.own.cost_cents.total - self.plan.cost_cents.total


def propose(
    problem: Problem,
    freedoms: Sequence[Freedom],
    *,
    seed: int = 0,
    stop: StopRule | None = None,
    previous: Plan | None = None,
    explain: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Proposal:
    """Return the day planned on proposed orders, beside the day on the crews' own.

    Parameters
    ----------
    problem
        The day, with the crews' own orders.
    freedoms
        The vehicles to find orders for, see ``free_vehicle``; all others keep theirs.
    seed, stop, previous, explain, progress
        As for ``solve``; both days are planned with them. The seconds of ``stop`` are a guard
        of the search for orders, too, which is otherwise only counted.

    Raises
    ------
    LockNotPossible
        If a vehicle has no legal day with its locked tips in its own order.
    """

    def planned(day: Problem) -> Plan:
        return solve(
            day, seed=seed, stop=stop, previous=previous, explain=explain, progress=progress
        )

    own = planned(problem)
    work = OrderWork.of(len(freedoms), seconds=None if stop is None else stop.seconds)
    found = orders_found(problem, own, freedoms, previous=previous, progress=progress, work=work)
    own_figures = figures_of(problem, own, previous)
    proposed = Proposal(
        own=own,
        problem=problem,
        plan=own,
        found=found,
        taken=(),
        own_figures=own_figures,
        figures=own_figures,
        work=work,
    )
    taken = tuple(order for order in found if not order.reason)
    for _ in range(TRIES):
        if not taken:
            break
        ordered = with_orders(problem, taken)
        plan = planned(ordered)
        figures = figures_of(ordered, plan, previous)
        if plan.cost_cents.total < own.cost_cents.total:
            return dataclasses.replace(
                proposed, problem=ordered, plan=plan, taken=taken, figures=figures
            )
        taken = without_the_dearer(taken, own_figures, figures)
    return proposed


def free_vehicle(vehicle: Vehicle) -> Freedom:
    """Return the freedom to drive all jobs that are not done in any order."""
    done = sum(1 for stop in vehicle.done if stop.job is not None)
    return Freedom(
        vehicle=vehicle.id, blocks=tuple(Block(jobs=(name,)) for name in vehicle.jobs[done:])
    )


def with_orders(problem: Problem, orders: Sequence[FoundOrder]) -> Problem:
    """Return the problem with these vehicles' jobs in the orders found."""
    lists = {order.vehicle: order.jobs for order in orders}
    return dataclasses.replace(
        problem,
        vehicles=tuple(
            dataclasses.replace(vehicle, jobs=lists.get(vehicle.id, vehicle.jobs))
            for vehicle in problem.vehicles
        ),
    )


def without_the_dearer(
    taken: Sequence[FoundOrder], own: dict[str, DayFigures], new: dict[str, DayFigures]
) -> tuple[FoundOrder, ...]:
    """Return the orders whose vehicles got cheaper; if all did, all but the one of least gain."""
    kept = tuple(o for o in taken if new[o.vehicle].cost_cents < own[o.vehicle].cost_cents)
    if len(kept) < len(taken):
        return kept
    least = min(taken, key=lambda order: (order.gain_cents, order.vehicle))
    return tuple(order for order in taken if order is not least)

"""Plan a day: problem in, plan out. Same problem, options and seed: same plan."""

from __future__ import annotations

import time
from dataclasses import dataclass

from service.planning.answer import Bound, write_answer
from service.planning.greedy import Fleet, greedy, improve
from service.planning.problem import Problem
from service.planning.result import Plan, Work
from service.planning.tables import tables_of

CANDIDATES = 16  # destinations looked at in a gap of the first plan


@dataclass(frozen=True, slots=True, kw_only=True)
class StopRule:
    """When to stop looking for a better plan.

    Attributes
    ----------
    gap_permille
        Stop when the proven gap is at most this.
    rounds
        Rounds of sub-problems; the limit that does not depend on the machine.
    seconds
        A guard by the clock; None for none. A plan cut by it says so in ``work.ended_by``.
    first
        Only the first plan, without a bound.
    """

    gap_permille: float = 3.0
    rounds: int = 400
    seconds: float | None = None
    first: bool = False


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    stop: StopRule | None = None,
    previous: Plan | None = None,
) -> Plan:
    """Return a legal plan of the day.

    Parameters
    ----------
    problem
        The day.
    seed
        Chooses between equally promising sub-problems.
    stop
        When to stop.
    previous
        The plan before; tips it did not have cost ``change_cents_per_stop`` each.

    Raises
    ------
    LockNotPossible
        If a vehicle has no legal day with its locked tips.
    """
    started = time.perf_counter()
    stop = stop or StopRule()
    tables = tables_of(problem, None if previous is None else stops_of(previous))
    fleet = Fleet.of(tables, count=CANDIDATES)
    plan = improve(fleet, greedy(fleet, tables.destinations.fee), rounds=2)
    return write_answer(
        tables,
        plan,
        bound=Bound(units=0, proven=False, scope="none"),
        prices={},
        work=Work(seed=seed, columns=len(plan), ended_by="first"),
        seconds=time.perf_counter() - started,
    )


def stops_of(plan: Plan) -> dict[str, set[tuple[str | None, str]]]:
    """Return the tips of a plan: by vehicle, pairs of the job before (None: start) and destination."""
    stops: dict[str, set[tuple[str | None, str]]] = {}
    for vehicle in plan.vehicles:
        after = None
        for stop in vehicle.stops:
            if stop.job is not None:
                after = stop.job
            elif stop.destination is not None:
                stops.setdefault(vehicle.id, set()).add((after, stop.destination))
    return stops



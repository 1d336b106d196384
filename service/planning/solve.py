"""Plan a day: problem in, plan out. Same problem, options and seed: same plan."""

from __future__ import annotations

import time
from collections.abc import Callable

from service.planning.arrays.metric_closure import ground_of
from service.planning.arrays.tables import tables_of
from service.planning.explain.explanation import explained
from service.planning.model.problem import Problem
from service.planning.model.result import Plan, Work
from service.planning.model.stop_rule import StopRule
from service.planning.outcome.assembly import NO_SCOPE, Bound, bare_day, write_answer
from service.planning.search.construction import AGAIN, Fleet, greedy, improve
from service.planning.search.progress import Run
from service.planning.search.whole_search import candidates, search
from service.planning.tip_plans.kept_tips import stops_of

NOT_SOUGHT = "no bound was sought: bound_cents is what the job lists cost without any tip"


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    stop: StopRule | None = None,
    previous: Plan | None = None,
    explain: bool = True,
    progress: Callable[[str], None] | None = None,
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
    explain
        Give reasons and the runner-up of every tip; takes about as long as a first plan.
    progress
        Called with a line now and then.

    Raises
    ------
    LockNotPossible
        If a vehicle has no legal day with its locked tips.
    """
    started = time.perf_counter()
    tables = tables_of(problem, None if previous is None else stops_of(previous))
    run = Run(
        tables=tables,
        fleet=Fleet(tables=tables, lists=[]),
        stop=stop or StopRule(),
        seed=seed,
        started=started,
        say=progress or (lambda _: None),
        bare=sum(bare_day(tables, vehicle) for vehicle in problem.vehicles),
    )
    first = greedy(run.fleet, tables.destinations.fee)
    run.plan = improve(run.fleet, first, rounds=1, times=AGAIN)
    run.report("first plan")
    ended = "first"
    ground = ground_of(tables)
    if explain or not run.stop.first:  # a first plan looks at other destinations
        run.fleet = Fleet.of(tables, count=candidates(tables))
    if not run.stop.first and problem.vehicles:
        ended = search(run, ground)
    scope = (
        f"given job order, at most {problem.costs.tips_between_jobs} tips between jobs, "
        "all destinations"
    )
    found = run.bound is not None
    plan = write_answer(
        tables,
        run.plan,
        bound=Bound(
            units=run.bound or 0,
            proven=found and ground.proven,
            scope=scope if found else NO_SCOPE,
            note=ground.note if found else NOT_SOUGHT,
        ),
        prices={}
        if run.prices is None
        else {number: int(price) for number, price in enumerate(run.prices) if price},
        work=Work(
            seed=seed,
            iterations=run.iterations,
            columns=run.columns,
            nodes=run.nodes,
            ended_by=ended,
        ),
    )
    if explain:
        plan = explained(tables, run.fleet, run.plan, plan)
    return plan.after(time.perf_counter() - started)

"""Plan a day: problem in, plan out. Same problem, options and seed: same plan."""

from __future__ import annotations

import dataclasses
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
from service.planning.search.leaving import all_placed, as_last_resort, scope_of, stranded
from service.planning.search.progress import Run
from service.planning.tip_plans.kept_tips import stops_of
from service.planning.tip_plans.shortlists import candidates
from service.planning.tip_plans.whole_tips import emptied_at_once

STRANDED_NOTE = (
    "some material is left for want of room; the bound is of plans that place everything"
)
NOT_SOUGHT = "no bound was sought: bound_cents is what the job lists cost without any tip"


def solve(
    problem: Problem,
    *,
    seed: int = 0,
    stop: StopRule | None = None,
    previous: Plan | None = None,
    explain: bool = True,
    hints: bool = True,
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
    hints
        Say with them what would change the answer; takes three times as long again.
    progress
        Called with a line now and then.

    Raises
    ------
    LockNotPossible
        If a vehicle has no legal day with its locked tips.
    """
    started = time.perf_counter()
    read = tables_of(problem, None if previous is None else stops_of(previous))
    tables = as_last_resort(read)
    run = Run(
        tables=tables,
        fleet=Fleet(tables=tables, lists=[]),
        stop=stop or StopRule(),
        seed=seed,
        started=started,
        say=progress or (lambda _: None),
        bare=sum(bare_day(tables, vehicle) for vehicle in problem.vehicles),
    )
    run.tell_limits()
    first = greedy(run.fleet, tables.destinations.fee)
    first = improve(run.fleet, first, rounds=1, times=AGAIN)
    fleet, run.plan, apart = all_placed(run.fleet, first)
    run.tables = tables = fleet.tables
    run.fleet = fleet
    run.report("first plan")
    ended = "first"
    proven, note = False, NOT_SOUGHT
    if explain or not run.stop.first:  # a first plan looks at other destinations
        run.fleet = Fleet.of(tables, count=candidates(tables))
    if not run.stop.first and problem.vehicles:
        # A first plan needs no solver's library, and is made where nothing is to be waited for.
        from service.planning.search.whole_search import search  # noqa: PLC0415 - see above

        ground = ground_of(tables)
        if not ground.closed:
            run.tables = tables = ground.tables
            run.fleet = Fleet(tables=tables, lists=run.fleet.lists)
        ended = search(run, ground, apart)
        if run.bound is not None:
            left = stranded(run.tables, run.plan)
            proven, note = ground.proven and not left, STRANDED_NOTE if left else ground.note
    run.plan = [emptied_at_once(tables, column) for column in run.plan]
    found = run.bound is not None
    plan = write_answer(
        tables,
        run.plan,
        bound=Bound(
            units=run.bound or 0,
            proven=proven,
            scope=scope_of(tables) if found else NO_SCOPE,
            note=note,
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
        plain = dataclasses.replace(tables, last_resort=0)
        fleet = Fleet(tables=plain, lists=run.fleet.lists)
        columns = [fleet.column(column.vehicle, column.tips) for column in run.plan]
        plan = explained(plain, fleet, columns, plan, hints=hints, labels=run.stop.explain_labels)
    return plan.after(time.perf_counter() - started)

"""Print how good and how quick the planner is, beside simpler ways and any other planner.

    python -m tests.bench.planning.compare S M L X --seeds 1 2 3 [--figure growth.svg]
        [--beside 'NAME=COMMAND with {problem} {plan} {seconds} in it']

Each day is planned by the plain rule, by the planner's first pass alone, by the whole search, and
by every command given with ``--beside``: that reads the problem file and writes a plan file, both
as the planner's schemas say; ``{seconds}`` is what the size is given. Cost is of disposal, beyond
the job lists with no tips, in whole units of the currency. Whoever planned, the plan's stops are
replayed by the independent checker; a cost that is only stated is said to be. The gap in permille
is (cost - bound) / cost with the planner's certified bound for all ways of a day.

With ``--crew`` (60 cents a minute, unless told otherwise; 0: none) each day is shown once more with
the crews' time on the way, at tips and waiting in every cost: by the plain rule, by the search
that was told no price of it, and by the search that was.

Seconds are of the processor (the machine may be busy) and, in brackets, by the clock; another
planner's are of its whole process, start and reading the file included.
"""

from __future__ import annotations

import argparse
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from service.planning.arrays.tables import tables_of
from service.planning.checker.check import check_plan
from service.planning.model.problem import Problem
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.outcome.assembly import bare_day, cents
from service.planning.solve import solve
from service.planning.warm import warm
from tests.bench.planning.beside import Other, beside, columns_of
from tests.bench.planning.days import SIZES, day
from tests.bench.planning.growth import exponent, figure
from tests.bench.planning.naive import naive
from tests.bench.planning.table import HEADER, Group, Row, judged, told

GOAL_PERMILLE = {"S": 3.0, "M": 3.0, "L": 7.0, "X": 15.0}  # the search ends there
GUARD_S = {"S": 5.0, "M": 5.0, "L": 45.0, "X": 150.0}
GOALS = {
    "S": "gap <= 3, < 0.2 s",
    "M": "gap <= 3 in 5 s, first < 0.1 s",
    "L": "gap <= 7 in 45 s, first < 0.5 s",
    "X": "gap <= 15 in 150 s, first < 3 s",
}
PLAIN, FIRST, WHOLE = "plain rule", "first plan", "whole search"
UNPAID, PAID = "told no pay", "told pay"
CREW_CENTS = 60  # two workers by rule ``crew_minute_cents`` of the service, in dollars


def timed(work: Callable[[], Any]) -> tuple[Any, float, float]:
    """Return the result, processor seconds and clock seconds."""
    processor, clock = time.process_time(), time.perf_counter()
    result = work()
    return result, time.process_time() - processor, time.perf_counter() - clock


def measure(size: str, seed: int, guard_s: float, others: list[Other]) -> Group:
    """Plan one day in all ways."""
    document = day(size, seed)
    problem = Problem.from_json(document)
    tables = tables_of(problem)
    bare = cents(sum(bare_day(tables, vehicle) for vehicle in problem.vehicles))
    columns, *plain_s = timed(lambda: naive(tables))
    plain, faults = judged(tables, columns)
    rows = [
        Row(
            way=PLAIN,
            cost_cents=plain.disposal_cents,
            processor_s=plain_s[0],
            clock_s=plain_s[1],
            known=told(faults),
            legal=not faults,
        )
    ]
    stop = StopRule(gap_permille=GOAL_PERMILLE[size], rounds=100_000, seconds=guard_s)
    for way, rule in ((FIRST, StopRule(first=True)), (WHOLE, stop)):
        plan, *took = timed(lambda rule=rule: solve(problem, stop=rule, explain=False))
        rows.append(_own_row(way, problem, plan, bare, took))
    rows += [beside(other, document, tables, bare_cents=bare, seconds=guard_s) for other in others]
    return Group(
        day=f"{size}-{seed}",
        jobs=len(problem.jobs),
        bound_cents=rows[2].bound_cents or 0,
        rows=tuple(rows),
    )


def measure_paid(size: str, seed: int, guard_s: float, crew_cents: int) -> Group:
    """Plan one day without and with a price of the crews' time; all costs have it in them."""
    document = day(size, seed)
    unpaid = Problem.from_json(document)
    document["costs"]["crew_cents_per_min"] = crew_cents
    problem = Problem.from_json(document)
    tables = tables_of(problem)
    bare = cents(sum(bare_day(tables, vehicle) for vehicle in problem.vehicles))
    stop = StopRule(gap_permille=GOAL_PERMILLE[size], rounds=100_000, seconds=guard_s)
    rows = []
    for way, columns in (
        (PLAIN, lambda: naive(tables)),
        (UNPAID, lambda: columns_of(solve(unpaid, stop=stop, explain=False).to_json(), tables)),
    ):
        found, *took = timed(columns)
        plan, faults = judged(tables, found)
        rows.append(
            Row(
                way=way,
                cost_cents=plan.disposal_cents,
                processor_s=took[0],
                clock_s=took[1],
                known=f"{told(faults)}; {_tips(plan)}",
                legal=not faults,
            )
        )
    plan, *took = timed(lambda: solve(problem, stop=stop, explain=False))
    paid = _own_row(WHOLE, problem, plan, bare, took)
    rows.append(replace(paid, way=PAID, known=f"{paid.known}; {_tips(plan)}"))
    return Group(
        day="paid",
        jobs=len(problem.jobs),
        bound_cents=rows[-1].bound_cents or 0,
        rows=tuple(rows),
    )


def _tips(plan: Plan) -> str:
    stops = sum(stop.destination is not None for v in plan.vehicles for stop in v.stops)
    return f"{stops} tips, crews' time {plan.cost_cents.crew / 100:.0f}"


def _own_row(way: str, problem: Problem, plan: Plan, bare: int, took: list[float]) -> Row:
    faults = check_plan(problem, plan)
    if faults:
        sys.exit(f"{problem.name}: {faults[0]}")
    whole = way == WHOLE
    ended = f"; ended by {plan.work.ended_by}, {plan.status}"
    return Row(
        way=way,
        cost_cents=plan.disposal_cents,
        bound_cents=plan.bound_cents - bare if whole else None,
        processor_s=took[0],
        clock_s=took[1],
        megabytes=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024 if whole else None,
        known=told(faults) + (ended if whole else ""),
        legal=True,
        cut=plan.work.ended_by == "clock",
    )


def main() -> None:
    """Measure the days asked for, each in a process of its own, so that memory is its own."""
    options = _parser().parse_args()
    if options.one:
        size, seed, *paid = options.one.split("-")
        warm()
        guard_s = options.seconds or GUARD_S[size]
        if paid:
            print(measure_paid(size, int(seed), guard_s, int(paid[0])).to_text())
            return
        print(measure(size, int(seed), guard_s, options.beside).to_text())
        return
    print(HEADER)
    groups = []
    for size in options.sizes:
        for seed in options.seeds:
            groups.append(_apart(f"{size}-{seed}"))
            print(*groups[-1].lines(), sep="\n", flush=True)
            if options.crew:
                lines = _apart(f"{size}-{seed}-{options.crew}").lines()
                print(*lines, sep="\n", flush=True)
        print(f"      goal for {size}: {GOALS[size]}")
    points = {}
    for way in (FIRST, WHOLE):
        rows = [group.row(way) for group in groups]
        cut = sum(row.cut for row in rows)
        words = f"{way}, {cut} of {len(rows)} cut by the clock" if cut else way
        points[words] = [
            (group.jobs, row.processor_s) for group, row in zip(groups, rows, strict=True)
        ]
        power = exponent(points[words])
        if power is not None:
            print(f"growth of the {words}: jobs to the power {power:.2f}")
    if options.figure:
        options.figure.write_text(figure(points), encoding="utf-8")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("sizes", nargs="*", default=["S", "M"], help=", ".join(SIZES))
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    parser.add_argument("--seconds", type=float, help="guard by the clock, for all sizes")
    parser.add_argument("--figure", type=Path, help="draw seconds over jobs here, as SVG")
    parser.add_argument(
        "--beside",
        metavar="NAME=COMMAND",
        type=_other,
        action="append",
        default=[],
        help="another planner; may be given several times",
    )
    parser.add_argument("--crew", type=int, default=CREW_CENTS, help="cents for a crew's minute")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    return parser


def _other(text: str) -> Other:
    try:
        return Other.of(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def _apart(one: str) -> Group:
    """Measure one day in a process of its own, with the same options."""
    command = [sys.executable, "-m", "tests.bench.planning.compare", *sys.argv[1:], "--one", one]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
    return Group.from_text(done.stdout.strip().splitlines()[-1])


if __name__ == "__main__":
    main()

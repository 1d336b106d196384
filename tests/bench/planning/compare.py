"""Print how good and how quick the planner is, beside the plain rule and its own first plan.

    python -m tests.bench.planning.compare S M L X --seeds 1 2 3 [--figure growth.svg]

Seconds are of this process's processor (the machine may be busy) and, in brackets, by the clock.
Every plan is judged by the independent checker. Gap = (cost - certified bound) / disposal cost.
"""

from __future__ import annotations

import argparse
import math
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from service.planning.answer import bare_day, cents
from service.planning.check import check_plan
from service.planning.greedy import cost_of
from service.planning.problem import Problem
from service.planning.result import Plan
from service.planning.solve import solve
from service.planning.stop_rule import StopRule
from service.planning.tables import tables_of
from service.planning.warm import warm
from tests.bench.planning.days import SIZES, day
from tests.bench.planning.naive import naive

GOAL_PERMILLE = {"S": 3.0, "M": 3.0, "L": 7.0, "X": 15.0}  # the search ends there
GUARD_S = {"S": 5.0, "M": 5.0, "L": 45.0, "X": 150.0}
GOALS = {
    "S": "gap <= 3, < 0.2 s",
    "M": "gap <= 3 in 5 s, first < 0.1 s",
    "L": "gap <= 7 in 45 s, first < 0.5 s",
    "X": "gap <= 15 in 150 s, first < 3 s",
}


def timed(work: Callable[[], Any]) -> tuple[Any, float, float]:
    """Return the result, processor seconds and clock seconds."""
    processor, clock = time.process_time(), time.perf_counter()
    result = work()
    return result, time.process_time() - processor, time.perf_counter() - clock


def measure(size: str, seed: int, guard_s: float) -> dict[str, Any]:
    """Plan one day in all three ways."""
    problem = Problem.from_json(day(size, seed))
    tables = tables_of(problem)
    bare = cents(sum(bare_day(tables, vehicle) for vehicle in problem.vehicles))
    plain, plain_s, _ = timed(lambda: naive(tables))
    first, first_s, first_clock = timed(
        lambda: solve(problem, stop=StopRule(first=True), explain=False)
    )
    stop = StopRule(gap_permille=GOAL_PERMILLE[size], rounds=100_000, seconds=guard_s)
    best, best_s, best_clock = timed(lambda: solve(problem, stop=stop, explain=False))
    for plan in (first, best):
        faults = check_plan(problem, plan)
        if faults:
            sys.exit(f"{size}-{seed}: {faults[0]}")
    return {
        "day": f"{size}-{seed}",
        "jobs": len(problem.jobs),
        "bare": bare,
        "naive": cents(cost_of(tables, plain)) - bare,
        "naive_s": plain_s,
        "first": first.disposal_cents,
        "first_s": first_s,
        "first_clock": first_clock,
        "best": best,
        "best_s": best_s,
        "best_clock": best_clock,
        "mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
    }


def row(found: dict[str, Any]) -> str:
    """Return one line of the table; money in whole units of the currency."""
    plan: Plan = found["best"]
    bound = plan.bound_cents - found["bare"]
    return (
        f"{found['day']:5} {found['naive'] / 100:9.0f} {found['first'] / 100:9.0f} "
        f"{plan.disposal_cents / 100:9.0f} {bound / 100:9.0f} {plan.gap_permille:7.2f} "
        f"{found['first_s']:7.2f} ({found['first_clock']:6.2f}) "
        f"{found['best_s']:7.1f} ({found['best_clock']:6.1f}) {found['mb']:6.0f} "
        f"{plan.work.ended_by:8} {plan.status}"
    )


def exponent(points: list[tuple[int, float]]) -> float:
    """Return the slope of seconds over jobs, both as logarithms, by least squares."""
    logs = [(math.log(jobs), math.log(max(seconds, 1e-4))) for jobs, seconds in points]
    mean_x = sum(x for x, _ in logs) / len(logs)
    mean_y = sum(y for _, y in logs) / len(logs)
    over = sum((x - mean_x) * (y - mean_y) for x, y in logs)
    return over / sum((x - mean_x) ** 2 for x, _ in logs)


def figure(points: dict[str, list[tuple[int, float]]]) -> str:
    """Return a drawing of seconds over jobs, both on logarithmic axes, as SVG."""
    colours = {"first plan": "#2a7", "whole search": "#237"}
    head = 'xmlns="http://www.w3.org/2000/svg" viewBox="0 0 420 300"'
    lines = [
        f'<svg {head} font-family="sans-serif" font-size="11">',
        '<rect width="420" height="300" fill="white"/>',
    ]

    def at(jobs: float, seconds: float) -> tuple[float, float]:
        x = 50 + 340 * (math.log10(jobs) - 1) / 3
        return x, 260 - 230 * (math.log10(max(seconds, 1e-3)) + 3) / 6

    for power in range(-3, 4):
        _, y = at(10, 10.0**power)
        lines.append(f'<line x1="50" x2="390" y1="{y:.0f}" y2="{y:.0f}" stroke="#ddd"/>')
        lines.append(f'<text x="6" y="{y + 4:.0f}">{10.0**power:g} s</text>')
    for jobs in (20, 200, 1000, 5000):
        x, _ = at(jobs, 1)
        lines.append(f'<text x="{x - 10:.0f}" y="278">{jobs}</text>')
    for number, (name, found) in enumerate(points.items()):
        for jobs, seconds in found:
            x, y = at(jobs, seconds)
            lines.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{colours[name]}"/>')
        label = f"{name}: jobs to the power {exponent(found):.2f}" if len(found) > 1 else name
        lines.append(f'<text x="60" y="{20 + 14 * number}" fill="{colours[name]}">{label}</text>')
    lines.append('<text x="350" y="294">jobs</text></svg>')
    return "\n".join(lines) + "\n"


def main() -> None:
    """Measure the days asked for, each in a process of its own, so that memory is its own."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", default=["S", "M"], help=", ".join(SIZES))
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    parser.add_argument("--seconds", type=float, help="guard by the clock, for all sizes")
    parser.add_argument("--figure", type=Path)
    parser.add_argument("--one", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.one:
        size, seed = options.one.split("-")
        warm()
        found = measure(size, int(seed), options.seconds or GUARD_S[size])
        print(row(found))
        print(found["jobs"], found["first_s"], found["best_s"], file=sys.stderr)
        return
    print(
        "day       naive     first      best     bound    o/oo first s (clock)"
        "    all s (clock)     MB ended by status"
    )
    points: dict[str, list[tuple[int, float]]] = {"first plan": [], "whole search": []}
    for size in options.sizes:
        for seed in options.seeds:
            command = [
                sys.executable,
                "-m",
                "tests.bench.planning.compare",
                "--one",
                f"{size}-{seed}",
            ]
            if options.seconds:
                command += ["--seconds", str(options.seconds)]
            done = subprocess.run(command, capture_output=True, text=True, check=True)
            print(done.stdout.strip().splitlines()[-1], flush=True)
            jobs, first_s, all_s = done.stderr.split()[-3:]
            points["first plan"].append((int(jobs), float(first_s)))
            points["whole search"].append((int(jobs), float(all_s)))
        print(f"      goal for {size}: {GOALS[size]}")
    for name, found in points.items():
        if len({jobs for jobs, _ in found}) > 1:
            print(f"growth of the {name}: jobs to the power {exponent(found):.2f}")
    if options.figure:
        options.figure.write_text(figure(points), encoding="utf-8")


if __name__ == "__main__":
    main()

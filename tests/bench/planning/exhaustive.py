"""Small odd days, planned and then tried plan by plan: is what the planner says of them true?

``python -m tests.bench.planning.exhaustive --days 60 --first 0`` plans so many invented days and
holds what it says of each (bound, optimum, refusal, material left behind) against every plan there
is. It prints each untruth with the day's number, then how many there were, and fails if any.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterator
from typing import Any

from service.planning.checker.check import check_plan
from service.planning.model.problem import Problem
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.search.construction import LockNotPossible
from service.planning.solve import solve
from tests.bench.planning.every_plan import UNITS, bay_takes, cents, cheapest
from tests.bench.planning.odd_days import odd_day

PATIENT = StopRule(gap_permille=0.0, rounds=40)
LEFT = "what they leave of "  # in a bound's scope, before the vehicles that may leave material


def untruths(day: dict[str, Any]) -> Iterator[tuple[str, str]]:
    """Yield what the planner says of a day and is not so: a kind, and the figures."""
    problem = Problem.from_json(day)
    try:
        plan = solve(problem, stop=PATIENT, explain=False)
    except LockNotPossible:
        # Together: two locks of one place may each be kept, and never both.
        every = [vehicle["id"] for vehicle in day["vehicles"]]
        if cheapest(day, leaving=every) is not None:
            yield "refusal", "a plan keeps all locked tips"
        return
    for fault in check_plan(problem, plan):
        yield "plan", str(fault)
    yield from _of_costs(day, plan)


def _of_costs(day: dict[str, Any], plan: Plan) -> Iterator[tuple[str, str]]:
    cost, proven = plan.cost_cents.total, plan.bound_proven
    names = [vehicle["id"] for vehicle in day["vehicles"]]
    free = [name for name in names if name in plan.bound_scope.partition(LEFT)[2].split(", ")]
    leave = {part.vehicle for part in plan.unplaced}
    if not leave <= set(free) and proven:
        yield "bound", "proven, and the plan leaves what is not in its scope"
    truth = cheapest(day, leaving=free, below=(cost + 1) * UNITS)
    if truth is None and leave <= set(free):
        yield "plan", f"{cost} cents, and no plan there is costs so little"
        return
    least = cost if truth is None else cents(truth)
    if proven and plan.bound_cents > least:
        yield "bound", f"{plan.bound_cents} cents, and a plan costs {least}"
    if plan.work.ended_by == "optimal" and not proven:
        yield "optimal", "without a proof"
    if plan.work.ended_by == "optimal" and least < cost:
        yield "optimal", f"{cost} cents, and a plan costs {least}"
    may = [name for name in names if not bay_takes(day, name)]
    if not leave <= set(may) and cheapest(day, leaving=may) is not None:
        yield "left", f"of {sorted(leave)}, and a plan leaves nothing that a bay takes"
    if proven and plan.bound_cents < cost:
        yield "(open)", f"bound {plan.bound_cents}, cost {cost}, truth {least}"


def main(argv: list[str] | None = None) -> int:
    """Plan the days and print the untruths; return how the process ends."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=60)
    parser.add_argument("--first", type=int, default=0, help="number of the first day")
    options = parser.parse_args(argv)
    found: Counter[str] = Counter()
    for seed in range(options.first, options.first + options.days):
        for kind, figures in untruths(odd_day(seed)):
            found[kind] += 1
            print(f"day {seed}: {kind}: {figures}", flush=True)
    told = ", ".join(f"{kind} {count}" for kind, count in sorted(found.items())) or "none"
    print(f"{options.days} days; untruths: {told}")
    return 1 if any(not kind.startswith("(") for kind in found) else 0


if __name__ == "__main__":
    sys.exit(main())

"""Print what a part of the planner is worth: the gap of days with it and without, as quickly.

    python -m tests.bench.planning.without M --seeds 21 22 23 [--parts dives] [--seconds 8]

Every day is planned to no goal but the clock, once with everything (twice, with another seed: what
those two differ by is luck) and once for each part without it. The planner's clock counts seconds
of the processor here, so that a busy machine changes nothing. The gap is in per cent of the cost of
disposal, beyond the job lists with no tips.
"""

from __future__ import annotations

import argparse
import contextlib
import time
from collections.abc import Callable, Iterator
from types import SimpleNamespace
from unittest import mock

from service.planning import solve
from service.planning.arrays.tables import tables_of
from service.planning.checker.check import check_plan
from service.planning.model.problem import Problem
from service.planning.model.stop_rule import StopRule
from service.planning.outcome.assembly import bare_day, cents
from service.planning.search import progress as run
from service.planning.search import whole_search as searching
from service.planning.tip_plans import shortlists
from service.planning.warm import warm
from tests.bench.planning.days import SIZES, day

SECONDS = {"S": 5.0, "M": 8.0, "L": 45.0, "X": 150.0}
LUCK = "nothing, other seed"


def _as_listed(tables: object, vehicle: object, listed: object, *_: object, **__: object) -> object:
    return listed


def _without_delays(rules: object, road: object) -> None:
    shortlists_late(rules, road)
    road.near[:, 13] = 0
    road.pace[:] = 0


shortlists_late = shortlists.late_on_time
PARTS: dict[str, list[tuple[str, object]]] = {
    "nothing": [],
    LUCK: [],
    "amounts": [("certify.with_best_amounts", lambda *_: None)],
    "two dives": [("searching.STEPS", searching.STEPS[:1])],
    "second refresh": [("searching.REFRESH", {3: searching.CANDIDATES})],
    "sharpened": [
        (f"{module}.sharpened", _as_listed) for module in ("searching", "generation", "least")
    ],
    "foreseen": [("greedy.foreseen", _as_listed)],
    "both": [
        *((f"{module}.sharpened", _as_listed) for module in ("searching", "generation", "least")),
        ("greedy.foreseen", _as_listed),
    ],
    "delays": [
        *((f"{module}.sharpened", _as_listed) for module in ("searching", "generation", "least")),
        ("greedy.foreseen", _as_listed),
        ("shortlists.late_on_time", _without_delays),
    ],
}


@contextlib.contextmanager
def without(part: str) -> Iterator[None]:
    """Plan without a part, by the clock of the processor."""
    clock = SimpleNamespace(perf_counter=time.process_time)
    with contextlib.ExitStack() as changes:
        for module in (run, searching, solve):
            changes.enter_context(mock.patch.object(module, "time", clock))
        for name, instead in PARTS[part]:
            changes.enter_context(mock.patch(f"service.planning.{name}", instead))
        yield


def measure(size: str, seed: int, part: str, seconds: float) -> str:
    """Return a line with what one day comes to without one part."""
    problem = Problem.from_json(day(size, seed))
    tables = tables_of(problem)
    bare = cents(sum(bare_day(tables, vehicle) for vehicle in problem.vehicles))
    stop = StopRule(gap_permille=0, rounds=100_000, seconds=seconds)
    began = time.process_time()
    with without(part):
        plan = solve.solve(problem, stop=stop, explain=False, seed=int(part == LUCK))
    took = time.process_time() - began
    cost, bound = plan.disposal_cents, (plan.bound_cents or 0) - bare
    faults = len(check_plan(problem, plan))
    return (
        f"{size}-{seed:<4} {part:22} {cost / 100:12.2f} {bound / 100:12.2f} "
        f"{100 * (cost - bound) / cost:7.3f} {took:6.1f} s {faults}"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", default=["M"], help=", ".join(SIZES))
    parser.add_argument("--seeds", nargs="+", type=int, default=[21, 22, 23, 24, 25, 26])
    parser.add_argument("--parts", nargs="+", default=list(PARTS))
    parser.add_argument("--seconds", type=float)
    options = parser.parse_args()
    warm()
    for size in options.sizes:
        for seed in options.seeds:
            for part in options.parts:
                seconds = options.seconds or SECONDS[size]
                print(measure(size, seed, part, seconds), flush=True)


if __name__ == "__main__":
    main()

"""Print what a part of the planner is worth: the gap of days with it and without, as quickly.

    python -m tests.bench.planning.without M --seeds 21 22 23 [--parts dive] [--seconds 8]

Every day is planned with no goal but the clock: with everything, once more with another seed (what
these two differ by is luck), and without one part at a time. The planner's clock counts seconds of
the processor here, so that a busy machine changes nothing. Cost, bound and gap are of disposal,
beyond the job lists with no tips; the gap is in per cent.
"""

from __future__ import annotations

import argparse
import contextlib
import time
from collections.abc import Iterator
from types import SimpleNamespace
from typing import Any
from unittest import mock

from service.planning import solve
from service.planning.arrays.inputs import LATER
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
LUCK = "nothing, another seed"
late_on_time = shortlists.late_on_time


def _no_delays(rules: Any, road: Any) -> None:
    late_on_time(rules, road)
    road.near[:, LATER], road.pace[:] = 0, 0


def _as_listed(*given: Any) -> Any:
    return given[2]


FORESEEN = ("greedy.foreseen", _as_listed)
PARTS: dict[str, list[tuple[str, Any]]] = {
    "nothing": [],
    LUCK: [],
    "cuts": [
        (f"{module}.violated", lambda *_, **__: []) for module in ("searching", "neighbourhood")
    ],
    "dive": [("searching._dived", lambda *_: None)],
    "sub-problems": [("searching._better", lambda *_: None)],
    "lists chosen anew": [("searching.REFRESH", {}), ("searching.OFTEN", {})],
    "lateness prices": [FORESEEN],
    "lateness and delays": [FORESEEN, ("shortlists.late_on_time", _no_delays)],
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
    cost, bound = plan.disposal_cents, plan.bound_cents - bare
    broken = f"; {len(faults)} rules broken" if (faults := check_plan(problem, plan)) else ""
    return (
        f"{size}-{seed:<4} {part:22} {cost / 100:12.2f} {bound / 100:12.2f} "
        f"{100 * (cost - bound) / cost:7.3f} {took:6.1f} s{broken}"
    )


def main() -> None:
    """Measure the days asked for, one after the other."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("sizes", nargs="*", default=["M"], help=", ".join(SIZES))
    parser.add_argument("--seeds", nargs="+", type=int, default=[21, 22, 23, 24, 25, 26])
    parser.add_argument("--parts", nargs="+", default=list(PARTS), choices=list(PARTS))
    parser.add_argument("--seconds", type=float, help="of the processor, for all sizes")
    options = parser.parse_args()
    warm()
    print("day    without                        cost        bound   gap %    took")
    for size in options.sizes:
        for seed in options.seeds:
            for part in options.parts:
                print(measure(size, seed, part, options.seconds or SECONDS[size]), flush=True)


if __name__ == "__main__":
    main()

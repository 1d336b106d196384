"""Print how quickly a planned day answers what happens, and whether the checker passes the plans.

    python -m tests.bench.planning.events S M L --seeds 1 2 3 [--count 40]

A day is planned with a short guard and frozen at 11:00; everything happens on that same day.
Milliseconds are of this process's processor. An answer concerns more than one vehicle if others
were asked to move, even if in vain. Checking is not timed.
"""

from __future__ import annotations

import argparse
import contextlib
import dataclasses
import random
import statistics
import time

from service.planning.checker.check import check_plan
from service.planning.events.live_day import LiveDay
from service.planning.model.problem import Problem
from service.planning.model.result import Plan
from service.planning.model.stop_rule import StopRule
from service.planning.solve import solve
from service.planning.warm import warm
from tests.bench.planning.days import SIZES, day
from tests.bench.planning.freezing import frozen_at
from tests.bench.planning.happenings import ELEVEN, KINDS, NothingToHappenTo, priced

GUARD_S = {"S": 1.0, "M": 3.0, "L": 12.0, "X": 60.0}


def planned(size: str, seed: int, guard_s: float | None = None) -> tuple[Problem, Plan]:
    """Return a day at 11:00 and its plan."""
    problem = priced(Problem.from_json(day(size, seed)))
    rule = StopRule(rounds=100_000, seconds=guard_s or GUARD_S[size])
    plan = solve(problem, stop=rule, explain=False)
    return frozen_at(problem, plan, ELEVEN), plan


@dataclasses.dataclass(slots=True)
class Tally:
    """What the answers to one kind took [ms], and what the checker found."""

    alone: list[float] = dataclasses.field(default_factory=list)
    others: list[float] = dataclasses.field(default_factory=list)
    faults: list[str] = dataclasses.field(default_factory=list)

    def play(self, problem: Problem, plan: Plan, kind: str, count: int, seed: int) -> None:
        """Let something of a kind happen so often, each time on the same day."""
        chance = random.Random(f"{kind}-{seed}")
        for _ in range(count):
            with contextlib.suppress(NothingToHappenTo):
                self.answer(KINDS[kind](problem, plan, chance), plan, kind)

    def answer(self, then: Problem, plan: Plan, kind: str) -> None:
        """Answer what happened."""
        began = time.process_time()
        answered = LiveDay.of(then, plan, why=kind)
        took = 1000 * (time.process_time() - began)
        asked = len(answered.causes) > 1 or answered.plan.work.nodes > 0
        (self.others if asked else self.alone).append(took)
        faults = check_plan(then, answered.plan, plan)
        self.faults += [f"{kind}: {fault}" for fault in faults[:1]]


def _told(times: list[float]) -> str:
    if not times:
        return f"{0:4} {'':8} {'':8}"
    return f"{len(times):4} {statistics.median(times):8.2f} {max(times):8.2f}"


def main() -> None:
    """Let everything happen on the days asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sizes", nargs="*", default=["S", "M"], help=", ".join(SIZES))
    parser.add_argument("--seeds", nargs="+", type=int, default=[1, 2, 3])
    parser.add_argument("--count", type=int, default=40, help="of each kind, on each day")
    parser.add_argument("--seconds", type=float, help="guard by the clock, for all sizes")
    options = parser.parse_args()
    warm()
    for size in options.sizes:
        tallies = {kind: Tally() for kind in KINDS}
        for seed in options.seeds:
            problem, plan = planned(size, seed, options.seconds)
            for kind, tally in tallies.items():
                Tally().play(problem, plan, kind, 2, 0)  # what is loaded first is not measured
                tally.play(problem, plan, kind, options.count, seed)
        print(f"{size:20} one:  median   max ms | more: median   max ms | faults")
        for kind, tally in tallies.items():
            print(f"{kind:20} {_told(tally.alone)} | {_told(tally.others)} | {len(tally.faults)}")
            print(*tally.faults[:3], sep="\n", end="\n" if tally.faults else "")


if __name__ == "__main__":
    main()

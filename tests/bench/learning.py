"""How well weigh tickets teach, in worlds whose truth is known.

``python -m tests.bench.learning`` prints, for each world and number of tickets a grass kind: the
share of next loads inside the 80 % interval, the median absolute error before and after, and how
far one wrong ticket of ten times the mass moves the estimate. The first world is as assumed; the
others are not: more or less scatter between loads, a firm far off, a world of outliers.
"""

import argparse
import math
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.agronomy.estimates.uncertainty import NORMAL_90
from service.agronomy.learning.estimator import Ticket, VarianceShares, learn
from service.core.estimates import Estimate

SHARES = VarianceShares(firm=0.35, group=0.25, lawn=0.25, load=0.15)
ESTIMATE = Estimate(low=50, likely=100, high=200, unit="kg", basis="bench", sources=())
VARIANCE = (math.log(2) / NORMAL_90) ** 2
KINDS, LAWNS = 3, 5
TICKETS = (0, 1, 3, 5, 10, 20, 60)


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """How the truth differs from what is assumed: factors on the four variances."""

    name: str
    firm: float = 1.0
    group: float = 1.0
    lawn: float = 1.0
    load: float = 1.0
    outliers: float = 0.0
    """Share of tickets whose ratio is off by a factor of three to ten, either way."""


WORLDS = (
    World(name="as assumed"),
    World(name="loads scatter twice as much", load=2.0),
    World(name="loads scatter half as much", load=0.5),
    World(name="firm far off", firm=3.0),
    World(name="kinds and lawns far apart", group=2.0, lawn=2.0),
    World(name="one ticket in twenty wrong", outliers=0.05),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one world and number of tickets gave."""

    coverage: float
    error_before: float
    error_after: float
    moves: tuple[float, ...]


def invent(rng: np.random.Generator, world: World, tickets: int) -> tuple[list[Ticket], float]:
    """Return the tickets of a firm, and the logarithm of the next load of its first lawn."""
    spread = {
        level: math.sqrt(VARIANCE * getattr(SHARES, level) * getattr(world, level))
        for level in ("firm", "group", "lawn", "load")
    }
    firm = rng.normal(0, spread["firm"])
    found: list[Ticket] = []
    truth = 0.0
    for kind in range(KINDS):
        lawns = firm + rng.normal(0, spread["group"]) + rng.normal(0, spread["lawn"], LAWNS)
        for number in range(tickets):
            log = lawns[number % LAWNS] + rng.normal(0, spread["load"])
            if rng.random() < world.outliers:
                log += rng.choice((-1, 1)) * rng.uniform(math.log(3), math.log(10))
            found.append(Ticket(group=f"g{kind}", lawn=f"l{number % LAWNS}", ratio=math.exp(log)))
        if kind == 0:
            truth = lawns[0] + rng.normal(0, spread["load"])
    return found, truth


def run(world: World, tickets: int, *, firms: int, seed: int) -> Outcome:
    """Return what a number of invented firms of one world gave."""
    rng = np.random.default_rng(seed)
    inside, before, after, moves = [], [], [], []
    for _ in range(firms):
        found, truth = invent(rng, world, tickets)
        learned = learn(ESTIMATE, found, group="g0", lawn="l0", shares=SHARES)
        weighed = ESTIMATE.likely * math.exp(truth)
        inside.append(learned.estimate.low <= weighed <= learned.estimate.high)
        before.append(abs(truth))
        after.append(abs(math.log(learned.estimate.likely / weighed)))
        if found:
            wrong = Ticket(group="g0", lawn="l0", ratio=10 * found[0].ratio)
            moved = learn(ESTIMATE, [*found, wrong], group="g0", lawn="l0", shares=SHARES)
            moves.append(abs(moved.ratio / learned.ratio - 1))
    return Outcome(
        coverage=float(np.mean(inside)),
        error_before=float(np.median(before)),
        error_after=float(np.median(after)),
        moves=tuple(moves),
    )


def line(tickets: int, outcome: Outcome) -> str:
    """Return one line of the table."""
    text = (
        f"{tickets:>8} {outcome.coverage:>9.1%} {outcome.error_before:>8.1%} "
        f"{outcome.error_after:>8.1%} {outcome.error_after / outcome.error_before:>7.2f}"
    )
    if outcome.moves:
        under = np.mean(np.array(outcome.moves) < 0.05)
        most = np.percentile(outcome.moves, 99)
        text += f" {np.median(outcome.moves):>9.2%} {most:>9.2%} {under:>9.1%}"
    return text


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table of every world."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--firms", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=3)
    chosen = parser.parse_args(arguments)
    started = time.perf_counter()
    calls = 0
    for world in WORLDS:
        say(f"\n{world.name}")
        say(" tickets  in 80 %   before    after   ratio  bad: mid   bad: 99%   under 5%")
        for tickets in TICKETS:
            outcome = run(world, tickets, firms=chosen.firms, seed=chosen.seed)
            calls += chosen.firms * (2 if tickets else 1)
            say(line(tickets, outcome))
    seconds = time.perf_counter() - started
    say(f"\n{calls} estimates in {seconds:.1f} s, {1e6 * seconds / calls:.0f} us each")


def say(text: str) -> None:
    """Write a line at once: some worlds take a while."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()

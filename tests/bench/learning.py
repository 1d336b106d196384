"""How well weigh tickets teach, in worlds whose truth is known.

``python -m tests.bench.learning`` prints, for each world and number of tickets a grass kind: the
share of next loads inside the 80 % interval (an estimate's low and high are the 10th and the 90th
percentile), how wide it is beside the one before any ticket, the median absolute error before and
after, and how far one wrong ticket of ten times the mass moves the estimate. The first world is as
assumed; the others are not. Where the grass is another than assumed on all lawns of a firm, the
interval before any ticket is what it is: no ticket could have said so. It holds over firms, not
within one: as assumed, one firm in ten has grass 1.7 times as dense or more (its part and its
kinds' part of the variance), one in seventy 2.5 times, one in twenty half or less. Callers are
told so (`untaught`); the prior is as wide as its fifteen sources differ: none makes it wider.
"""

import argparse
import math
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from service.agronomy.estimates.uncertainty import NORMAL_90
from service.agronomy.learning.estimator import Ticket, VarianceShares, learn
from service.core.measures.estimates import Estimate
from service.core.measures.units import POUND_KG

SHARES = VarianceShares(firm=0.35, group=0.25, lawn=0.25, load=0.15)
ESTIMATE = Estimate(low=50, likely=100, high=200, unit="kg", basis="bench", sources=())
VARIANCE = (math.log(2) / NORMAL_90) ** 2
KINDS, LAWNS = 3, 5
TICKETS = (0, 5, 20, 60)
# Firms whose estimate is worked out once more with a wrong ticket.
WITH_A_WRONG_TICKET = 200
# A lorry's own mass by the likely mass of its load: 1.5 to 5, as of a van or a tipper that is
# filled well or hardly.
TARE_BY_LOAD = (1.5, 5.0)
HEIGHT_REMOVED_MM = (15.0, 50.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """How the truth differs from what is assumed."""

    name: str
    firm: float = 1.0
    group: float = 1.0
    lawn: float = 1.0
    load: float = 1.0
    """Factors on the four variances."""
    density: float | None = None
    """By how much all grass of the firm is denser than assumed; None draws it, as assumed."""
    heavy_tails: float = 0.0
    """By what loads that scatter as Student's t with 3 degrees of freedom are scaled; 0: normal."""
    height_step_mm: float = 0.0
    """To what the height removed is rounded before it is written down."""
    outliers: float = 0.0
    """Share of tickets whose ratio is off by a factor of three to ten, either way."""
    pounds: float = 0.0
    """Share of tickets with pounds where kilograms should be."""
    gross: float = 0.0
    """Share of tickets with the lorry weighed along."""


WORLDS = (
    World(name="as assumed"),
    World(name="loads scatter, 40 % of the variance", firm=0.7, group=0.7, lawn=0.72, load=2.67),
    World(name="loads scatter twice as much", load=2.0),
    World(name="loads scatter half as much", load=0.5),
    World(name="density x 0.5", density=0.5),
    World(name="density x 1.6", density=1.6),
    World(name="density x 2.5", density=2.5),
    World(name="firm far off", firm=3.0),
    World(name="kinds and lawns far apart", group=2.0, lawn=2.0),
    # A t with 3 degrees of freedom has the variance 3; its 90th percentile is 1.638, in any table.
    World(name="heavy tails, variance as assumed", heavy_tails=1 / math.sqrt(3)),
    World(name="heavy tails, 80 % range as assumed", heavy_tails=NORMAL_90 / 1.638),
    World(name="heights rounded to 10 mm", height_step_mm=10.0),
    World(name="heights rounded to half an inch", height_step_mm=12.7),
    World(name="one ticket in twenty wrong", outliers=0.05),
    World(name="5 % pounds for kilograms", pounds=0.05),
    World(name="20 % gross for net", gross=0.2),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one world and number of tickets gave."""

    coverage: float
    width: float
    error_before: float
    error_after: float
    moves: tuple[float, ...]


def load_errors(rng: np.random.Generator, world: World) -> Callable[[], float]:
    """Return what draws the error of one load, as a logarithm."""
    spread = math.sqrt(VARIANCE * SHARES.load * world.load)

    def drawn() -> float:
        tail = rng.standard_t(3) * world.heavy_tails if world.heavy_tails else rng.normal()
        error = spread * float(tail)
        if world.height_step_mm:
            removed_mm = rng.uniform(*HEIGHT_REMOVED_MM)
            steps = max(round(removed_mm / world.height_step_mm), 1)
            error += math.log(removed_mm / (steps * world.height_step_mm))
        return error

    return drawn


def mistake(rng: np.random.Generator, world: World, log: float) -> float:
    """Return a ticket's logarithm as it is written down, rightly or wrongly."""
    kind = rng.random()
    if kind < world.outliers:
        return log + rng.choice((-1, 1)) * rng.uniform(math.log(3), math.log(10))
    if kind < world.outliers + world.pounds:
        return log - math.log(POUND_KG)
    if kind < world.outliers + world.pounds + world.gross:
        return math.log(math.exp(log) + rng.uniform(*TARE_BY_LOAD))
    return log


def invent(rng: np.random.Generator, world: World, tickets: int) -> tuple[list[Ticket], float]:
    """Return the tickets of a firm, and the logarithm of the next load of its first lawn."""
    firm, group, lawn = (
        math.sqrt(VARIANCE * getattr(SHARES, level) * getattr(world, level))
        for level in ("firm", "group", "lawn")
    )
    of_firm = math.log(world.density) if world.density else rng.normal(0, firm)
    of_load = load_errors(rng, world)
    found: list[Ticket] = []
    truth = 0.0
    for kind in range(KINDS):
        lawns = of_firm + rng.normal(0, group) + rng.normal(0, lawn, LAWNS)
        for number in range(tickets):
            log = mistake(rng, world, lawns[number % LAWNS] + of_load())
            found.append(Ticket(group=f"g{kind}", lawn=f"l{number % LAWNS}", ratio=math.exp(log)))
        if kind == 0:
            truth = lawns[0] + of_load()
    return found, truth


def run(world: World, tickets: int, *, firms: int, seed: int) -> Outcome:
    """Return what a number of invented firms of one world gave."""
    rng = np.random.default_rng(seed)
    inside, widths, before, after, moves = [], [], [], [], []
    for number in range(firms):
        found, truth = invent(rng, world, tickets)
        learned = learn(ESTIMATE, found, group="g0", lawn="l0", shares=SHARES)
        weighed = ESTIMATE.likely * math.exp(truth)
        inside.append(learned.estimate.low <= weighed <= learned.estimate.high)
        widths.append(
            math.log(learned.estimate.high / learned.estimate.low)
            / math.log(ESTIMATE.high / ESTIMATE.low)
        )
        before.append(abs(truth))
        after.append(abs(math.log(learned.estimate.likely / weighed)))
        if found and number < WITH_A_WRONG_TICKET:
            wrong = Ticket(group="g0", lawn="l0", ratio=10 * found[0].ratio)
            moved = learn(ESTIMATE, [*found, wrong], group="g0", lawn="l0", shares=SHARES)
            moves.append(abs(moved.ratio / learned.ratio - 1))
    return Outcome(
        coverage=float(np.mean(inside)),
        width=float(np.median(widths)),
        error_before=float(np.median(before)),
        error_after=float(np.median(after)),
        moves=tuple(moves),
    )


def line(tickets: int, outcome: Outcome) -> str:
    """Return one line of the table."""
    text = (
        f"{tickets:>8} {outcome.coverage:>9.1%} {outcome.width:>8.2f} "
        f"{outcome.error_before:>8.1%} {outcome.error_after:>8.1%} "
        f"{outcome.error_after / outcome.error_before:>7.2f}"
    )
    if outcome.moves:
        most = np.percentile(outcome.moves, 99)
        text += f" {np.median(outcome.moves):>9.2%} {most:>9.2%}"
    return text


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the table of every world."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--firms", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=3)
    parser.add_argument("--world", default="", help="only worlds whose name has this in it")
    chosen = parser.parse_args(arguments)
    started = time.process_time()
    calls = 0
    for world in (world for world in WORLDS if chosen.world in world.name):
        say(f"\n{world.name}")
        say(" tickets   in 80 %    width   before    after   ratio  bad: mid   bad: 99%")
        for tickets in TICKETS:
            outcome = run(world, tickets, firms=chosen.firms, seed=chosen.seed)
            calls += chosen.firms + len(outcome.moves)
            say(line(tickets, outcome))
    seconds = time.process_time() - started
    say(
        f"\n{calls} estimates in {seconds:.1f} processor seconds, {1e6 * seconds / calls:.0f} us "
        "each with what invents their tickets"
    )


def say(text: str) -> None:
    """Write a line at once: some worlds take a while."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main()

"""One solve under way: what was found, how much was done, and whether that is enough."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from service.planning.arrays.tables import UNITS_PER_CENT, Tables, Whole
from service.planning.model.stop_rule import StopRule
from service.planning.search.construction import Fleet, cost_of
from service.planning.tip_plans.columns import Column

SEVERAL = 60  # vehicles; with more, a bound and a dive take seconds
LARGE = 200  # vehicles; with more, there is time for one bound, without cuts
# Of the seconds allowed, for the first prices, for those with cuts, and before better plans. Of few
# vehicles each bound takes tenths of a second, and another one may raise it.
SHARES_OF_FEW = (0.25, 0.65, 0.8)
SHARES = (0.25, 0.5, 0.75)
ITERATIONS, LARGE_ITERATIONS = 60, 25  # of prices, at most, each time they are sought
CERTIFICATES, LARGE_CERTIFICATES = 8, 1
LARGE_SHARES = (0.4, 0.4, 0.85)


@dataclass(slots=True, kw_only=True)
class Run:
    """One solve: what was found and how much was done."""

    tables: Tables
    fleet: Fleet
    stop: StopRule
    seed: int
    started: float
    say: Callable[[str], None]
    bare: int
    cut: bool = False  # by the clock, in part or as a whole
    plan: list[Column] = field(default_factory=list)
    bound: int | None = None
    prices: Whole | None = None
    iterations: int = 0
    columns: int = 0
    nodes: int = 0

    def clock(self) -> bool:
        """Tell whether the guard by the clock says stop."""
        return self.past(1.0)

    @property
    def shares(self) -> tuple[float, float, float]:
        """How the seconds allowed are shared out."""
        if len(self.plan) <= SEVERAL:
            return SHARES_OF_FEW
        return SHARES if len(self.plan) <= LARGE else LARGE_SHARES

    @property
    def iterations_at_most(self) -> int:
        """How many iterations prices may take each time, whatever the clock says."""
        return ITERATIONS if len(self.tables.vehicles) <= LARGE else LARGE_ITERATIONS

    @property
    def certificates_at_most(self) -> int:
        """How many bounds are taken."""
        return CERTIFICATES if len(self.tables.vehicles) <= LARGE else LARGE_CERTIFICATES

    def tell_limits(self) -> None:
        """Say beforehand how long it may be looked for a plan."""
        clock = "no clock" if self.stop.seconds is None else f"{self.stop.seconds:g} s"
        if not self.stop.first:
            self.say(
                f"{len(self.tables.vehicles)} vehicles: at most {self.certificates_at_most} bounds,"
                f" {self.iterations_at_most} rounds of prices each,"
                f" {self.stop.rounds} sub-problems and nodes; {clock}"
            )

    def past(self, share: float, *, ahead: float = 0.0) -> bool:
        """Tell whether this share of the time is over, or will be so many seconds ahead.

        From then on the clock has cut the run.
        """
        if self.stop.still_wanted is not None:
            self.stop.still_wanted()
        limit, passed = self.stop.seconds, time.perf_counter() - self.started
        over = limit is not None and passed + ahead > limit * share
        self.cut = self.cut or over
        return over

    def close_enough(self, cost: int) -> bool:
        """Tell whether the proven gap is small enough."""
        if self.bound is None:
            return False
        disposal = cost - self.bare
        return (cost - self.bound) * 1000 <= self.stop.gap_permille * disposal

    def done(self) -> bool:
        """Tell whether the gap is small enough, or the time over."""
        return self.clock() or self.close_enough(cost_of(self.tables, self.plan))

    def raise_bound(self, bound: int) -> None:
        """Keep a bound if it is the best one."""
        self.bound = bound if self.bound is None else max(self.bound, bound)

    def report(self, what: str) -> None:
        """Tell how far the search has come."""
        cost = cost_of(self.tables, self.plan)
        bound = "none" if self.bound is None else f"{self.bound / UNITS_PER_CENT:.0f}"
        self.say(f"{what}: {cost / UNITS_PER_CENT:.0f} cents to come, bound {bound}")

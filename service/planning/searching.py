"""Prices, a bound and better plans, one after the other, until the stop rule is met."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from service.planning.branching import closed_gap, cluster_of
from service.planning.certify import Certificate, certify
from service.planning.clusters import SIZE, Partition, partition, together
from service.planning.columns import Column
from service.planning.demands import STRANDED
from service.planning.dive import dive
from service.planning.generation import Generated, generate
from service.planning.greedy import Fleet, cost_of, improve
from service.planning.lateness import Market, sharpened
from service.planning.master import Master
from service.planning.neighbourhood import Search, better, sub_problem
from service.planning.stop_rule import StopRule
from service.planning.tables import UNITS_PER_CENT, Tables, Whole
from service.planning.triangle import Ground

CANDIDATES = 14  # destinations looked at in a gap, besides those that statuses ask for
REFRESH = (3, 8)  # iterations after which shortlists are chosen anew
MANY = 500  # destinations; above, a day is large
FEWER = 8  # on large days: few, and chosen anew more often, as prices become known
OFTEN = (1, 3, 6, 11, 18)
TOLERANCE = 2e-4
ITERATIONS = 60
CERTIFICATES = 2
NODES = 40  # of branch and bound in a cluster, and in one of all vehicles
NODES_ALONE = 400
PATIENCE = 16  # sub-problems in a row that may gain nothing; more where vehicles are many
LP_SHARE = 0.4  # of the seconds allowed, before the first certificate
BOUND_SHARE = 0.85  # before the search for a better plan


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
    spent_bound: int = 0
    plan: list[Column] = field(default_factory=list)
    bound: int | None = None
    prices: Whole | None = None
    iterations: int = 0
    columns: int = 0
    nodes: int = 0

    def clock(self) -> bool:
        """Tell whether the guard by the clock says stop."""
        limit = self.stop.seconds
        return limit is not None and time.perf_counter() - self.started > limit

    def early(self) -> bool:
        """Tell whether the first part of the time is over."""
        limit = self.stop.seconds
        return limit is not None and time.perf_counter() - self.started > limit * LP_SHARE

    def late(self) -> bool:
        """Tell whether the time for the bound is over."""
        limit = self.stop.seconds
        return limit is not None and time.perf_counter() - self.started > limit * BOUND_SHARE

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


def candidates(tables: Tables) -> int:
    """Return how many destinations a shortlist has in a gap."""
    return FEWER if len(tables.destinations.place) > MANY else CANDIDATES


def search(run: Run, ground: Ground) -> str:
    """Find the prices, a bound and better plans; return what ended the search."""
    tables, fleet = run.tables, run.fleet
    master = Master(
        tables, room=tables.destinations.capacity_kg, vehicles=list(range(len(run.plan)))
    )
    market = Market(prices=tables.destinations.fee, room=master.room)
    for number, column in enumerate(run.plan):
        master.add(column)
        fleet.lists[number] = sharpened(
            tables,
            tables.vehicles[number],
            fleet.lists[number],
            column,
            market,
            known=column.cost,
        )
    same = ground.tables is tables
    closed = fleet if same else Fleet.of(ground.tables, count=candidates(tables))
    prices, certificate = _certified(run, master, closed, ground.margin)
    if not run.done():
        dived = improve(fleet, dive(fleet, master, run.clock), rounds=2)
        if cost_of(tables, dived) < cost_of(tables, run.plan):
            run.plan = dived
        run.report("dive")
        for column in run.plan:
            master.add(column)
    search = Search(
        fleet=fleet,
        pool=master,
        prices=prices,
        chance=random.Random(run.seed),  # noqa: S311 - a repeatable choice, nothing secret
    )
    clusters = together(fleet, prices)
    if len(run.plan) > SIZE:
        _better(run, search)
    if same and not run.done():
        if len(run.plan) > SIZE:
            clusters = partition(fleet, master, prices)
            certificate = certify(fleet, master, clusters, learn=False, keep=True, clock=run.clock)
        _close(run, search, clusters, certificate, ground.margin)
        _better(run, search)
    run.columns = len(master.columns)
    cost = cost_of(tables, run.plan)
    if run.bound is not None and cost <= run.bound:
        return "optimal"
    if run.close_enough(cost):
        return "gap"
    return "clock" if run.clock() else "work"


def _certified(run: Run, master: Master, closed: Fleet, margin: int) -> tuple[Whole, Certificate]:
    """Find prices and a bound at them, again where the bound's search finds better tip plans."""
    fleet = run.fleet
    found = _price(run, master, None, OFTEN if len(master.room) > MANY else REFRESH)
    for turn in range(CERTIFICATES):
        prices = together(fleet, found.prices)
        certificate = certify(
            closed,
            master,
            prices,
            learn=closed is fleet,
            keep=len(run.plan) <= SIZE,
            clock=run.late,
        )
        run.raise_bound(certificate.bound - margin)
        run.prices = found.prices
        run.report(f"certificate {turn + 1}")
        if certificate.learned == 0 or run.early():
            break
        if turn < CERTIFICATES - 1:
            found = _price(run, master, found.prices, ())
    return found.prices, certificate


def _better(run: Run, search: Search) -> None:
    """Look for a better plan in small sub-problems, as long as that helps."""
    run.plan, more = better(
        search,
        run.plan,
        rounds=run.stop.rounds - run.nodes,
        patience=max(PATIENCE, len(run.plan) // 3),
        good_enough=run.close_enough,
        clock=run.clock,
    )
    run.nodes += more
    run.report("sub-problems")


def _close(
    run: Run, search: Search, prices: Partition, certificate: Certificate, margin: int
) -> None:
    """Raise the bound cluster by cluster, those that mix most first, and better the plan there."""
    master = search.pool
    bound = certificate.bound - margin
    for position in np.argsort(-prices.mixed, kind="stable").tolist():
        members = prices.clusters[position]
        if run.done() or prices.mixed[position] <= 0 or not set(members) <= set(certificate.known):
            continue
        cluster = cluster_of(
            run.fleet,
            {number: certificate.known[number] for number in members},
            outside=prices.outside,
            room=master.room,
            columns=[*master.columns, *run.plan],
        )
        before = certificate.of(members, prices, position, master.room)
        found = closed_gap(
            cluster,
            plan=[run.plan[number] for number in members],
            nodes=min(
                NODES if len(prices.clusters) > 1 else NODES_ALONE,
                max(0, run.stop.rounds - run.nodes),
            ),
            good_enough=0,
            clock=run.clock,
        )
        run.nodes += found.nodes
        bound += max(found.bound - before, 0)
        run.raise_bound(bound)
        for column in cluster.master.columns:
            if column.cost < STRANDED:
                master.add(column)
        alone = len(members) == len(run.plan)
        if alone and cost_of(run.tables, found.plan) < cost_of(run.tables, run.plan):
            run.plan = found.plan
        run.plan, _ = sub_problem(search, run.plan, list(members), quick=not alone)
    run.report("clusters")


def _price(run: Run, master: Master, prices: Whole | None, refresh: tuple[int, ...]) -> Generated:
    found = generate(
        run.fleet,
        master,
        prices=prices,
        tolerance=TOLERANCE,
        most=ITERATIONS,
        refresh=refresh,
        count=candidates(run.tables),
        clock=run.early,
    )
    run.iterations += found.iterations
    value = f"{found.solution.cents:.0f} cents, estimate {found.estimate / UNITS_PER_CENT:.0f}"
    run.say(f"prices after {run.iterations} iterations, {len(master.columns)} tip plans: {value}")
    return found

"""Prices, a bound and better plans, one after the other, until the stop rule is met."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from service.planning.branching import closed_gap, cluster_of
from service.planning.certify import Certificate, certify
from service.planning.columns import Column
from service.planning.demands import STRANDED
from service.planning.dive import dive
from service.planning.generation import Generated, generate
from service.planning.greedy import Fleet, cost_of, improve
from service.planning.lateness import Market, sharpened
from service.planning.master import Master
from service.planning.neighbourhood import Search, better, sub_problem
from service.planning.shortlists import Shortlist
from service.planning.stop_rule import StopRule
from service.planning.tables import UNITS_PER_CENT, Tables, Whole
from service.planning.tolls import violated
from service.planning.triangle import Ground

CANDIDATES = 14  # destinations looked at in a gap, besides those that statuses ask for
REFRESH = (3, 8)  # iterations after which shortlists are chosen anew
MANY = 500  # destinations; above, a day is large
FEWER = 8  # on large days: few, and chosen anew more often, as prices become known
OFTEN = (1, 3, 6, 11, 18)
TOLERANCE = 1e-4
ITERATIONS = 60
CERTIFICATES = 8
CUTTINGS = 6  # times that cuts are sought
MEAGRE = 3e-5  # by less of the cost, cuts raise the bound too little to go on
BROKEN = 0.01  # by so much of its points a cut must be broken, to be added
ALONE = 7  # so few vehicles are planned together by branch and bound, more of them with cuts
NODES = 400  # of branch and bound
PATIENCE = 40  # sub-problems in a row that may gain nothing; more where vehicles are many
# Of the seconds allowed, for the first prices, for those with cuts, and before better plans.
SHARES = (0.25, 0.5, 0.75)
LARGE = 200  # vehicles; with more, there is time for one bound, without cuts
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
        return SHARES if len(self.plan) <= LARGE else LARGE_SHARES

    def past(self, share: float, *, ahead: float = 0.0) -> bool:
        """Tell whether this share of the time is over, or will be so many seconds ahead.

        From then on the clock has cut the run.
        """
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
    certified = _certified(run, master, closed)
    if not run.done():
        dived = improve(fleet, dive(fleet, master, run.clock), rounds=2)
        if cost_of(tables, dived) < cost_of(tables, run.plan):
            run.plan = dived
        run.report("dive")
        for column in run.plan:
            master.add(column)
    search = Search(
        fleet=Fleet(tables=tables, lists=certified.lists),
        pool=master,
        prices=certified.linear,
        chance=random.Random(run.seed),  # noqa: S311 - a repeatable choice, nothing secret
    )
    if same and len(run.plan) <= ALONE and not run.done():
        # from a good plan, branch and bound has less to look at
        run.plan, _ = sub_problem(search, run.plan, list(range(len(run.plan))))
        run.nodes += 1
        _close(run, search, certified.certificate)
    _better(run, search)
    run.columns = len(master.columns)
    cost = cost_of(tables, run.plan)
    if cost == run.bound:
        return "optimal"
    if run.cut:  # even if the gap was reached: on another machine it is another plan
        return "clock"
    return "gap" if run.close_enough(cost) else "work"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Certified:
    """The last certificate; prices of scarcity without cuts, and the lists chosen at them.

    Those lists are shorter than what the bound has looked into.
    """

    certificate: Certificate
    linear: Whole
    lists: list[Shortlist]


def _certified(run: Run, master: Master, closed: Fleet) -> _Certified:
    """Find prices and a bound at them, again where the bound's search finds better tip plans.

    The first bound is one without cuts: it is quick, and what it finds missing makes prices with
    cuts settle sooner.
    """
    found = _price(run, master, None, OFTEN if len(master.room) > MANY else REFRESH, run.shares[0])
    run.prices = linear = found.prices
    lists = list(run.fleet.lists)
    for turn in range(CERTIFICATES):
        if turn > 0:
            found = _price(run, master, found, (), run.shares[1])
            linear = found.prices if turn == 1 else linear
            found = _cut(run, master, found)
        begun = time.perf_counter()
        certificate = certify(
            closed,
            master,
            found.prices,
            found.of_cuts,
            learn=closed is run.fleet,
            keep=len(run.plan) <= ALONE,
            clock=lambda: run.past(run.shares[2]),
        )
        run.raise_bound(certificate.bound)
        run.report(f"certificate {turn + 1}")
        settled = certificate.learned == 0 and (turn > 0 or len(run.plan) <= ALONE)
        took = time.perf_counter() - begun
        if settled or run.done() or run.past(run.shares[1], ahead=took):
            break
    run.prices = linear
    return _Certified(certificate=certificate, linear=linear, lists=lists)


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


def _close(run: Run, search: Search, certificate: Certificate) -> None:
    """Close the gap of all vehicles together, as far as the nodes allow."""
    if len(certificate.known) < len(run.plan):  # the clock left no time for some
        return
    master = search.pool
    cluster = cluster_of(
        run.fleet,
        certificate.known,
        room=master.room,
        columns=[*master.columns, *run.plan],
    )
    found = closed_gap(
        cluster,
        plan=run.plan,
        nodes=min(NODES, max(0, run.stop.rounds - run.nodes)),
        clock=run.clock,
    )
    run.nodes += found.nodes
    run.raise_bound(found.bound)
    for column in cluster.master.columns:
        if column.cost < STRANDED:
            master.add(column)
    if cost_of(run.tables, found.plan) < cost_of(run.tables, run.plan):
        run.plan = found.plan
    run.report("branch and bound")


def _cut(run: Run, master: Master, found: Generated) -> Generated:
    """Add cuts that the best mixture breaks, and price again, until there are no more."""
    if len(run.plan) <= ALONE:  # branch and bound closes what gap there is
        return found
    for _ in range(CUTTINGS):
        cuts = violated(master.room, master.mixture(found.solution), set(master.cuts), most=BROKEN)
        if not cuts or run.past(run.shares[1]):
            break
        master.cut(cuts)
        before, found = found.solution.cents, _price(run, master, found, (), run.shares[1])
        run.say(f"{len(master.cuts)} cuts, {found.solution.cents:.0f} cents")
        if found.solution.cents - before < MEAGRE * before:
            break
    return found


def _price(
    run: Run, master: Master, before: Generated | None, refresh: tuple[int, ...], share: float
) -> Generated:
    prices, of_cuts = None, None
    if before is not None:
        fresh = len(master.cuts) - len(before.of_cuts)
        prices, of_cuts = before.prices, np.pad(before.of_cuts, (0, fresh))
    found = generate(
        run.fleet,
        master,
        prices=prices,
        of_cuts=of_cuts,
        tolerance=TOLERANCE,
        most=ITERATIONS,
        refresh=refresh,
        count=candidates(run.tables),
        clock=lambda: run.past(share),
    )
    run.iterations += found.iterations
    value = f"{found.solution.cents:.0f} cents, estimate {found.estimate / UNITS_PER_CENT:.0f}"
    run.say(f"prices after {run.iterations} iterations, {len(master.columns)} tip plans: {value}")
    return found

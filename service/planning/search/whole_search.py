"""Prices, a bound and better plans, one after the other, until the stop rule is met."""

from __future__ import annotations

import random
import time
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.metric_closure import Ground
from service.planning.arrays.tables import UNITS_PER_CENT, Whole
from service.planning.search.branching import closed_gap, cluster_of
from service.planning.search.branching_demands import STRANDED
from service.planning.search.certificate import Certificate, certify
from service.planning.search.column_generation import Generated, generate
from service.planning.search.construction import Fleet, cost_of, improve
from service.planning.search.diving import Step, dive
from service.planning.search.leaving import stranded
from service.planning.search.master import Master
from service.planning.search.progress import SEVERAL, Run
from service.planning.search.sub_problems import Search, better, sub_problem
from service.planning.tip_plans.capacity_cuts import violated
from service.planning.tip_plans.columns import Column
from service.planning.tip_plans.shortlists import CANDIDATES, FEWER, MANY, Shortlist, candidates

# Iterations after which shortlists are chosen anew, and how many candidates they have then.
REFRESH = {3: CANDIDATES, 8: CANDIDATES}
# On large days: few, chosen anew more often, and more of them as prices become known.
OFTEN = {1: FEWER, 3: FEWER, 6: FEWER, 11: 12, 18: 16}
TOLERANCE = 1e-4
CUTTINGS = 6  # times that cuts are sought
MEAGRE = 3e-5  # by less of the cost, cuts raise the bound too little to go on
BROKEN = 0.01  # by so much of its points a cut must be broken, to be added
ALONE = 7  # so few vehicles are planned together by branch and bound, more of them with cuts
NODES = 400  # of branch and bound
# Small steps take longer and end better: on a day of 30 vehicles one of 0.12 left plans 0.5 %
# dearer than one of 0.04 did, before anything mended them.
STEP, STEP_OF_SEVERAL = Step(share=0.12, results=2), Step(share=0.07, results=3)
SIZES_OF_MANY = (6, 8, 14)  # vehicles of sub-problems, in turn
PATIENCE = 40  # sub-problems in a row that may gain nothing; more where vehicles are many


def search(run: Run, ground: Ground, known: list[Column]) -> str:
    """Find the prices, a bound and better plans; return what ended the search.

    ``known`` are tip plans to choose from besides.
    """
    tables, fleet = run.tables, run.fleet
    master = Master(
        tables, room=tables.destinations.capacity_kg, vehicles=list(range(len(run.plan)))
    )
    master.add_all([*run.plan, *known])
    closed = Fleet.of(ground.tables, count=candidates(tables)) if ground.closed else fleet
    certified = _certified(run, master, closed)
    search = Search(
        fleet=Fleet(tables=tables, lists=certified.lists),
        pool=master,
        prices=certified.linear,
        chance=random.Random(run.seed),  # noqa: S311 - a repeatable choice, nothing secret
    )
    if len(run.plan) > SEVERAL:
        search.sizes = SIZES_OF_MANY
    if not run.done():
        _dived(run, search)
    if not ground.closed and len(run.plan) <= ALONE and not run.done():
        # from a good plan, branch and bound has less to look at
        run.plan, _ = sub_problem(search, run.plan, list(range(len(run.plan))))
        run.nodes += 1
        _close(run, search, certified.certificate)
    _better(run, search)
    run.columns = len(master.columns)
    cost = cost_of(tables, run.plan)
    proven = ground.proven and not stranded(tables, run.plan)
    if proven and cost == run.bound:
        return "optimal"
    if run.cut:  # even if the gap was reached: on another machine it is another plan
        return "clock"
    return "gap" if proven and run.close_enough(cost) else "work"


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
    refresh = OFTEN if len(master.room) > MANY else REFRESH
    found = _price(run, master, None, refresh, run.shares[0])
    run.prices = linear = found.prices
    lists = list(run.fleet.lists)
    for turn in range(run.certificates_at_most):
        if turn > 0:
            found = _price(run, master, found, {}, run.shares[1])
            linear = found.prices if turn == 1 else linear
            found = _cut(run, master, found)
        begun = time.perf_counter()
        certificate = certify(
            closed,
            master,
            found.prices,
            found.of_cuts,
            plans=run.fleet,
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


def _dived(run: Run, search: Search) -> None:
    """Dive to a plan, in small steps where that takes no time, and keep it if it is better."""
    step = STEP_OF_SEVERAL if ALONE < len(run.plan) <= SEVERAL else STEP
    dived = improve(run.fleet, dive(run.fleet, search.pool, run.clock, step), rounds=2)
    search.pool.add_all(dived)
    run.plan = min(run.plan, dived, key=lambda plan: cost_of(run.tables, plan))
    run.report("dive")


def _better(run: Run, search: Search) -> None:
    """Look for a better plan in small sub-problems, as long as that helps."""
    run.plan, more = better(
        search,
        run.plan,
        rounds=max(0, run.stop.rounds - run.nodes),
        patience=max(PATIENCE, len(run.plan)),
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
        before = found.solution.cents
        found = _price(run, master, found, {}, run.shares[1])
        run.say(f"{len(master.cuts)} cuts, {found.solution.cents:.0f} cents")
        if found.solution.cents - before < MEAGRE * before:
            break
    return found


def _price(
    run: Run,
    master: Master,
    before: Generated | None,
    refresh: Mapping[int, int],
    share: float,
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
        most=run.iterations_at_most,
        refresh=refresh,
        clock=lambda: run.past(share),
    )
    run.iterations += found.iterations
    value = f"{found.solution.cents:.0f} cents, estimate {found.estimate / UNITS_PER_CENT:.0f}"
    run.say(f"prices after {run.iterations} iterations, {len(master.columns)} tip plans: {value}")
    return found

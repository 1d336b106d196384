"""The least reduced cost of one vehicle's tip plans at given prices, over all destinations.

First destinations are left out that cannot be part of a plan as cheap as the best one known, then
the labelling runs in bound mode over the others.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.inputs import ASKED, EFFORT, FAR, GRID, NEVER, TRACK
from service.planning.arrays.tables import Tables, VehicleTables, Whole
from service.planning.labelling.destination_elimination import Everywhere, scores
from service.planning.labelling.labels import TRACKED
from service.planning.search.bound_basis import BoundBasis
from service.planning.search.lateness_prices import Market, as_before, root_of
from service.planning.tip_plans.capacity_cuts import Tolls
from service.planning.tip_plans.columns import Column, Tips, offer_of, price_shortlist, returned_to
from service.planning.tip_plans.shortlists import (
    EFFORT_OF_A_BOUND,
    FINE,
    NOWHERE,
    Shortlist,
    of_rows,
    rules,
    told,
)

EFFORT_ON_COARSE = 5_000  # states that a bound looks at before it tells loads apart finely
EFFORT_ON_TRACKED = 60_000  # and once it is proven without tracking; that lifts it a little more
MANY = 600  # candidates a gap, above which they are told apart more finely
KEPT = 3  # times as many of the old list are kept, if they take all there may be
PAIRS = 8_000_000  # of candidates in all gaps; what does not fit lowers the bound, see ``widened``


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One vehicle at some prices, and its best tip plan, of reduced cost ``known`` [units]."""

    tables: Tables
    vehicle: VehicleTables
    listed: Shortlist
    market: Market
    column: Column
    known: int


def _scores(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    known: int,
    *,
    fine: bool = False,
) -> Whole:
    d, tolls = tables.destinations, market.tolls or Tolls.none(len(market.prices))
    far = Everywhere(
        mode=tables.map.mode,
        points=tables.map.points,
        metres=tables.map.metres,
        seconds=tables.map.seconds,
        factors=tables.map.factors,
        places=vehicle.points,
        place_of=d.place,
        accepts=vehicle.accepts,
        stop=d.stop,
        tip_s=d.tip_s,
        close_s=d.close_s,
        price=market.prices,
        room=market.room,
        toll_kg=tolls.kg,
        toll=tolls.cost,
    )
    offer = offer_of(tables, listed, market.prices, market.room, market.tolls)
    rule = told(rules(tables, vehicle, results=1, tolls=tolls, fine=fine), listed)
    rule[ASKED] = 0
    found: Whole = scores(rule, listed.road, offer, far, known)
    return found


def reselected(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    *,
    known: int,
    slack: int,
    count: int,
    used: Tips = (),
) -> Shortlist:
    """Return a shortlist of the destinations that look best at these prices, at most ``count``.

    These are such as a plan may have that costs ``known`` and ``slack`` at most.

    Takers that some load may need stay: the best of the old list, ``KEPT`` times as many at most,
    are kept with the new. So do those ``used`` in a tip plan.
    """
    extra = _scores(tables, vehicle, listed, market, known + slack)
    must: dict[int, set[int]] = {}
    for gap, number, *_ in [*vehicle.kept.tolist(), *vehicle.locks.tolist(), *used]:
        must.setdefault(gap, set()).add(number)
    every = int(np.bitwise_or.reduce(vehicle.jobs[:, 2], initial=int(vehicle.start[3])))
    rows = []
    for gap in range(len(listed.road.legs)):
        have = listed.in_gap(gap)
        order = np.argsort(extra[gap], kind="stable")
        good = order[:count][extra[gap][order[:count]] < FAR]
        have = have[np.argsort(extra[gap][have], kind="stable")]
        takers = have[(every & ~vehicle.accepts[have]) == 0][: KEPT * count]
        kept = np.array([d for d in sorted(must.get(gap, ())) if d in have], dtype=np.int64)
        rows.append(np.unique(np.concatenate([good, takers, kept])))
    return as_before(tables, vehicle, of_rows(tables, vehicle, rows, count), listed.late_prices)


def only_at(tables: Tables, vehicle: VehicleTables, listed: Shortlist, tips: Tips) -> Shortlist:
    """Return the shortlist with nothing but the destinations of some tips, each in its gap."""
    gaps = range(len(listed.road.legs))
    rows = [
        np.array(sorted({d for g, d, _ in tips if g == gap and d != NOWHERE}), np.int64)
        for gap in gaps
    ]
    return as_before(
        tables, vehicle, of_rows(tables, vehicle, rows, listed.size), listed.late_prices
    )


def widened(case: Case) -> tuple[Shortlist, int]:
    """Return a shortlist of all that could beat what is known, and a bound on the others."""
    tables, vehicle, market, known = case.tables, case.vehicle, case.market, case.known
    listed = case.listed
    while True:
        score = _scores(tables, vehicle, listed, market, known)
        if (score < known).sum(axis=1).max() > MANY:
            score = _scores(tables, vehicle, listed, market, known, fine=True)
        rows, beyond, added = [], NEVER, False
        listed_in = [listed.in_gap(gap) for gap in range(len(listed.road.legs))]
        for gap, have in enumerate(listed_in):
            score[gap][have] = FAR
        most = _widest((score < known).sum(axis=1) + [len(have) for have in listed_in])
        for gap, have in enumerate(listed_in):
            more = np.flatnonzero(score[gap] < known)
            if len(more) > max(0, most - len(have)):
                order = more[np.argsort(score[gap][more], kind="stable")]
                fits = max(0, most - len(have))
                more = order[:fits]
                beyond = min(beyond, int(score[gap][order[fits]]))
            added = added or len(more) > 0
            rows.append(np.sort(np.concatenate([have, more])))
        if not added:
            return listed, beyond
        size, late_prices = listed.size, listed.late_prices
        del listed  # of a thousand candidates a gap it has a hundred megabytes
        listed = as_before(tables, vehicle, of_rows(tables, vehicle, rows, size), late_prices)


def _widest(counts: Whole) -> int:
    """Return how many candidates a gap may have, for all gaps to keep within ``PAIRS``.

    Memory goes by pairs: a single gap may have 2,800 candidates, ten gaps 890 each.
    """
    low, high = 0, int(counts.max(initial=0))
    while low < high:
        middle = (low + high + 1) // 2
        if (np.minimum(counts, middle) ** 2).sum() <= PAIRS:
            low = middle
        else:
            high = middle - 1
    return low


def least_reduced(case: Case, *, ceiling: int) -> tuple[int, BoundBasis]:
    """Return the least reduced cost of any legal tip plan of one vehicle, over all destinations.

    Parameters
    ----------
    ceiling
        Candidates are kept for plans up to this cost, so that bounds above the least can rest on
        them.
    """
    most = max(case.known, ceiling)
    wide, beyond = widened(dataclasses.replace(case, known=most))
    least, tips = labelled_least(case.tables, case.vehicle, wide, case.market, known=case.known)
    found = BoundBasis(
        column=case.column,
        narrow=case.listed,
        wide=wide,
        prices=case.market.prices,
        least=min(most, beyond),
        tips=tips,
    )
    return min(least, case.known, beyond), found


def labelled_least(
    tables: Tables,
    vehicle: VehicleTables,
    wide: Shortlist,
    market: Market,
    *,
    known: int,
    effort: int = EFFORT_OF_A_BOUND,
) -> tuple[int, Tips]:
    """Return the least reduced cost on these candidates by labelling in bound mode, at most known.

    With it come the tips that it stands for; they need not be a legal plan.

    A destination to which the cheapest result returns is tracked, and the search begins anew. Each
    look at a cutoff is limited to the ``effort``, a count of states. Loads are told apart in coarse
    steps first: finer ones cost more to prepare, and pay where the search is long.
    """
    tracked: list[int] = []
    least = -NEVER
    plan: Tips = ()
    rule = rules(tables, vehicle, results=1, bound=True, cutoff=known, tolls=market.tolls)
    most = min(int(rule[EFFORT]), effort)
    rule[EFFORT] = min(most, EFFORT_ON_COARSE)
    while True:
        reds, lengths, tips, made = price_shortlist(
            tables, wide, rule, prices=market.prices, room=market.room, tolls=market.tolls
        )
        if made < 0:
            least = max(least, int(reds[0]))
            if rule[GRID] >= FINE:
                break
            rule[GRID], rule[EFFORT] = FINE, most
            continue
        if not len(reds):
            least, plan = known, ()
            break
        found = tuple((g, d, q) for g, d, q in tips[0, : lengths[0]].tolist())
        if int(reds[0]) > least:  # each is a bound, and tracking may loosen what else is doubtful
            least, plan = int(reds[0]), found
        rule[EFFORT] = min(int(rule[EFFORT]), EFFORT_ON_TRACKED)
        twice = returned_to(found, tracked)
        if least >= known or not twice or len(tracked) >= TRACKED:
            break
        for number in twice[: TRACKED - len(tracked)]:
            wide.road.near[wide.who == number, TRACK] = len(tracked)
            tracked.append(number)
    wide.road.near[:, TRACK] = -1
    return least, plan


def rooted(case: Case) -> int:
    """Return a bound on a vehicle's reduced cost that takes no labelling, over all destinations.

    Only such are looked at as could lower what the shortlist gives at once.
    """
    tables, vehicle, market = case.tables, case.vehicle, case.market
    least = min(case.known, root_of(tables, vehicle, case.listed, market))
    wide, beyond = widened(dataclasses.replace(case, known=least))
    return min(least, beyond, root_of(tables, vehicle, wide, market, fine=True))

"""A lower bound on the cost of every legal plan, over all destinations.

For any scarcity prices, the sum of every vehicle's cheapest tip plan at these prices, less what the
room earns at them, bounds the cost of all plans from below (Lagrangian relaxation). Here each
vehicle's cheapest plan is found exactly: first destinations are left out that cannot be part of a
plan as cheap as the best one known, then the labelling runs in bound mode over the others.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from service.planning.columns import (
    Column,
    Tips,
    best_columns,
    offer_of,
    price_shortlist,
    returned_to,
)
from service.planning.greedy import Fleet
from service.planning.known import Known
from service.planning.lateness import Market, as_before, root_of, sharpened
from service.planning.master import Master
from service.planning.reach import Everywhere, scores
from service.planning.roads import FAR, NEVER, TRACK
from service.planning.shortlists import Shortlist, rules, shortlist_of
from service.planning.states import TRACKED
from service.planning.tables import Tables, VehicleTables, Whole
from service.planning.tolls import Tolls

HEADROOM_PERMILLE = 15  # above the best plan, in which candidates are kept too
# How to look for a plan that a bound says there may be: quickly or not, states after a job.
LEARNING = ((True, 40), (False, 80))
MOST = 500  # candidates a gap; what does not fit lowers the bound, see ``widened``


def _scores(
    tables: Tables, vehicle: VehicleTables, listed: Shortlist, market: Market, known: int
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
        slopes=listed.slopes,
    )
    offer = offer_of(tables, listed, market.prices, market.room, market.tolls)
    found: Whole = scores(
        rules(tables, vehicle, results=1, tolls=tolls), listed.road, offer, far, known
    )
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
) -> Shortlist:
    """Return a shortlist of the destinations that look best at these prices, at most ``count``.

    These are such as a plan may have that costs ``known`` and ``slack`` at most.

    Takers that some load may need stay: the best of the old list are kept with the new.
    """
    extra = _scores(tables, vehicle, listed, market, known + slack)
    must = {(int(g), int(d)) for g, d in [*vehicle.kept.tolist(), *vehicle.locks[:, :2].tolist()]}
    rows = []
    for gap in range(len(listed.road.legs)):
        have = _listed(listed, gap)
        order = np.argsort(extra[gap], kind="stable")
        good = order[:count][extra[gap][order[:count]] < FAR]
        wide = [d for d in have.tolist() if _rare(vehicle, d) or (gap, d) in must]
        rows.append(np.unique(np.concatenate([good, np.array(wide, dtype=np.int64)])))
    return as_before(tables, vehicle, of_rows(tables, vehicle, rows, listed.size), listed)


def _listed(listed: Shortlist, gap: int) -> Whole:
    """Return the destinations on the list of a gap."""
    return listed.who[listed.road.offsets[gap] : listed.road.offsets[gap + 1]]


def _rare(vehicle: VehicleTables, number: int) -> bool:
    """Tell whether a destination takes whatever this vehicle may have aboard."""
    every = int(np.bitwise_or.reduce(vehicle.jobs[:, 2], initial=int(vehicle.start[3])))
    return (every & ~int(vehicle.accepts[number])) == 0


def of_rows(tables: Tables, vehicle: VehicleTables, rows: list[Whole], size: int) -> Shortlist:
    """Return the shortlist with these destinations, by gap."""
    counts = np.array([len(row) for row in rows], dtype=np.int64)
    chosen = np.zeros((len(rows), max(1, int(counts.max()))), dtype=np.int64)
    for gap, row in enumerate(rows):
        chosen[gap, : len(row)] = row
    return shortlist_of(tables, vehicle, chosen, counts, size)


def widened(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    *,
    column: Column,
    known: int,
) -> tuple[Shortlist, int]:
    """Return a shortlist of all that could beat ``known``, and a bound on the others."""
    listed = sharpened(tables, vehicle, listed, column, market, known=known)
    while True:
        score = _scores(tables, vehicle, listed, market, known)
        rows, beyond, added = [], NEVER, False
        for gap in range(len(listed.road.legs)):
            have = _listed(listed, gap)
            score[gap][have] = FAR
            more = np.flatnonzero(score[gap] < known)
            if len(more) + len(have) > MOST:
                order = more[np.argsort(score[gap][more], kind="stable")]
                fits = max(0, MOST - len(have))
                more = order[:fits]
                beyond = min(beyond, int(score[gap][order[fits]]))
            added = added or len(more) > 0
            rows.append(np.sort(np.concatenate([have, more])))
        if not added:
            return listed, beyond
        wider = of_rows(tables, vehicle, rows, listed.size)
        listed = as_before(tables, vehicle, wider, listed)


def least_reduced(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    *,
    column: Column,
    known: int,
    ceiling: int,
) -> tuple[int, Known]:
    """Return the least reduced cost of any legal tip plan of one vehicle, over all destinations.

    Parameters
    ----------
    column, known
        The best tip plan known at these prices, and its reduced cost [units].
    ceiling
        Candidates are kept for plans up to this cost, so that bounds above the least can rest on
        them.
    """
    wide, beyond = widened(
        tables, vehicle, listed, market, column=column, known=max(known, ceiling)
    )
    least, _ = labelled_least(tables, vehicle, wide, market, known=known)
    outside = min(max(known, ceiling), beyond)
    found = Known(column=column, narrow=listed, wide=wide, prices=market.prices, least=outside)
    return min(least, known, beyond), found


def labelled_least(
    tables: Tables, vehicle: VehicleTables, wide: Shortlist, market: Market, *, known: int
) -> tuple[int, Tips]:
    """Return the least reduced cost on these candidates by labelling in bound mode, at most known.

    With it come the tips that it stands for; they need not be a legal plan.

    A destination to which the cheapest result returns is tracked, and the search begins anew.
    """
    tracked: list[int] = []
    least = known
    plan: Tips = ()
    rule = rules(tables, vehicle, results=1, bound=True, cutoff=known, tolls=market.tolls)
    while True:
        reds, lengths, tips, effort = price_shortlist(
            tables, wide, rule, prices=market.prices, room=market.room, tolls=market.tolls
        )
        if effort < 0:
            least = max(int(reds[0]), least if tracked else -NEVER)
            break
        if not len(reds):
            least, plan = known, ()
            break
        least = int(reds[0])
        plan = tuple((g, d, q) for g, d, q in tips[0, : lengths[0]].tolist())
        twice = returned_to(plan, tracked)
        if least >= known or not twice or len(tracked) >= TRACKED:
            break
        for number in twice[: TRACKED - len(tracked)]:
            wide.road.near[wide.who == number, TRACK] = len(tracked)
            tracked.append(number)
    wide.road.near[:, TRACK] = -1
    return max(least, root_of(tables, vehicle, wide, market)), plan


def rooted(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    *,
    column: Column,
    known: int,
) -> int:
    """Return a bound on a vehicle's reduced cost that takes no labelling, over all destinations.

    Only such are looked at as could lower what the shortlist gives at once.
    """
    least = min(known, root_of(tables, vehicle, listed, market))
    wide, beyond = widened(tables, vehicle, listed, market, column=column, known=least)
    return min(least, beyond, root_of(tables, vehicle, wide, market))


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A bound on every plan, what it rests on by vehicle, and how many better tip plans came up."""

    bound: int
    known: dict[int, Known]
    learned: int


def certify(
    fleet: Fleet,
    master: Master,
    prices: Whole,
    of_cuts: Whole,
    *,
    learn: bool,
    keep: bool,
    clock: Callable[[], bool],
) -> Certificate:
    """Return a bound in units on the cost of every legal plan, from prices of scarcity and cuts.

    With ``learn``, tip plans that beat those known go into the master, and the vehicle's shortlist
    is chosen anew; without, the fleet's ways may be shorter than those of the plans. Vehicles that
    the clock leaves no time for get a bound without a search, so that the sum stays a bound. With
    ``keep``, what the bound rests on is kept for ``branching``; it takes some megabytes a vehicle.
    """
    tables, room, fee = fleet.tables, master.room, fleet.tables.destinations.fee
    tolls = master.tolls(of_cuts)
    market = Market(prices=fee + prices, room=room, tolls=tolls)
    total = -master.sold(prices, of_cuts)
    found: dict[int, Known] = {}
    learned = 0
    best = master.cheapest(prices, of_cuts)
    for number in _loosest_first(fleet, best, market):
        vehicle, listed = tables.vehicles[number], fleet.lists[number]
        known, column = best[number]
        if clock():
            total += rooted(tables, vehicle, listed, market, column=column, known=known)
            continue
        least, seen = least_reduced(
            tables,
            vehicle,
            listed,
            market,
            column=column,
            known=known,
            ceiling=known + known // 1000 * HEADROOM_PERMILLE if keep else known,
        )
        total += least
        if keep:
            found[number] = seen
        if not learn or least >= known:
            continue
        fleet.lists[number] = reselected(
            tables,
            vehicle,
            seen.wide,
            market,
            known=known,
            slack=known // 20,
            count=listed.size,
        )
        for quick, beam in LEARNING:
            better = best_columns(
                tables,
                vehicle,
                fleet.lists[number],
                prices=market.prices,
                room=room,
                results=3,
                cutoff=known - 1,
                quick=quick,
                beam=beam,
                tolls=tolls,
            )
            learned += sum(master.add(fleet.column(number, tips)) for _, tips in better)
            if better:
                break
    return Certificate(bound=total, known=found, learned=learned)


def _loosest_first(fleet: Fleet, best: dict[int, tuple[int, Column]], market: Market) -> list[int]:
    """Return the vehicles, first those whose shortlist bounds their best plan worst.

    If the clock cuts a certificate, it then leaves those that a search would raise least: on a day
    of 500 vehicles the other order left nine, and the bound was 0.5 % lower.
    """
    looseness = {}
    for number, (value, _) in best.items():
        root = root_of(fleet.tables, fleet.tables.vehicles[number], fleet.lists[number], market)
        looseness[number] = value - root
    return sorted(best, key=lambda number: (-looseness[number], number))

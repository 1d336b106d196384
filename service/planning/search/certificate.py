"""A lower bound on the cost of every legal plan, over all destinations.

For any scarcity prices, the sum of every vehicle's cheapest tip plan at these prices, less what the
room earns at them, bounds the cost of all plans from below (Lagrangian relaxation). Here each
vehicle's cheapest plan is found exactly: first destinations are left out that cannot be part of a
plan as cheap as the best one known, then the labelling runs in bound mode over the others.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from service.planning.arrays.tables import Whole
from service.planning.search.bound_basis import BoundBasis
from service.planning.search.construction import Fleet
from service.planning.search.lateness_prices import Market, as_before, root_of
from service.planning.search.master import Master
from service.planning.search.vehicle_bounds import Case, least_reduced, only_at, reselected, rooted
from service.planning.tip_plans.columns import BEAM, Column, best_columns
from service.planning.tip_plans.shortlists import Shortlist, of_rows

HEADROOM_PERMILLE = 15  # above the best plan, in which candidates are kept too
# How to look for a plan that a bound says there may be: quickly or not, states after a job.
LEARNING = ((True, 40), (False, 80))


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A bound on every plan, what it rests on by vehicle, and how many better tip plans came up."""

    bound: int
    known: dict[int, BoundBasis]
    learned: int


def certify(
    fleet: Fleet,
    master: Master,
    prices: Whole,
    of_cuts: Whole,
    *,
    plans: Fleet,
    keep: bool,
    clock: Callable[[], bool],
) -> Certificate:
    """Return a bound in units on the cost of every legal plan, from prices of scarcity and cuts.

    Tip plans that beat those known go into the master, and the vehicle's shortlist is chosen anew.
    Those are of the fleet of the ``plans``, whose ways may be longer than a bound's. Vehicles that
    the clock leaves no time for get a bound without a search, so that the sum stays a bound. With
    ``keep``, what the bound rests on is kept for ``branching``; it takes some megabytes a vehicle.
    """
    tables, fee = fleet.tables, fleet.tables.destinations.fee
    market = Market(prices=fee + prices, room=master.room, tolls=master.tolls(of_cuts))
    total = -master.sold(prices, of_cuts)
    found: dict[int, BoundBasis] = {}
    learned = 0
    best = master.cheapest(prices, of_cuts)
    for number in _loosest_first(fleet, best, market):
        vehicle, listed = tables.vehicles[number], fleet.lists[number]
        known, column = best[number]
        case = Case(
            tables=tables,
            vehicle=vehicle,
            listed=listed,
            market=market,
            column=column,
            known=known,
        )
        if clock():
            total += rooted(case)
            continue
        least, seen = least_reduced(
            case, ceiling=known + known // 1000 * HEADROOM_PERMILLE if keep else known
        )
        total += least
        if keep:
            found[number] = seen
        if least >= known:
            continue
        listed = reselected(
            tables,
            vehicle,
            seen.wide,
            market,
            known=known,
            slack=known // 20,
            count=listed.size,
            used=seen.tips,
        )
        fleet.lists[number] = listed
        learned += _learned(plans, master, case, seen, listed)
    return Certificate(bound=total, known=found, learned=learned)


def _learned(plans: Fleet, master: Master, case: Case, seen: BoundBasis, listed: Shortlist) -> int:
    """Add tip plans that beat the best one known, if any are found; return how many they are.

    They are looked for where the tips of the bound are, then on the vehicle's new shortlist, on the
    roads as plans drive them.
    """
    number, market = case.column.vehicle, case.market
    if plans.lists[number] is not listed:
        rows = [listed.in_gap(gap) for gap in range(len(listed.road.legs))]
        driven = of_rows(plans.tables, case.vehicle, rows, listed.size)
        plans.lists[number] = as_before(plans.tables, case.vehicle, driven, listed.late_prices)
    on_the_spot = only_at(plans.tables, case.vehicle, seen.wide, seen.tips)
    for where, quick, beam in (
        (on_the_spot, False, BEAM),
        *((plans.lists[number], *how) for how in LEARNING),
    ):
        better = best_columns(
            plans.tables,
            case.vehicle,
            where,
            prices=market.prices,
            room=market.room,
            results=3,
            cutoff=case.known - 1,
            quick=quick,
            beam=beam,
            tolls=market.tolls,
        )
        if better:
            return sum(master.add(plans.column(number, tips)) for _, tips in better)
    return 0


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

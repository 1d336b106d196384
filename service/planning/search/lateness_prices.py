"""Lateness priced per second, so that the bounds of a late vehicle's day are close and quick."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.delays import late_at_prices
from service.planning.arrays.tables import Tables, VehicleTables, Whole
from service.planning.arrays.unaided_day import late_plainly
from service.planning.labelling.destination_elimination import root
from service.planning.tip_plans.capacity_cuts import Tolls
from service.planning.tip_plans.columns import offer_of
from service.planning.tip_plans.shortlists import Shortlist, rules, told

SHARES = 8  # parts of the full price of a late second that are told apart
WIDTHS = (SHARES // 2, SHARES // 4, SHARES // 8)  # how far apart those are that are tried, in turn


@dataclass(frozen=True, slots=True, kw_only=True)
class Market:
    """Prices and room, in which tip plans are compared."""

    prices: Whole  # units per kg: fee and scarcity price
    room: Whole
    tolls: Tolls | None = None  # what large tips cost besides


def foreseen(
    tables: Tables, vehicle: VehicleTables, listed: Shortlist, market: Market
) -> Shortlist:
    """Return the shortlist with lateness priced where a plain day is late, if that is better."""
    late = late_plainly(rules(tables, vehicle, results=1), listed.road)
    if not late.any():
        return listed
    prices = _searched(tables, vehicle, listed, market, np.flatnonzero(late))
    priced = _priced(tables, vehicle, listed, prices)
    value = root_of(tables, vehicle, listed, market)
    return priced if root_of(tables, vehicle, priced, market) > value else listed


def _searched(
    tables: Tables, vehicle: VehicleTables, listed: Shortlist, market: Market, late: Whole
) -> Whole:
    """Return good prices of a late second at these jobs: from the full ones on, one at a time."""
    full = _full(tables, len(vehicle.jobs))
    prices = np.zeros_like(full)
    prices[late] = full[late]
    value = root_of(tables, vehicle, _priced(tables, vehicle, listed, prices), market)
    for job in late[full[late] > 0].tolist():
        for width in WIDTHS:
            middle = int(prices[job] * SHARES // full[job])
            first = width == WIDTHS[0]
            for share in range(0, SHARES + 1, width) if first else (middle - width, middle + width):
                tried = prices.copy()
                tried[job] = full[job] * min(max(share, 0), SHARES) // SHARES
                if tried[job] != prices[job]:
                    priced = _priced(tables, vehicle, listed, tried)
                    found = root_of(tables, vehicle, priced, market)
                    if found > value:
                        value, prices = found, tried
    return prices


def _full(tables: Tables, jobs: int) -> Whole:
    """Return what a late second costs, by job and for the end."""
    full = np.full(jobs + 1, tables.late, dtype=np.int64)
    full[-1] = tables.overtime
    return full


def as_before(
    tables: Tables, vehicle: VehicleTables, listed: Shortlist, late_prices: Whole | None
) -> Shortlist:
    """Return the shortlist with the lateness prices of another one of the same vehicle.

    It takes over the arrays of the one given, which may be large.
    """
    if late_prices is None:
        return listed
    return _filled(tables, vehicle, listed, late_prices)


def _priced(tables: Tables, vehicle: VehicleTables, listed: Shortlist, prices: Whole) -> Shortlist:
    """Return the shortlist with these prices of a late second, by job and for the end."""
    old = listed.road
    road = old._replace(near=old.near.copy(), late=old.late.copy(), pace=old.pace.copy())
    return _filled(tables, vehicle, dataclasses.replace(listed, road=road), prices)


def _filled(tables: Tables, vehicle: VehicleTables, listed: Shortlist, prices: Whole) -> Shortlist:
    """Return the shortlist with these prices, written into its own arrays."""
    late_at_prices(rules(tables, vehicle, results=1), listed.road, prices)
    return dataclasses.replace(listed, late_prices=prices)


def root_of(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    *,
    fine: bool = False,
) -> int:
    """Return the bound on a vehicle's reduced cost that its shortlist gives at once [units]."""
    rule = rules(tables, vehicle, results=1, tolls=market.tolls, fine=fine)
    return int(
        root(
            told(rule, listed),
            listed.road,
            offer_of(tables, listed, market.prices, market.room, market.tolls),
        )
    )

"""Lateness priced per second, so that the bounds of a late vehicle's day are close and quick."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.delays import late_at_prices
from service.planning.arrays.inputs import KG, LAST_S, NEVER, SHIFT_END, START_KG
from service.planning.arrays.tables import Tables, VehicleTables, Whole
from service.planning.arrays.unaided_day import late_plainly
from service.planning.labelling.destination_elimination import root
from service.planning.tip_plans.capacity_cuts import Tolls
from service.planning.tip_plans.columns import Column, arrivals, offer_of
from service.planning.tip_plans.shortlists import Shortlist, rules, shortlist, told

CLOSE_ENOUGH = 50  # a bound within this part of a plan's cost is not sharpened
SHARES = 8  # parts of the full price of a late second that are told apart
WIDTHS = (SHARES // 2, SHARES // 4, SHARES // 8)  # how far apart those are that are tried, in turn
TIGHT_S = 1_800  # a job that is reached so soon before it is late is hardly in time
FEW = 6  # candidates looked at in a gap while prices are searched


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
    prices = _searched(
        tables,
        vehicle,
        listed,
        market,
        prices=np.where(late, _full(tables, len(vehicle.jobs)), 0),
        where=np.flatnonzero(late),
        enough=NEVER,
    )
    return _better(tables, vehicle, listed, market, prices)


def _better(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    prices: Whole,
    *,
    fine: bool = False,
) -> Shortlist:
    """Return the shortlist at these prices of a late second, or as it is if that bounds better."""
    priced = _priced(tables, vehicle, listed, prices)
    value = root_of(tables, vehicle, listed, market, fine=fine)
    return priced if root_of(tables, vehicle, priced, market, fine=fine) > value else listed


def _searched(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    *,
    prices: Whole,
    where: Whole,
    enough: int,
    fine: bool = False,
) -> Whole:
    """Return better prices of a late second, changing one at a time until the bound is enough."""
    full = _full(tables, len(vehicle.jobs))
    value = root_of(tables, vehicle, _priced(tables, vehicle, listed, prices), market, fine=fine)
    for job in where[full[where] > 0].tolist():
        if value >= enough:
            break
        for width in WIDTHS:
            middle = int(prices[job] * SHARES // full[job])
            first = width == WIDTHS[0]
            for share in range(0, SHARES + 1, width) if first else (middle - width, middle + width):
                tried = prices.copy()
                tried[job] = full[job] * min(max(share, 0), SHARES) // SHARES
                if tried[job] != prices[job]:
                    priced = _priced(tables, vehicle, listed, tried)
                    found = root_of(tables, vehicle, priced, market, fine=fine)
                    if found > value:
                        value, prices = found, tried
    return prices


def _full(tables: Tables, jobs: int) -> Whole:
    """Return what a late second costs, by job and for the end."""
    full = np.full(jobs + 1, tables.late, dtype=np.int64)
    full[-1] = tables.overtime
    return full


def sharpened(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    column: Column,
    market: Market,
    *,
    known: int,
    few: Shortlist | None = None,
) -> Shortlist:
    """Return the shortlist with lateness priced per second, if that bounds better.

    The search for prices starts with those the list has, or with the jobs that are late in a known
    plan of reduced cost ``known``, at the full price of a late second, and changes one price at a
    time, where that plan is late or hardly in time: a day that pays to be in time is bounded as
    badly as one that is late. It looks at ``few`` candidates, as many times quicker; without, at
    the nearest. With ``few``, loads are told apart finely: a coarse bound of a wide list is so much
    below that it may rise where a fine one falls. A bound that is close already is left as it is.
    """
    if close(tables, vehicle, listed, market, known=known):
        return listed
    enough = known - known // CLOSE_ENOUGH
    spare = np.append(vehicle.jobs[:, LAST_S], vehicle.limits[SHIFT_END])
    spare -= arrivals(tables, vehicle, column.tips)
    full = _full(tables, len(vehicle.jobs))
    kg, fine = int(vehicle.jobs[:, KG].sum() + vehicle.start[START_KG]), few is not None
    if few is None:
        few = shortlist(
            tables, vehicle, market.prices, worth=max(1, known // max(1, kg) // 2), count=FEW
        )
    prices = _searched(
        tables,
        vehicle,
        few,
        market,
        prices=np.where(spare < 0, full, 0) if listed.late_prices is None else listed.late_prices,
        where=np.flatnonzero(spare < TIGHT_S)[::-1],
        enough=enough,
        fine=fine,
    )
    return _better(tables, vehicle, listed, market, prices, fine=fine)


def close(
    tables: Tables,
    vehicle: VehicleTables,
    listed: Shortlist,
    market: Market,
    *,
    known: int,
    part: int = CLOSE_ENOUGH,
) -> bool:
    """Tell whether the bound that a shortlist gives at once is within a part of what is known."""
    return root_of(tables, vehicle, listed, market) >= known - known // part


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

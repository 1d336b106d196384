"""How fast grass grows at a temperature, and what the next mowing will bring."""

import math
from collections.abc import Sequence

from service.agronomy.estimates.validity import within

# Mean month of the Gregorian calendar: 365.2425 / 12 days.
_DAYS_PER_MONTH = 365.2425 / 12


def growth_potential(
    *,
    temperature_c: float,
    optimum_c: float,
    width_c: float,
    full_above_optimum: bool,
) -> float:
    """Return the share of its best growth that turf reaches at a temperature.

    Parameters
    ----------
    temperature_c
        Mean air temperature of the day or month [C], -40 to 60.
    optimum_c
        Temperature of the best growth [C], 10 to 40: about 20 for cool-season,
        31 for warm-season turf.
    width_c
        Width of the curve [C], 1 to 20: about 5.5 for cool-season, 7 for
        warm-season turf.
    full_above_optimum
        Whether growth stays full above the optimum: true for warm-season turf
        in the revised model, false for cool-season turf.

    Returns
    -------
    float
        Growth potential [1], 0 to 1.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    GP = exp(-((T - Topt) / width)^2 / 2). Temperature alone: neither light nor
    water nor nitrogen is in it.

    References
    ----------
    [woods-2014-gp] the equation of [gelernter-stowell-2005]; [paceturf-warm-season] the plateau.
    """
    within("temperature_c", temperature_c, low=-40, high=60, unit="C")
    within("optimum_c", optimum_c, low=10, high=40, unit="C")
    within("width_c", width_c, low=1, high=20, unit="C")
    if full_above_optimum and temperature_c > optimum_c:
        return 1.0
    return math.exp(-0.5 * ((temperature_c - optimum_c) / width_c) ** 2)


def daily_growth_g_per_m2(
    *,
    potential: float,
    nitrogen_g_per_m2_per_month: float,
    nitrogen_fraction: float,
) -> float:
    """Return the dry matter turf grows in a day, as its nitrogen supply allows.

    Parameters
    ----------
    potential
        Growth potential of the day [1], 0 to 1.
    nitrogen_g_per_m2_per_month
        Nitrogen the turf takes up in a month of full growth [g/m2 per month],
        0 to 10: what is supplied by fertiliser, returned clippings and soil.
    nitrogen_fraction
        Nitrogen per dry matter of the leaf [kg/kg], 0.01 to 0.08.

    Returns
    -------
    float
        Dry matter grown in the day [g/m2].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    Growth = potential x nitrogen uptake / nitrogen in the leaf. What the leaf
    takes up is what it is made of; the month has 30.44 days. Water and light
    are assumed not to limit, so a dry or shaded lawn grows less.

    References
    ----------
    [woods-2013-gp] and [woods-monthly-nitrogen] use as potential times full use.
    """
    within("potential", potential, low=0, high=1, unit="1")
    within(
        "nitrogen_g_per_m2_per_month",
        nitrogen_g_per_m2_per_month,
        low=0,
        high=10,
        unit="g/m2 per month",
    )
    within("nitrogen_fraction", nitrogen_fraction, low=0.01, high=0.08, unit="1")
    return potential * nitrogen_g_per_m2_per_month / nitrogen_fraction / _DAYS_PER_MONTH


def regrowth_g_per_m2(
    daily_potentials: Sequence[float],
    *,
    nitrogen_g_per_m2_per_month: float,
    nitrogen_fraction: float,
) -> float:
    """Return the dry matter grown since the last mowing.

    Parameters
    ----------
    daily_potentials
        Growth potential of each day since the cut [1], 0 to 1; up to 60 days.
    nitrogen_g_per_m2_per_month
        Nitrogen uptake in a month of full growth [g/m2 per month], 0 to 10.
    nitrogen_fraction
        Nitrogen per dry matter of the leaf [kg/kg], 0.01 to 0.08.

    Returns
    -------
    float
        Dry matter above the cutting height [g/m2], 0 for no days.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    The sum of `daily_growth_g_per_m2`. Past about two months leaves die as fast
    as they grow, and the sum stops meaning anything.

    References
    ----------
    [woods-2013-gp] the daily growth.
    """
    within("number of days", len(daily_potentials), low=0, high=60, unit="d")
    return math.fsum(
        daily_growth_g_per_m2(
            potential=potential,
            nitrogen_g_per_m2_per_month=nitrogen_g_per_m2_per_month,
            nitrogen_fraction=nitrogen_fraction,
        )
        for potential in daily_potentials
    )


def next_mowing_mass_kg(*, area_m2: float, regrowth_g_per_m2: float, moisture: float) -> float:
    """Return the fresh mass the next mowing of a lawn will bring.

    Parameters
    ----------
    area_m2
        Mown area [m2], 0 to 10 million.
    regrowth_g_per_m2
        Dry matter above the cutting height [g/m2], 0 to 1000.
    moisture
        Water per fresh mass [kg/kg], 0 to 0.95.

    Returns
    -------
    float
        Fresh clippings [kg].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    Area x dry matter / 1000 / (1 - moisture).

    References
    ----------
    Conservation of mass; no source needed.
    """
    within("area_m2", area_m2, low=0, high=1e7, unit="m2")
    within("regrowth_g_per_m2", regrowth_g_per_m2, low=0, high=1000, unit="g/m2")
    within("moisture", moisture, low=0, high=0.95, unit="1")
    return area_m2 * regrowth_g_per_m2 / 1000 / (1 - moisture)

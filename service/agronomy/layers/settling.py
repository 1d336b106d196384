"""How clippings settle in a body: with time, and under their own weight."""

import math
from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.layers.material import greatest_density_kg_per_m3

# Standard acceleration of gravity: exact by definition, CGPM 1901.
_GRAVITY_M_PER_S2: Final = 9.80665


def density_after_kg_per_m3(
    *,
    loose_density_kg_per_m3: float,
    settled_density_kg_per_m3: float,
    hours: float,
    half_time_hours: float,
) -> float:
    """Return the density of a load some time after it was tipped in.

    Parameters
    ----------
    loose_density_kg_per_m3
        Density as it falls in [kg/m3], 10 up to the settled one.
    settled_density_kg_per_m3
        Density it ends at [kg/m3], up to 1500.
    hours
        Time since [h], 0 to 10,000.
    half_time_hours
        Time in which half of the way is done [h], 0.01 to 1000.

    Returns
    -------
    float
        Density [kg/m3], between the two.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    settled - (settled - loose) 2^(-t / half time). The two ends are published;
    the half time is common practice, no source: shaking on the road settles a
    load within the first hour or so, standing takes a day.

    References
    ----------
    [bertrand-mst] loose and compacted grass, 1.7 and 3.2 lb/gal.
    """
    within("settled_density_kg_per_m3", settled_density_kg_per_m3, low=10, high=1500, unit="kg/m3")
    within(
        "loose_density_kg_per_m3",
        loose_density_kg_per_m3,
        low=10,
        high=settled_density_kg_per_m3,
        unit="kg/m3",
    )
    within("hours", hours, low=0, high=10_000, unit="h")
    within("half_time_hours", half_time_hours, low=0.01, high=1000, unit="h")
    left = math.exp(-math.log(2) * hours / half_time_hours)
    return settled_density_kg_per_m3 - (settled_density_kg_per_m3 - loose_density_kg_per_m3) * left


def mean_density_kg_per_m3(
    *,
    surface_density_kg_per_m3: float,
    depth_mm: float,
    compressibility_per_kpa: float,
    moisture: float,
) -> float:
    """Return the mean density of a load that presses itself together.

    Parameters
    ----------
    surface_density_kg_per_m3
        Density at the top, where nothing presses [kg/m3], 10 to 1500.
    depth_mm
        Depth of the load [mm], 0 to 5000.
    compressibility_per_kpa
        Part by which density grows per pressure [1/kPa], 0 to 1.
    moisture
        Water per fresh mass [kg/kg], 0 to 0.95: sets the density without air.

    Returns
    -------
    float
        Mean density [kg/m3], from that of the surface to that without air.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    With density rho0 (1 + b p) and dp/dz = rho g, p = (exp(b rho0 g z) - 1) / b
    and the mean is p(L) / (g L). Never above the density at which no air is
    left. b is common practice, no source; it is best found by
    weighing full bodies of two depths.

    References
    ----------
    [das-keener-1997] compost compresses under its own weight, the more so the
    wetter it is; the equation is derived here.
    """
    densest = greatest_density_kg_per_m3(moisture)
    within(
        "surface_density_kg_per_m3", surface_density_kg_per_m3, low=10, high=densest, unit="kg/m3"
    )
    within("depth_mm", depth_mm, low=0, high=5000, unit="mm")
    within("compressibility_per_kpa", compressibility_per_kpa, low=0, high=1, unit="1/kPa")
    weight_kpa = surface_density_kg_per_m3 * _GRAVITY_M_PER_S2 * depth_mm / 1000 / 1000
    exponent = compressibility_per_kpa * weight_kpa
    growth = math.expm1(exponent) / exponent if exponent > 0 else 1.0
    return min(densest, surface_density_kg_per_m3 * growth)


def settled_depth_mm(
    *, depth_mm: float, density_before_kg_per_m3: float, density_after_kg_per_m3: float
) -> float:
    """Return the depth a load has after settling.

    Parameters
    ----------
    depth_mm
        Depth before [mm], 0 to 10,000.
    density_before_kg_per_m3, density_after_kg_per_m3
        Densities before and after [kg/m3], 10 to 1500.

    Returns
    -------
    float
        Depth after [mm].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    The mass stays: depth x before / after.

    References
    ----------
    Conservation of mass; no source needed.
    """
    within("depth_mm", depth_mm, low=0, high=10_000, unit="mm")
    within("density_before_kg_per_m3", density_before_kg_per_m3, low=10, high=1500, unit="kg/m3")
    within("density_after_kg_per_m3", density_after_kg_per_m3, low=10, high=1500, unit="kg/m3")
    return depth_mm * density_before_kg_per_m3 / density_after_kg_per_m3

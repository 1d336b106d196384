"""How warm a layer gets from its own breathing.

A thin layer gives its heat to the air as fast as it makes it. A thick one does
not, warms, works faster for being warm, and runs away to composting
temperatures.
"""

import math
from dataclasses import dataclass
from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.heat.halving import falling_root
from service.agronomy.heat.thermal_properties import (
    heat_production_w_per_m3,
    thermal_conductivity_w_per_m_k,
)
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen_uptake import WARMING_PER_C

# Where s tanh s = 1, exact to the digits kept: the profile parameter at which a perfectly cooled
# slab runs away.
_PERFECTLY_COOLED: Final = 1.1996786402577337
# Growth of the heat production with temperature [1/C]: the rising branch of
# [haug-1993], which overtakes the whole of it above 50 C and so errs towards hot.
GROWTH_PER_C: Final = math.log(WARMING_PER_C)


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerHeat:
    """What becomes of the heat of a layer.

    Parameters
    ----------
    peak_temperature_c
        Temperature the bottom settles at [C]; None where it does not settle.
    critical_depth_mm
        Depth from which the layer runs away [mm].
    """

    peak_temperature_c: float | None
    critical_depth_mm: float

    @property
    def runs_away(self) -> bool:
        """Whether it keeps warming to composting temperatures."""
        return self.peak_temperature_c is None


def layer_heat(
    material: LayerMaterial,
    *,
    depth_mm: float,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
) -> LayerHeat:
    """Return the temperature a layer settles at, or that it runs away.

    Parameters
    ----------
    material
        The layer.
    depth_mm
        Depth of the layer [mm], 1 to 10,000.
    air_temperature_c
        Temperature of the air over it [C], -40 to 50.
    surface_w_per_m2_k
        Heat passed from the open face to the air [W/m2/K], 1 to 100; still air
        about 10.

    Returns
    -------
    LayerHeat
        Peak temperature and critical depth.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    k T'' + q exp(a (T - Ta)) = 0, T' = 0 at the ground, -k T' = h (T - Ta) at
    the open face. With s the profile parameter, delta = a q L^2 / k and
    Bi = h L / k, T at the ground is Ta + ln(2 s^2 / delta) / a and s solves
    (2 / Bi) s tanh s + 2 ln cosh s = ln(2 s^2 / delta). Two, one or no s: the
    smaller is the state a layer reaches, none means it runs away. For a
    perfectly cooled face delta may not exceed 0.878. The ground takes no heat,
    nothing evaporates, and oxygen never runs short: all err towards hot.

    References
    ----------
    [frank-kamenetskii-1969] chapter VI, slab with exponential source;
    [haug-1993] growth of the rate with temperature.
    """
    within("depth_mm", depth_mm, low=1, high=10_000, unit="mm")
    critical_mm = critical_depth_mm(
        material, air_temperature_c=air_temperature_c, surface_w_per_m2_k=surface_w_per_m2_k
    )
    if depth_mm >= critical_mm:
        return LayerHeat(peak_temperature_c=None, critical_depth_mm=critical_mm)
    source, cooling = _groups(
        material,
        depth_mm=depth_mm,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface_w_per_m2_k,
    )
    if source == 0:
        return LayerHeat(peak_temperature_c=air_temperature_c, critical_depth_mm=critical_mm)

    def imbalance(parameter: float) -> float:
        return _loss(parameter, cooling) - math.log(2 * parameter**2 / source)

    # At s = sqrt(delta / 2) the ground would be as warm as the air: a lower bound.
    parameter = falling_root(
        imbalance, low=math.sqrt(source / 2), high=_critical_parameter(cooling)
    )
    rise_c = math.log(2 * parameter**2 / source) / GROWTH_PER_C
    return LayerHeat(peak_temperature_c=air_temperature_c + rise_c, critical_depth_mm=critical_mm)


def critical_depth_mm(
    material: LayerMaterial, *, air_temperature_c: float, surface_w_per_m2_k: float
) -> float:
    """Return the depth from which a layer heats without end.

    Parameters
    ----------
    material
        The layer.
    air_temperature_c
        Temperature of the air over it [C], -40 to 50.
    surface_w_per_m2_k
        Heat passed from the open face to the air [W/m2/K], 1 to 100.

    Returns
    -------
    float
        Critical depth [mm]; 10,000 (ten metres) at most.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    The depth L at which a q L^2 / k equals the greatest delta that has a
    steady state at Bi = h L / k. Both are known functions of the profile
    parameter s, so that one root is left to find.

    References
    ----------
    [frank-kamenetskii-1969] chapter VI.
    """
    deepest_mm = 10_000.0
    source, cooling = _groups(
        material,
        depth_mm=deepest_mm,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface_w_per_m2_k,
    )
    if critical_source(cooling) >= source:
        return deepest_mm

    def headroom(parameter: float) -> float:
        share = _cooling_at(parameter) / cooling
        return _source_at(parameter) - source * share**2

    parameter = falling_root(headroom, low=1e-6, high=_critical_parameter(cooling))
    return deepest_mm * _cooling_at(parameter) / cooling


def critical_source(cooling: float) -> float:
    """Return the greatest heat source, without unit, a cooled slab settles under.

    Parameters
    ----------
    cooling
        Biot number h L / k of the open face [1], 0 to 1e9.

    Returns
    -------
    float
        Critical Frank-Kamenetskii number a q L^2 / k [1]; 0.878 where the face
        is cooled perfectly.

    Raises
    ------
    OutsideValidity
        If the number lies outside the range.

    Notes
    -----
    ln delta = ln(2 s^2) - 2 ln cosh s - (2 / Bi) s tanh s at the s where that
    is greatest: 1 / s - tanh s = (tanh s + s sech^2 s) / Bi.

    References
    ----------
    [frank-kamenetskii-1969] chapter VI, table of critical values.
    """
    within("cooling", cooling, low=0, high=1e9, unit="1")
    return _source_at(_critical_parameter(cooling)) if cooling > 0 else 0.0


def _groups(
    material: LayerMaterial,
    *,
    depth_mm: float,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
) -> tuple[float, float]:
    """Return the Frank-Kamenetskii and the Biot number of a layer."""
    within("air_temperature_c", air_temperature_c, low=-40, high=50, unit="C")
    within("surface_w_per_m2_k", surface_w_per_m2_k, low=1, high=100, unit="W/m2/K")
    conductivity = thermal_conductivity_w_per_m_k(material)
    heat = heat_production_w_per_m3(
        material, factor=math.exp(GROWTH_PER_C * (air_temperature_c - 20))
    )
    depth_m = depth_mm / 1000
    return (
        GROWTH_PER_C * heat * depth_m**2 / conductivity,
        surface_w_per_m2_k * depth_m / conductivity,
    )


def _loss(parameter: float, cooling: float) -> float:
    return 2 / cooling * parameter * math.tanh(parameter) + 2 * math.log(math.cosh(parameter))


def _cooling_at(parameter: float) -> float:
    """Return the Biot number whose hottest steady state has this profile parameter."""
    tangent = math.tanh(parameter)
    return (tangent + parameter * (1 - tangent**2)) / (1 / parameter - tangent)


def _source_at(parameter: float) -> float:
    """Return the heat source of that hottest steady state."""
    return 2 * parameter**2 * math.exp(-_loss(parameter, _cooling_at(parameter)))


def _critical_parameter(cooling: float) -> float:
    """Return the profile parameter of the hottest steady state there is."""
    return falling_root(
        lambda parameter: cooling - _cooling_at(parameter), low=1e-9, high=_PERFECTLY_COOLED
    )

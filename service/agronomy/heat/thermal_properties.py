"""How a layer makes, keeps and passes on heat."""

from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.layers.material import LayerMaterial
from service.core.measures.units import SECONDS_PER_HOUR

# Conductivities [W/m/K] and volumetric heat capacities [J/m3/K] of organic matter,
# water and air at 10 C: [de-vries-1963] table 7.1.
_ORGANIC_W_PER_M_K: Final = 0.25
_WATER_W_PER_M_K: Final = 0.57
_AIR_W_PER_M_K: Final = 0.025
_ORGANIC_J_PER_M3_K: Final = 2.5e6
_WATER_J_PER_M3_K: Final = 4.18e6
# Heat set free per oxygen used [J/g]: [haug-1993]. Hexose alone gives 2805 kJ for
# 192 g, 14.6 kJ/g; the mean of organic matter is a little less.
HEAT_PER_OXYGEN_J_PER_G: Final = 14_000.0


def thermal_conductivity_w_per_m_k(material: LayerMaterial) -> float:
    """Return how well a layer conducts heat.

    Parameters
    ----------
    material
        The layer.

    Returns
    -------
    float
        Thermal conductivity [W/m/K].

    Notes
    -----
    The geometric mean of solids, water and air, each to the power of its share
    of the volume. Heat carried by vapour and by moving air is left out, which
    errs towards hot. The silage of [ahn-2009], 0.09 to 0.47 W/m/K over its
    range of moisture and density, is met within it.

    References
    ----------
    [johansen-1975] geometric mean; [de-vries-1963] the three values.
    """
    return float(
        _ORGANIC_W_PER_M_K**material.solid_fraction
        * _WATER_W_PER_M_K**material.water_fraction
        * _AIR_W_PER_M_K**material.air_filled_porosity
    )


def heat_capacity_j_per_m3_k(material: LayerMaterial) -> float:
    """Return the heat a volume of the layer takes to warm.

    Parameters
    ----------
    material
        The layer.

    Returns
    -------
    float
        Volumetric heat capacity [J/m3/K]; that of the air is left out.

    References
    ----------
    [de-vries-1963] solids and water.
    """
    return (
        _ORGANIC_J_PER_M3_K * material.solid_fraction + _WATER_J_PER_M3_K * material.water_fraction
    )


def heat_production_w_per_m3(material: LayerMaterial, *, factor: float) -> float:
    """Return the heat a volume of the layer sets free.

    Parameters
    ----------
    material
        The layer.
    factor
        Rate of the oxygen uptake relative to 20 C [1], 0 to 50.

    Returns
    -------
    float
        Heat per volume [W/m3].

    Raises
    ------
    OutsideValidity
        If the factor lies outside its range.

    Notes
    -----
    Oxygen uptake x 14 kJ per gram of oxygen.

    References
    ----------
    [haug-1993] heat per oxygen.
    """
    within("factor", factor, low=0, high=50, unit="1")
    oxygen_g_per_m3_s = (
        material.oxygen_uptake_g_per_kg_h
        * material.dry_matter_kg_per_m3
        * factor
        / SECONDS_PER_HOUR
    )
    return oxygen_g_per_m3_s * HEAT_PER_OXYGEN_J_PER_G

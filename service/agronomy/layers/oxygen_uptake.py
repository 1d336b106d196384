"""How fast a layer uses oxygen: kind, age, temperature."""

from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.layers.material import LayerMaterial

# Temperature response of composting, [haug-1993].
WARMING_PER_C: Final = 1.066
DYING_PER_C: Final = 1.21
# Cut grass breathes as its water per fresh mass to this power, [rotz-1995] equation 3.
BREATHING_POWER: Final = 2.6
_SECONDS_PER_HOUR: Final = 3600.0


def uptake_temperature_factor(temperature_c: float) -> float:
    """Return how fast a composting layer works, relative to 20 C.

    Parameters
    ----------
    temperature_c
        Temperature of the material [C], 0 to 70.

    Returns
    -------
    float
        Rate per rate at 20 C [1]; rising throughout the range.

    Raises
    ------
    OutsideValidity
        If the temperature lies outside the range.

    Notes
    -----
    1.066^(T - 20) - 1.21^(T - 60). The printed curve has its top at 71.5 C and
    ends at 80.2 C; other authors see the best composting near 60 C, so above
    that it errs towards fast.

    References
    ----------
    [haug-1993] temperature correction of the reaction rate.
    """
    within("temperature_c", temperature_c, low=0, high=70, unit="C")
    return float(WARMING_PER_C ** (temperature_c - 20) - DYING_PER_C ** (temperature_c - 60))


def cut_grass_uptake_g_per_kg_h(*, temperature_c: float, moisture: float) -> float:
    """Return the oxygen freshly cut grass breathes, before microbes take over.

    Parameters
    ----------
    temperature_c
        Temperature of the grass [C], 0 to 40.
    moisture
        Water per fresh mass [kg/kg], 0.3 to 0.9.

    Returns
    -------
    float
        Oxygen per dry matter [g/kg/h].

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    The loss of dry matter by respiration in a drying swath,
    4.7e-5 T t (Mo^3.6 - Mf^3.6) / (Mo - Mf), taken at one moisture is
    4.7e-5 T x 3.6 M^2.6 per hour; burning hexose takes 192 g of oxygen for
    180 g of dry matter.

    References
    ----------
    [rotz-1995] equation 3.
    """
    within("temperature_c", temperature_c, low=0, high=40, unit="C")
    within("moisture", moisture, low=0.3, high=0.9, unit="1")
    loss_per_h = 4.7e-5 * temperature_c * 3.6 * moisture**BREATHING_POWER
    return float(loss_per_h * 192 / 180 * 1000)


def volumetric_uptake_g_per_m3_s(material: LayerMaterial, *, temperature_c: float) -> float:
    """Return the oxygen a volume of the layer uses.

    Parameters
    ----------
    material
        The layer.
    temperature_c
        Temperature of the material [C], 0 to 70.

    Returns
    -------
    float
        Oxygen per volume of the layer [g/m3/s].

    Raises
    ------
    OutsideValidity
        If the temperature lies outside the range.

    References
    ----------
    [haug-1993] temperature correction.
    """
    per_hour = (
        material.oxygen_uptake_g_per_kg_h
        * uptake_temperature_factor(temperature_c)
        * material.dry_matter_kg_per_m3
    )
    return per_hour / _SECONDS_PER_HOUR

"""How fast a layer uses oxygen: kind, age, temperature."""

from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.layers.material import LayerMaterial
from service.core.measures.units import SECONDS_PER_HOUR

# Temperature response of composting, [haug-1993].
WARMING_PER_C: Final = 1.066
DYING_PER_C: Final = 1.21
# Cut grass breathes as its water per fresh mass to this power, [rotz-1995] equation 3.
BREATHING_POWER: Final = 2.6


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
    return per_hour / SECONDS_PER_HOUR

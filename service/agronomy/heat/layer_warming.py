"""How soon a layer can reach a temperature."""

import math
from typing import Final

from service.agronomy.estimates.validity import within
from service.agronomy.heat.layer_heat import GROWTH_PER_C, layer_heat
from service.agronomy.heat.thermal_properties import (
    heat_capacity_j_per_m3_k,
    heat_production_w_per_m3,
)
from service.agronomy.layers.material import LayerMaterial

_SECONDS_PER_HOUR: Final = 3600.0


def earliest_hours_to(material: LayerMaterial, *, start_c: float, target_c: float) -> float | None:
    """Return the time before which a layer cannot reach a temperature.

    Parameters
    ----------
    material
        The layer.
    start_c
        Temperature it starts at [C], -40 to 60.
    target_c
        Temperature it is to reach [C], the start to 70.

    Returns
    -------
    float or None
        Hours without any loss of heat [h]; None if it makes no heat.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    rho c dT/dt = q20 exp(a (T - 20)) has the solution
    t = rho c / (a q20) [exp(-a (T0 - 20)) - exp(-a (T1 - 20))]. A real heap
    takes longer: it loses heat, dries, and runs short of air.

    References
    ----------
    Integrated here; [haug-1993] growth of the rate with temperature.
    """
    within("start_c", start_c, low=-40, high=60, unit="C")
    within("target_c", target_c, low=start_c, high=70, unit="C")
    heat_at_20 = heat_production_w_per_m3(material, factor=1.0)
    if heat_at_20 == 0:
        return None
    seconds = (
        heat_capacity_j_per_m3_k(material)
        / (GROWTH_PER_C * heat_at_20)
        * (math.exp(-GROWTH_PER_C * (start_c - 20)) - math.exp(-GROWTH_PER_C * (target_c - 20)))
    )
    return seconds / _SECONDS_PER_HOUR


def hours_to(
    material: LayerMaterial,
    *,
    depth_mm: float,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
    target_c: float,
) -> float | None:
    """Return the earliest hours to a temperature, or None if it is not reached.

    Parameters
    ----------
    material
        The layer.
    depth_mm
        Depth of the layer [mm], 1 to 10,000.
    air_temperature_c
        Temperature of the air and of the fresh layer [C], -40 to 50.
    surface_w_per_m2_k
        Heat passed from the open face to the air [W/m2/K], 1 to 100.
    target_c
        Temperature asked about [C], 0 to 70.

    Returns
    -------
    float or None
        Not before this many hours [h], 0 if the air is as warm; None where it
        settles below the target.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    References
    ----------
    `layer_heat` and `earliest_hours_to`.
    """
    within("target_c", target_c, low=0, high=70, unit="C")
    heat = layer_heat(
        material,
        depth_mm=depth_mm,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface_w_per_m2_k,
    )
    if target_c <= air_temperature_c:
        return 0.0
    if heat.peak_temperature_c is not None and heat.peak_temperature_c < target_c:
        return None
    return earliest_hours_to(material, start_c=air_temperature_c, target_c=target_c)

"""How deep air reaches into a layer that breathes.

A layer of clippings uses oxygen everywhere and gets it through its open face
alone. Where the pores are narrow or filled with water, or the layer is thick,
the bottom runs out and sours.
"""

import math
from typing import Final

from service.agronomy.estimates.validity import OutsideValidity, within
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen_supply import (
    AIR_OXYGEN_FRACTION,
    effective_diffusivity_m2_per_s,
    oxygen_concentration_g_per_m3,
)
from service.agronomy.layers.oxygen_uptake import volumetric_uptake_g_per_m3_s
from service.core.measures.units import SECONDS_PER_HOUR

# End of the range: no layer of clippings is ten metres deep; beyond, the answer is "deep enough".
DEEPEST_MM: Final = 10_000.0


def aerobic_depth_mm(
    material: LayerMaterial, *, temperature_c: float, oxygen_floor: float
) -> float:
    """Return the depth of layer that air keeps supplied through one open face.

    Parameters
    ----------
    material
        The layer.
    temperature_c
        Temperature of the material [C], 0 to 70.
    oxygen_floor
        Least oxygen by volume wanted at the closed face [1], 0 to below 0.2095.

    Returns
    -------
    float
        Depth at which the closed face has just the floor [mm]. 0 for a layer
        without air in it, 10,000 (ten metres) at most.

    Raises
    ------
    OutsideValidity
        If an argument lies outside its range.

    Notes
    -----
    D C'' = R, C(0) = C0 at the open face, C'(L) = 0 at the closed one, R alike
    everywhere: C(z) = C0 - (R / D)(L z - z^2 / 2), so C(L) = floor gives
    L = sqrt(2 D (C0 - floor) / R). The ground is taken as closed. Uptake does
    not slow down as oxygen falls, which errs towards thin. A layer open on two
    faces may be twice as deep.

    References
    ----------
    Fick's law, derived here; [millington-quirk-1961] the diffusivity.
    """
    if oxygen_floor >= AIR_OXYGEN_FRACTION:
        raise OutsideValidity(
            quantity="oxygen_floor", value=oxygen_floor, low=0, high=AIR_OXYGEN_FRACTION, unit="1"
        )
    uptake = volumetric_uptake_g_per_m3_s(material, temperature_c=temperature_c)
    diffusivity = effective_diffusivity_m2_per_s(material, temperature_c=temperature_c)
    span = oxygen_concentration_g_per_m3(
        oxygen_fraction=AIR_OXYGEN_FRACTION, temperature_c=temperature_c
    ) - oxygen_concentration_g_per_m3(oxygen_fraction=oxygen_floor, temperature_c=temperature_c)
    if 2 * diffusivity * span >= uptake * (DEEPEST_MM / 1000) ** 2:
        return DEEPEST_MM
    return math.sqrt(2 * diffusivity * span / uptake) * 1000


def hours_of_oxygen_in_pores(material: LayerMaterial, *, temperature_c: float) -> float:
    """Return how long the air shut into a layer lasts.

    Parameters
    ----------
    material
        The layer; its uptake must not be 0.
    temperature_c
        Temperature of the material [C], 0 to 70.

    Returns
    -------
    float
        Time until the oxygen in the pores is used up [h].

    Raises
    ------
    OutsideValidity
        If the temperature lies outside the range or nothing breathes.

    Notes
    -----
    Air-filled porosity x oxygen in air / uptake. No supply: the core of a deep
    heap, or a closed bag.

    References
    ----------
    Conservation of mass; no source needed.
    """
    within(
        "oxygen_uptake_g_per_kg_h",
        material.oxygen_uptake_g_per_kg_h,
        low=1e-6,
        high=20,
        unit="g/kg/h",
    )
    stored_g_per_m3 = material.air_filled_porosity * oxygen_concentration_g_per_m3(
        oxygen_fraction=AIR_OXYGEN_FRACTION, temperature_c=temperature_c
    )
    uptake = volumetric_uptake_g_per_m3_s(material, temperature_c=temperature_c)
    return stored_g_per_m3 / uptake / SECONDS_PER_HOUR

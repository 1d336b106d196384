"""How deep a fresh layer may be: practice, and physics that may only tighten it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from service.agronomy.heat.layer_safety import SafeDepth, physical_layer_depth, safe_layer_depth_mm
from service.agronomy.layers.material import LayerMaterial, greatest_density_kg_per_m3
from service.core.materials import Wetness
from service.destinations.estimating import PACKING
from service.rules.here import RulesHere
from service.rules.lookup import RuleValue

# Just below the density at which no air is left, where the equations end.
NEARLY_AIRLESS = 0.999


@dataclass(frozen=True, slots=True, kw_only=True)
class LayerDepth:
    """The deepest fresh layer of clippings in one state, and the rules it comes from."""

    safe: SafeDepth
    practice: RuleValue
    sources: tuple[str, ...]


def layer_depth(wetness: Wetness, *, here: RulesHere) -> LayerDepth:
    """Return the deepest fresh layer for clippings of this wetness.

    The weather is not known to the service: the layer must stay aired and cool on a hot
    day, at the wet, dense and hungry end of what the grass may be.
    """
    practice = here.row("fresh_layer_depth_mm_max")
    used = (
        here.row("clipping_moisture", wetness=wetness.value),
        here.row("bulk_density_kg_per_m3", packing=PACKING[wetness]),
        here.row("oxygen_uptake_g_per_kg_h", material="clippings"),
        here.row("layer_air_temperature_c_assumed"),
        here.row("surface_w_per_m2_k"),
        here.row("oxygen_fraction_min"),
        here.row("layer_temperature_c_max"),
    )
    moisture, density, uptake, air, surface, oxygen, hottest = used
    physics_mm = _physics_mm(
        moisture=moisture.high,
        density_kg_per_m3=density.high,
        uptake_g_per_kg_h=uptake.high,
        air_temperature_c=air.value,
        surface_w_per_m2_k=surface.low,
        oxygen_floor=oxygen.value,
        greatest_temperature_c=hottest.value,
    )
    return LayerDepth(
        safe=safe_layer_depth_mm(practice_mm=practice.value, physics_mm=physics_mm),
        practice=practice,
        sources=tuple(sorted({source for value in (practice, *used) for source in value.sources})),
    )


def layer_depths(*, here: RulesHere) -> dict[Wetness, LayerDepth]:
    """Return the deepest fresh layer for every state of the grass."""
    return {wetness: layer_depth(wetness, here=here) for wetness in Wetness}


@lru_cache(maxsize=256)
def _physics_mm(
    *,
    moisture: float,
    density_kg_per_m3: float,
    uptake_g_per_kg_h: float,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
    oxygen_floor: float,
    greatest_temperature_c: float,
) -> float:
    """Return the depth that stays aired and cool [mm].

    A memo of a pure function of few rule values: it takes a sixth of a second, and a
    plan asks it for every bed and lot.
    """
    material = LayerMaterial(
        bulk_density_kg_per_m3=min(
            density_kg_per_m3, NEARLY_AIRLESS * greatest_density_kg_per_m3(moisture)
        ),
        moisture=moisture,
        oxygen_uptake_g_per_kg_h=uptake_g_per_kg_h,
    )
    return physical_layer_depth(
        material,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface_w_per_m2_k,
        oxygen_floor=oxygen_floor,
        greatest_temperature_c=greatest_temperature_c,
    ).depth_mm

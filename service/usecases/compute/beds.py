"""Compute what a bed may take, how safe a layer is, and what to do with a soured one."""

from __future__ import annotations

from collections.abc import Sequence

from service.agronomy.clippings.mass import Content
from service.agronomy.heat.heap_course import BASIS
from service.agronomy.heat.layer_heat import layer_heat
from service.agronomy.heat.layer_safety import physical_layer_depth, safe_layer_depth_mm
from service.agronomy.layers.bed_layer import browns_for, layers_for
from service.agronomy.layers.bed_room import LedgerEntry, bed_room, ledger_sums
from service.agronomy.layers.material import (
    LayerMaterial,
    greatest_density_kg_per_m3,
    mixed_material,
)
from service.agronomy.layers.soured_bed import bioassay_plan, soured_bed_plan
from service.core.materials import GrassKind, Wetness
from service.core.measures.estimates import exactly
from service.destinations.estimating import PACKING, season_of
from service.destinations.freshness import likely_grass
from service.destinations.layer_depth import NEARLY_AIRLESS, layer_depth
from service.usecases.compute.looked_up import LookedUp, told
from service.usecases.compute.lots import NORTH, clippings_of, told_clock

BROWN = "tree_leaves"


def room(
    looked_up: LookedUp,
    *,
    area_m2: float,
    grass_kind: GrassKind = GrassKind.UNKNOWN,
    wetness: Wetness = Wetness.UNKNOWN,
    weighed: bool = False,
    laid: Sequence[LedgerEntry] = (),
    yearly_limit_kg_per_m2: float | None = None,
) -> dict[str, object]:
    """Return the mass a bed may take now, the limit that binds, and how it is laid.

    It is what the bed's verdict says of such a lot: a mass that was weighed counts as it is, one
    that was not by the high end of its estimate.
    """
    depth = layer_depth(wetness, here=looked_up.here)
    _look_up_layer_rules(looked_up, wetness)
    density = looked_up.rule("bulk_density_kg_per_m3", packing=PACKING[wetness])
    density_high, nitrogen_high = _high_ends(looked_up, grass_kind, wetness, weighed=weighed)
    browns_per_green = looked_up.rule("browns_per_green_by_volume").value
    rest_days = round(looked_up.rule("layer_rest_days_min").value)
    found = bed_room(
        area_m2=area_m2,
        density_kg_per_m3=density_high,
        nitrogen_kg_per_kg=nitrogen_high,
        layer_depth_mm_max=depth.safe.depth_mm,
        yearly_mass_kg_per_m2_max=looked_up.rule("plant_matter_kg_per_m2_year_max").value,
        yearly_nitrogen_kg_per_ha_max=looked_up.rule("nitrogen_kg_per_ha_year_max").value,
        laid=ledger_sums(laid),
        bed_limit_kg_per_m2_year=yearly_limit_kg_per_m2,
    )
    brown = looked_up.rulebook.materials[BROWN].bulk_density_kg_per_m3
    looked_up.cite(*brown.sources)
    browns = browns_for(
        clippings_volume_m3=found.mass_kg / density.likely,
        browns_per_green=browns_per_green,
        browns_density_kg_per_m3=brown.likely,
        bag_litres=looked_up.rule("bag_litres").value,
    )
    layers = (
        layers_for(
            mass_kg=found.mass_kg,
            area_m2=area_m2,
            density_kg_per_m3=density_high,
            layer_depth_mm_max=depth.safe.depth_mm,
            rest_days=rest_days,
        )
        if found.mass_kg > 0 and depth.safe.depth_mm > 0
        else ()
    )
    return {
        "mass_kg": found.mass_kg,
        "binding": found.binding,
        "mass_kg_by_limit": dict(found.mass_kg_by_limit),
        "depth_mm": depth.safe.depth_mm,
        "depth_binds": depth.safe.binds.value,
        "layers": [told(layer) for layer in layers],
        "rest_days": rest_days,
        "browns": {"material": BROWN, **told(browns, "volume_litres", "mass_kg", "bags")},
    }


def layer_safety(
    looked_up: LookedUp,
    *,
    depth_mm: float,
    air_temperature_c: float,
    wetness: Wetness = Wetness.UNKNOWN,
    browns_per_green: float = 0.0,
) -> dict[str, object]:
    """Return whether a layer stays aired and cool, and the deepest that would.

    Every depth is of the whole layer as it lies, with the browns in it. That of practice is of
    clippings alone; it is asked of a mixture too, which errs towards thin.
    """
    material = _material(looked_up, wetness, browns_per_green)
    surface = looked_up.rule("surface_w_per_m2_k").low
    by_physics = physical_layer_depth(
        material,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface,
        oxygen_floor=looked_up.rule("oxygen_fraction_min").value,
        greatest_temperature_c=looked_up.rule("layer_temperature_c_max").value,
    )
    safe = safe_layer_depth_mm(
        practice_mm=looked_up.rule("fresh_layer_depth_mm_max").value,
        physics_mm=by_physics.depth_mm,
    )
    heat = layer_heat(
        material,
        depth_mm=depth_mm,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface,
    )
    likely = likely_grass(wetness, here=looked_up.here)
    clock = told_clock(
        looked_up,
        wetness,
        depth_mm=depth_mm,
        temperature_c=air_temperature_c,
        material=_with_browns(looked_up, likely, browns_per_green, end="likely"),
    )
    return {
        "safe": depth_mm <= safe.depth_mm,
        "safe_depth_mm": safe.depth_mm,
        "binds": safe.binds.value,
        "considered_mm": {limit.value: value for limit, value in safe.considered},
        "physics": told(by_physics, "depth_mm", "limit", "temperature_c"),
        "peak_temperature_c": heat.peak_temperature_c,
        "runs_away": heat.runs_away,
        "hours_to_40_c": clock.hours_to_warm,
        "hours_to_60_c": clock.hours_to_hot,
        "amber_hours": clock.amber_hours,
        "red_hours": clock.red_hours,
        "basis": BASIS,
    }


def soured_bed(
    looked_up: LookedUp,
    *,
    area_m2: float,
    depth_mm: float,
    wetness: Wetness = Wetness.RAINED_ON,
) -> dict[str, object]:
    """Return the steps, materials and days for a bed that turned sour, and the bean test.

    Every depth is of the sour clippings as they lie, before browns are forked in.
    """
    brown = looked_up.rulebook.materials[BROWN].bulk_density_kg_per_m3
    looked_up.cite(*brown.sources)
    plan = soured_bed_plan(
        area_m2=area_m2,
        depth_mm=depth_mm,
        density_kg_per_m3=looked_up.rule("bulk_density_kg_per_m3", packing=PACKING[wetness]).likely,
        thin_depth_mm=looked_up.rule("sour_thin_depth_mm").value,
        browns_per_green=looked_up.rule("sour_browns_per_green").value,
        browns_density_kg_per_m3=brown.likely,
        keep_off_plants_days=round(looked_up.rule("sour_keep_off_plants_days").value),
        smell_again_days=round(looked_up.rule("sour_smell_again_days").value),
    )
    beans = bioassay_plan()
    looked_up.cite("osu-bioassay", "wsu-bioassay")
    return {
        "steps": [
            {**told(step, "step", "day_offset", "amount"), "unit": step.unit or None}
            for step in plan.steps
        ],
        **told(plan, "browns_litres", "browns_kg", "surplus_kg", "free_again_day"),
        "if_plants_twist": told(
            beans,
            *("test_pots", "control_pots", "seeds", "material_litres", "potting_mix_litres"),
            *("look_first_day", "look_last_day"),
        ),
    }


def _high_ends(
    looked_up: LookedUp, grass_kind: GrassKind, wetness: Wetness, *, weighed: bool
) -> tuple[float, float]:
    """Return density [kg/m3] and nitrogen [kg/kg] of a lot at its high ends, as verdicts do."""
    lawn = clippings_of(
        looked_up,
        area_m2=1.0,
        height_removed_mm=1.0,
        height_before_mm=None,
        grass_kind=grass_kind,
        wetness=wetness,
        season=season_of(looked_up.day, latitude=NORTH),
    )
    mass, volume, nitrogen = lawn.mass_kg, lawn.volume_m3, lawn.nitrogen_kg
    if weighed:
        holds = Content(
            moisture=looked_up.estimate("clipping_moisture", wetness=wetness.value),
            bulk_density=looked_up.estimate("bulk_density_kg_per_m3", packing=PACKING[wetness]),
            nitrogen_fraction=looked_up.estimate("clipping_nitrogen_fraction_of_dry_matter"),
        )
        mass = exactly(mass.likely, unit="kg", basis="weighed")
        volume, nitrogen = holds.volume_m3(mass), holds.nitrogen_kg(mass)
    return mass.high / volume.high, nitrogen.high / mass.high


def _look_up_layer_rules(looked_up: LookedUp, wetness: Wetness) -> None:
    """Remember the rules that `layer_depth` reads, so that the why names each."""
    for name in (
        "fresh_layer_depth_mm_max",
        "layer_air_temperature_c_assumed",
        "surface_w_per_m2_k",
        "oxygen_fraction_min",
        "layer_temperature_c_max",
    ):
        looked_up.rule(name)
    looked_up.rule("clipping_moisture", wetness=wetness.value)
    looked_up.rule("bulk_density_kg_per_m3", packing=PACKING[wetness])
    looked_up.rule("oxygen_uptake_g_per_kg_h", material="clippings")


def _material(looked_up: LookedUp, wetness: Wetness, browns_per_green: float) -> LayerMaterial:
    """Return the layer at its wet, dense and hungry end, mixed with leaves if asked."""
    moisture = looked_up.rule("clipping_moisture", wetness=wetness.value).high
    density = looked_up.rule("bulk_density_kg_per_m3", packing=PACKING[wetness]).high
    grass = LayerMaterial(
        bulk_density_kg_per_m3=min(density, NEARLY_AIRLESS * greatest_density_kg_per_m3(moisture)),
        moisture=moisture,
        oxygen_uptake_g_per_kg_h=looked_up.rule(
            "oxygen_uptake_g_per_kg_h", material="clippings"
        ).high,
    )
    return _with_browns(looked_up, grass, browns_per_green, end="high")


def _with_browns(
    looked_up: LookedUp, grass: LayerMaterial, browns_per_green: float, *, end: str
) -> LayerMaterial:
    """Return grass mixed with leaves, which breathe as much as this end of their rule says."""
    if browns_per_green <= 0:
        return grass
    brown = looked_up.rulebook.materials[BROWN]
    looked_up.cite(*brown.sources)
    leaves = LayerMaterial(
        bulk_density_kg_per_m3=brown.bulk_density_kg_per_m3.likely,
        moisture=brown.moisture.likely,
        oxygen_uptake_g_per_kg_h=getattr(
            looked_up.rule("oxygen_uptake_g_per_kg_h", material="browns"), end
        ),
    )
    return mixed_material([(1.0, grass), (browns_per_green, leaves)])

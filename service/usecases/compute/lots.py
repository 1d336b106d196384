"""Compute a lot without a record: its estimate, how long it keeps, how fast it dries."""

from __future__ import annotations

from collections.abc import Sequence
from enum import StrEnum

from service.agronomy.clippings.growth import (
    growth_potential,
    next_mowing_mass_kg,
    regrowth_g_per_m2,
)
from service.agronomy.clippings.mass import ClippingsEstimate, estimate_clippings
from service.agronomy.drying.rate import DryingHour, drying_rate_per_h, swath_density_g_per_m2
from service.agronomy.drying.time import drying_time
from service.agronomy.drying.weather import vapour_pressure_deficit_kpa
from service.agronomy.estimates.plausibility import check_mowing
from service.agronomy.estimates.uncertainty import complement, product
from service.agronomy.heat.freshness import FreshnessClock
from service.agronomy.heat.heap_course import BASIS
from service.agronomy.layers.material import LayerMaterial
from service.core.materials import GrassKind, Wetness
from service.core.measures.estimates import exactly
from service.destinations.estimating import PACKING, season_of
from service.destinations.freshness import as_clocked, heap_clock, likely_grass
from service.usecases.compute.looked_up import YIELDS, LookedUp, told, told_factor

CLOCK_RULES = (
    "surface_w_per_m2_k",
    "souring_reference_c",
    "souring_ratio_per_10_c",
    "hold_hours_max",
)
NORTH = 50.0
SOUTH = -50.0


class GrowingKind(StrEnum):
    """The kinds of turf that have a growth curve of their own."""

    COOL_SEASON = "cool_season"
    WARM_SEASON = "warm_season"


def estimate(
    looked_up: LookedUp,
    *,
    area_m2: float,
    height_removed_mm: float,
    height_before_mm: float | None = None,
    grass_kind: GrassKind = GrassKind.UNKNOWN,
    wetness: Wetness = Wetness.UNKNOWN,
    southern_hemisphere: bool = False,
) -> dict[str, object]:
    """Return what a mowing yields, its factors, and whether it looks like published yields."""
    season = season_of(looked_up.day, latitude=SOUTH if southern_hemisphere else NORTH)
    found = clippings_of(
        looked_up,
        area_m2=area_m2,
        height_removed_mm=height_removed_mm,
        height_before_mm=height_before_mm,
        grass_kind=grass_kind,
        wetness=wetness,
        season=season,
    )
    compared = check_mowing(
        dry_matter_kg=found.dry_matter_kg.likely,
        area_m2=area_m2,
        published_g_per_m2=looked_up.estimate(
            "mowing_dry_matter_g_per_m2", grass_kind=grass_kind.value
        ),
    )
    return told(found, *YIELDS, "one_third_rule_broken") | {
        "season": season,
        "plausibility": compared.plausibility.value,
        "dry_matter_g_per_m2": compared.value,
        "factors": [told_factor(factor) for factor in found.factors],
    }


def clippings_of(
    looked_up: LookedUp,
    *,
    area_m2: float,
    height_removed_mm: float,
    height_before_mm: float | None,
    grass_kind: GrassKind,
    wetness: Wetness,
    season: str,
) -> ClippingsEstimate:
    """Return what a mowing yields, with its rules looked up."""
    return estimate_clippings(
        area_m2=area_m2,
        height_removed_mm=height_removed_mm,
        height_before_mm=height_before_mm,
        sward_density=looked_up.estimate(
            "sward_density_g_per_m2_mm", grass_kind=grass_kind.value, season=season
        ),
        moisture=looked_up.estimate("clipping_moisture", wetness=wetness.value),
        bulk_density=looked_up.estimate("bulk_density_kg_per_m3", packing=PACKING[wetness]),
        nitrogen_fraction=looked_up.estimate("clipping_nitrogen_fraction_of_dry_matter"),
        carbon_to_nitrogen=looked_up.estimate("clipping_carbon_to_nitrogen"),
    )


def freshness(
    looked_up: LookedUp,
    *,
    depth_mm: float,
    temperature_c: float,
    wetness: Wetness = Wetness.UNKNOWN,
    open_faces: int = 1,
) -> dict[str, object]:
    """Return when a heap, a body or a bag turns amber and red, from the cut."""
    clock = told_clock(
        looked_up, wetness, depth_mm=depth_mm, temperature_c=temperature_c, open_faces=open_faces
    )
    return {
        "amber_hours": clock.amber_hours,
        "red_hours": clock.red_hours,
        "free_air_space": clock.free_air_space,
        "airless_share": clock.airless_share,
        "airless_after_hours": clock.airless_after_hours,
        "limit": clock.limit.value,
        "hours_to_40_c": clock.hours_to_warm,
        "hours_to_60_c": clock.hours_to_hot,
        "basis": BASIS,
    }


def told_clock(
    looked_up: LookedUp,
    wetness: Wetness,
    *,
    depth_mm: float,
    temperature_c: float,
    open_faces: int = 1,
    material: LayerMaterial | None = None,
) -> FreshnessClock:
    """Return the clock of a heap of likely grass, or of a material, with its rules looked up."""
    wetness = as_clocked(wetness)
    for name in CLOCK_RULES:
        looked_up.rule(name)
    for light in ("amber", "red"):
        looked_up.rule("freshness_hours", light=light)
    looked_up.rule("clipping_moisture", wetness=wetness.value)
    looked_up.rule("bulk_density_kg_per_m3", packing=PACKING[wetness])
    looked_up.rule("oxygen_uptake_g_per_kg_h", material="clippings")
    looked_up.cite("takano-1983", "muck-pitt-1994", "rotz-1995", "robson-1981")
    if material is None:
        material = likely_grass(wetness, here=looked_up.here)
    return heap_clock(
        material,
        here=looked_up.here,
        depth_mm=depth_mm,
        temperature_c=temperature_c,
        open_faces=open_faces,
    )


def drying(
    looked_up: LookedUp,
    *,
    depth_mm: float,
    wetness: Wetness = Wetness.UNKNOWN,
    goal_moisture: float | None = None,
    temperature_c: float | None = None,
    relative_humidity: float | None = None,
    solar_w_per_m2: float | None = None,
    on_tarp: bool = True,
) -> dict[str, object]:
    """Return the hours a thin layer lies to dry; "a few hours" where the weather is unknown."""
    moisture = looked_up.rule("clipping_moisture", wetness=wetness.value).likely
    goal = goal_moisture or looked_up.rule("dried_clippings_moisture").value
    rate = None
    if temperature_c is not None and relative_humidity is not None and solar_w_per_m2 is not None:
        density = looked_up.rule("bulk_density_kg_per_m3", packing="loose").likely
        rate = drying_rate_per_h(
            DryingHour(
                solar_w_per_m2=solar_w_per_m2,
                vapour_pressure_deficit_kpa=vapour_pressure_deficit_kpa(
                    temperature_c=temperature_c, relative_humidity=relative_humidity
                ),
                first_day=True,
            ),
            soil_moisture=looked_up.rule(
                "soil_moisture_under_swath", ground="tarp" if on_tarp else "soil"
            ).value,
            swath_density_g_per_m2=swath_density_g_per_m2(
                depth_mm=depth_mm, bulk_density_kg_per_m3=density, moisture=moisture
            ),
        )
    practice = looked_up.rule("drying_practice_hours")
    found = drying_time(
        moisture=moisture,
        goal_moisture=goal,
        rate_per_h=rate,
        spread=looked_up.rule("drying_spread_ratio").value,
        practice_hours=(practice.low, practice.likely, practice.high),
    )
    return {
        "moisture": moisture,
        "goal_moisture": goal,
        "hours": {"low": found.low_hours, "likely": found.likely_hours, "high": found.high_hours},
        "basis": found.basis.value,
        "rate_per_h": rate,
    }


def regrowth(
    looked_up: LookedUp,
    *,
    area_m2: float,
    daily_mean_temperatures_c: Sequence[float],
    grass_kind: GrowingKind,
    wetness: Wetness = Wetness.UNKNOWN,
    nitrogen_g_per_m2_per_month: float | None = None,
) -> dict[str, object]:
    """Return the mass expected at the next mowing from the weather since the last cut.

    What a turf takes up in a month of full growth, the nitrogen in its leaves and how wet they
    are spread the answer; a known uptake takes the place of the rule's three.
    """
    kind = grass_kind.value
    potentials = [
        growth_potential(
            temperature_c=temperature_c,
            optimum_c=looked_up.rule("growth_optimum_c", grass_kind=kind).value,
            width_c=looked_up.rule("growth_width_c", grass_kind=kind).value,
            full_above_optimum=grass_kind is GrowingKind.WARM_SEASON,
        )
        for temperature_c in daily_mean_temperatures_c
    ]
    if nitrogen_g_per_m2_per_month is None:
        nitrogen = looked_up.estimate("nitrogen_uptake_g_per_m2_per_month")
    else:
        nitrogen = exactly(nitrogen_g_per_m2_per_month, unit="g/m2/month", basis="as entered")
    fraction = looked_up.estimate("clipping_nitrogen_fraction_of_dry_matter")
    moisture = looked_up.estimate("clipping_moisture", wetness=wetness.value)
    grown_g_per_m2 = regrowth_g_per_m2(
        potentials,
        nitrogen_g_per_m2_per_month=nitrogen.likely,
        nitrogen_fraction=fraction.likely,
    )
    dry_matter_g_per_m2 = mass_kg = exactly(0.0, unit="1", basis="nothing has grown")
    if grown_g_per_m2 > 0:
        parts = [(nitrogen, 1.0), (fraction, -1.0)]
        dry_share = complement(moisture, basis="dry matter per wet mass")
        per_uptake = grown_g_per_m2 * fraction.likely / nitrogen.likely
        dry_matter_g_per_m2 = product(parts, scale=per_uptake, unit="g/m2", basis="growth")
        grown_kg = next_mowing_mass_kg(
            area_m2=area_m2, regrowth_g_per_m2=per_uptake, moisture=moisture.likely
        )
        mass_kg = product(
            [*parts, (dry_share, -1.0)],
            scale=grown_kg * dry_share.likely,
            unit="kg",
            basis="growth / (1 - moisture)",
        )
    ends = {
        end: {
            "dry_matter_g_per_m2": getattr(dry_matter_g_per_m2, end),
            "mass_kg": getattr(mass_kg, end),
        }
        for end in ("low", "likely", "high")
    }
    return {"growth_potential": potentials, **ends}

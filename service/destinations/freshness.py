"""How long clippings keep in a body or a bay: custom, which physics may only shorten."""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from math import floor

from service.agronomy.heat.freshness import SouringPace
from service.agronomy.heat.freshness_warming import warming_freshness_clock
from service.agronomy.layers.material import LayerMaterial, greatest_density_kg_per_m3
from service.core.materials import LotStatus, Wetness
from service.core.plans import Ground, RuleClass
from service.destinations.estimating import PACKING
from service.destinations.keeping import KeepingTime
from service.destinations.layer_depth import NEARLY_AIRLESS
from service.destinations.verdicts import Clippings, Reason
from service.rules.lookup import Rulebook

# How deep clippings lie in a body or a bay, open above; common practice, no source.
HEAP_DEPTH_MM = 800.0
OPEN_FACES = 1


def keeping_time(
    wetness: Wetness, *, rulebook: Rulebook, day: date, jurisdiction: str
) -> KeepingTime:
    """Return the clocks of clippings in a heap on a hot day, from the cut.

    The weather is not known to the service. The hours of custom hold; where the heap's own
    heat and want of air turn it sooner, those do.
    """

    def rule(name: str, **case: str) -> float:
        return rulebook.value_on(name, day, jurisdiction=jurisdiction, **case).value

    density = rulebook.value_on(
        "bulk_density_kg_per_m3", day, jurisdiction=jurisdiction, packing=PACKING[wetness]
    )
    moisture = rulebook.value_on(
        "clipping_moisture", day, jurisdiction=jurisdiction, wetness=wetness.value
    )
    amber_hours, red_hours = (rule("freshness_hours", light=light) for light in ("amber", "red"))
    sour_amber, sour_red = _souring_hours(
        moisture=moisture.likely,
        density_kg_per_m3=density.likely,
        uptake_g_per_kg_h=rule("oxygen_uptake_g_per_kg_h", material="clippings"),
        air_temperature_c=rule("layer_air_temperature_c_assumed"),
        surface_w_per_m2_k=rule("surface_w_per_m2_k"),
        amber_hours=amber_hours,
        red_hours=red_hours,
        reference_c=rule("souring_reference_c"),
        ratio_per_10_c=rule("souring_ratio_per_10_c"),
        cap_hours=rule("hold_hours_max"),
    )
    return KeepingTime(
        amber=timedelta(minutes=floor(60 * min(amber_hours, sour_amber))),
        red=timedelta(minutes=floor(60 * min(red_hours, sour_red))),
    )


@lru_cache(maxsize=256)
def _souring_hours(
    *,
    moisture: float,
    density_kg_per_m3: float,
    uptake_g_per_kg_h: float,
    air_temperature_c: float,
    surface_w_per_m2_k: float,
    amber_hours: float,
    red_hours: float,
    reference_c: float,
    ratio_per_10_c: float,
    cap_hours: float,
) -> tuple[float, float]:
    """Return amber and red of the physics [h]: a memo of a pure function of rule values."""
    material = LayerMaterial(
        bulk_density_kg_per_m3=min(
            density_kg_per_m3, NEARLY_AIRLESS * greatest_density_kg_per_m3(moisture)
        ),
        moisture=moisture,
        oxygen_uptake_g_per_kg_h=uptake_g_per_kg_h,
    )
    clock = warming_freshness_clock(
        material,
        depth_mm=HEAP_DEPTH_MM,
        air_temperature_c=air_temperature_c,
        surface_w_per_m2_k=surface_w_per_m2_k,
        open_faces=OPEN_FACES,
        pace=SouringPace(
            amber_hours=amber_hours,
            red_hours=red_hours,
            reference_c=reference_c,
            ratio_per_10_c=ratio_per_10_c,
        ),
        cap_hours=cap_hours,
    )
    return clock.amber_hours, clock.red_hours


def sour_reason(lot: Clippings) -> Reason | None:
    """Return why grass that has stood too long goes to no bed, however thin it is laid, or None."""
    if LotStatus.SOUR not in lot.statuses:
        return None
    return Reason(
        code="lot_sour",
        sentence=(
            f"The grass is sour: it keeps {lot.keeps_hours:g} h from the cut in a body or a bay, "
            "and by then it will have stood longer."
        ),
        rule_class=RuleClass.ADVICE,
        ground=Ground.LOT,
        facts={"status": "sour", "keeps_hours": lot.keeps_hours},
        sources=("common-practice",),
    )

"""How long clippings keep in a body or a bay: custom, which physics may only shorten."""

from __future__ import annotations

from datetime import timedelta
from functools import lru_cache
from math import floor

from service.agronomy.heat.freshness import FreshnessClock, SouringPace, freshness_clock
from service.agronomy.layers.material import LayerMaterial, greatest_density_kg_per_m3
from service.agronomy.layers.oxygen_uptake import BREATHING_POWER
from service.core.materials import LotStatus, Wetness
from service.core.plans import Ground, RuleClass
from service.destinations.estimating import PACKING
from service.destinations.keeping import KeepingTime
from service.destinations.layer_depth import NEARLY_AIRLESS
from service.destinations.reasons import Reason, refusal
from service.destinations.verdicts import Clippings
from service.rules.here import RulesHere

# How deep clippings lie in a body or a bay, open above; common practice, no source.
HEAP_DEPTH_MM = 800.0
OPEN_FACES = 1
# End of the range of the air; a core that was measured may be hotter.
HOTTEST_AIR_C = 50.0
# Water at which the rule of the breathing holds: there [rotz-1995] has its 2.0 g/kg/h.
MOISTURE_OF_UPTAKE = 0.8
# Grass that is, or may be, soft and rich in sugar: [robson-1981] has that breathe 4.6 times as fast
# as poor grass, and the high end of the rule is twice its likely one.
RICH = frozenset({Wetness.LUSH, Wetness.RAINED_ON})


@lru_cache(maxsize=256)
def keeping_time(wetness: Wetness, *, here: RulesHere) -> KeepingTime:
    """Return the clocks of clippings in a heap in warm weather, from the cut.

    The weather is not known to the service. The hours of custom hold; where the heap's own
    heat and want of air turn it sooner, those do.
    """
    clock = heap_clock(likely_grass(wetness, here=here), here=here)
    amber_hours, red_hours = (
        here.value("freshness_hours", light=light) for light in ("amber", "red")
    )
    return KeepingTime(
        amber=timedelta(minutes=floor(60 * min(amber_hours, clock.amber_hours))),
        red=timedelta(minutes=floor(60 * min(red_hours, clock.red_hours))),
    )


def as_clocked(wetness: Wetness) -> Wetness:
    """Return the wetness a clock goes by: of grass that nobody looked at, the one that turns first.

    The wettest lies densest and is taken to be rich: no other keeps shorter.
    """
    return Wetness.RAINED_ON if wetness is Wetness.UNKNOWN else wetness


def likely_grass(wetness: Wetness, *, here: RulesHere) -> LayerMaterial:
    """Return clippings of this wetness as they likely are: what every clock is worked out for.

    Soft lush grass breathes at the high end of the rule; who says that it was rained on has not
    said that it is not lush. The rule is for grass of 80 % water.
    """
    wetness = as_clocked(wetness)

    moisture = here.row("clipping_moisture", wetness=wetness.value).likely
    uptake = here.row("oxygen_uptake_g_per_kg_h", material="clippings")
    return LayerMaterial(
        bulk_density_kg_per_m3=min(
            here.row("bulk_density_kg_per_m3", packing=PACKING[wetness]).likely,
            NEARLY_AIRLESS * greatest_density_kg_per_m3(moisture),
        ),
        moisture=moisture,
        oxygen_uptake_g_per_kg_h=(uptake.high if wetness in RICH else uptake.likely)
        * (moisture / MOISTURE_OF_UPTAKE) ** BREATHING_POWER,
    )


def heap_clock(
    material: LayerMaterial,
    *,
    here: RulesHere,
    depth_mm: float = HEAP_DEPTH_MM,
    temperature_c: float | None = None,
    open_faces: int = OPEN_FACES,
) -> FreshnessClock:
    """Return the clock of a heap by the rules in force: one for plans, notes and computations.

    Parameters
    ----------
    temperature_c
        Of the clippings and of the air around them [C]; None for warm weather.
    """
    if temperature_c is None:
        temperature_c = here.value("heap_air_temperature_c_assumed")
    return _clock(
        material,
        depth_mm=depth_mm,
        temperature_c=temperature_c,
        surface_w_per_m2_k=here.value("surface_w_per_m2_k"),
        open_faces=open_faces,
        pace=SouringPace(
            amber_hours=here.value("freshness_hours", light="amber"),
            red_hours=here.value("freshness_hours", light="red"),
            reference_c=here.value("souring_reference_c"),
            ratio_per_10_c=here.value("souring_ratio_per_10_c"),
            uptake_g_per_kg_h=here.value("oxygen_uptake_g_per_kg_h", material="clippings"),
        ),
        cap_hours=here.value("hold_hours_max"),
    )


@lru_cache(maxsize=256)
def _clock(
    material: LayerMaterial,
    *,
    depth_mm: float,
    temperature_c: float,
    surface_w_per_m2_k: float,
    open_faces: int,
    pace: SouringPace,
    cap_hours: float,
) -> FreshnessClock:
    """Return the clock: a memo of a pure function, which takes a tenth of a second."""
    return freshness_clock(
        material,
        depth_mm=depth_mm,
        temperature_c=temperature_c,
        air_temperature_c=min(HOTTEST_AIR_C, temperature_c),
        surface_w_per_m2_k=surface_w_per_m2_k,
        open_faces=open_faces,
        pace=pace,
        cap_hours=cap_hours,
    )


def sour_reason(lot: Clippings) -> Reason | None:
    """Return why grass that has stood too long goes to no bed, however thin it is laid, or None."""
    if LotStatus.SOUR not in lot.statuses:
        return None
    return refusal(
        RuleClass.ADVICE,
        "lot_sour",
        f"The grass is sour: it keeps {lot.keeps_hours:g} h from the cut in a body or a bay. "
        "By then it will have stood longer, or it smells already.",
        ground=Ground.LOT,
        status="sour",
        keeps_hours=lot.keeps_hours,
    )

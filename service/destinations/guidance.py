"""How a load is laid on its bed: the science's numbers, with the rules of the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil

from service.agronomy.heat.layer_safety import DepthLimit, SafeDepth, safe_layer_depth_mm
from service.agronomy.layers.bed_layer import Browns, area_covered_m2, browns_for
from service.core.materials import Wetness
from service.core.measures.estimates import Estimate
from service.core.places import Bed
from service.destinations.beds.law import law_facts
from service.destinations.layer_depth import layer_depth
from service.rules.here import RulesHere

WET_GRASS = frozenset({Wetness.DEWY, Wetness.RAINED_ON, Wetness.LUSH, Wetness.UNKNOWN})
# A large garden sack; common practice, no source.
BAG_LITRES = 60.0
# "A few hours" on a tarp; common practice, no source.
WILTING_HOURS = (3.0, 6.0)
BROWN = "tree_leaves"
# Thinner than this nobody rakes loose grass evenly; common practice, no source.
THINNEST_MM = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class LayingGuidance:
    """The numbers a client lays a load by.

    Attributes
    ----------
    depth
        Deepest fresh layer, and which limit binds.
    area_covered_m2
        What the load, or what of it may stay, covers at that depth, the bed's area at most [m2].
    layers, days_between_layers
        How many layers it makes, and the rest between them [d].
    browns
        Two parts by volume to one, of dry leaves; None where nothing of the load may stay.
    wilting_hours
        Low and high, or None for dry grass.
    no_more_before
        The first day more clippings may come after the day of laying itself: what comes that day
        is the same visit, to the bed's standing too.
    stem_keep_off_mm, trunk_keep_off_mm, water_keep_off_m, well_keep_off_m
        Distances to keep.
    """

    depth: SafeDepth
    area_covered_m2: float
    layers: int
    days_between_layers: int
    browns: Browns | None
    wilting_hours: tuple[float, float] | None
    no_more_before: date
    stem_keep_off_mm: float
    trunk_keep_off_mm: float
    water_keep_off_m: float
    well_keep_off_m: float
    sources: tuple[str, ...]


def laying_guidance(
    bed: Bed,
    *,
    mass_kg: Estimate,
    volume_m3: Estimate,
    wetness: frozenset[Wetness],
    room_kg: float,
    allowed_kg: float | None = None,
    here: RulesHere,
) -> LayingGuidance:
    """Return how a load is laid on a bed.

    Parameters
    ----------
    mass_kg, volume_m3
        Of the load.
    wetness
        Of every lot in it; one wet lot makes the load wet.
    room_kg
        What the bed's yearly account leaves for this load [kg].
    allowed_kg
        What of it may stay where it is more than the bed may have [kg]; None where it is not.
    here
        The rules of the working day of the delivery.
    """

    def rule(name: str) -> float:
        found = here.ruled(name, facts).row
        sources.update(found.sources)
        return found.value

    facts = law_facts(bed, here.jurisdiction)
    sources: set[str] = set()
    area_m2 = bed.area.si_value
    density = mass_kg.likely / volume_m3.likely
    rest_days = ceil(rule("layer_rest_days_min"))
    depths = [layer_depth(found, here=here) for found in sorted(wetness)]
    shallowest = min(depths, key=lambda found: found.safe.depth_mm)
    # Each was asked; where one depth binds several, a set's order would choose whose are cited.
    sources.update(source for found in depths for source in found.sources)
    by_physics = dict(shallowest.safe.considered)[DepthLimit.PHYSICS]
    # The year's account is of the whole bed: less than it leaves may lie as thick as grass can.
    ledger_mm = max(1000.0 * room_kg / (area_m2 * density), THINNEST_MM)
    depth = safe_layer_depth_mm(
        practice_mm=shallowest.practice.value,
        ledger_mm=ledger_mm if allowed_kg is None else None,
        physics_mm=by_physics,
    )
    stays_kg = mass_kg.likely if allowed_kg is None else min(allowed_kg, mass_kg.likely)
    covered_m2 = area_covered_m2(
        mass_kg=stays_kg, depth_mm=max(depth.depth_mm, 0.1), density_kg_per_m3=density
    )
    brown = here.book.materials[BROWN].bulk_density_kg_per_m3
    sources.update(brown.sources)
    return LayingGuidance(
        depth=depth,
        area_covered_m2=min(covered_m2, area_m2),
        layers=max(1, ceil(covered_m2 / area_m2 - 1e-6)),
        days_between_layers=rest_days,
        browns=None
        if stays_kg <= 0.0
        else browns_for(
            clippings_volume_m3=stays_kg / density,
            browns_per_green=rule("browns_per_green_by_volume"),
            browns_density_kg_per_m3=brown.likely,
            bag_litres=BAG_LITRES,
        ),
        wilting_hours=WILTING_HOURS if wetness & WET_GRASS else None,
        no_more_before=here.day + timedelta(days=rest_days),
        stem_keep_off_mm=rule("stem_keep_off_mm"),
        trunk_keep_off_mm=rule("trunk_keep_off_mm"),
        water_keep_off_m=rule("water_course_distance_m_min"),
        well_keep_off_m=rule("well_distance_m_min"),
        sources=tuple(sorted({*sources, *mass_kg.sources, *volume_m3.sources})),
    )

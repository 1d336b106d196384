"""What a job's clippings are thought to be: the science, with the values of the day."""

from __future__ import annotations

from datetime import date

from service.agronomy.clippings.mass import Content, estimate_clippings
from service.core.jobs import Job, LotEstimate
from service.core.materials import Wetness
from service.core.measures.estimates import Estimate
from service.rules.here import RulesHere

# How clippings lie in a vehicle's body when nobody said: the wetter, the denser.
PACKING = {
    Wetness.DRY: "loose",
    Wetness.DEWY: "settled",
    Wetness.LUSH: "settled",
    Wetness.RAINED_ON: "wet",
    Wetness.UNKNOWN: "unknown",
}
# What comes up with the grass in autumn, by its name among the materials.
LEAVES = "tree_leaves"
NORTHERN_SEASONS = ("winter", "spring", "summer", "autumn")
MONTHS_A_SEASON = 3


def season_of(day: date, *, latitude: float) -> str:
    """Return the meteorological season: whole months, turned round south of the equator.

    Parameters
    ----------
    day
        The day of the cut.
    latitude
        Degrees north; negative is south.

    Notes
    -----
    Winter is December to February in the north, June to August in the south: the
    convention of weather services, from memory, unverified.
    """
    index = (day.month % 12) // MONTHS_A_SEASON
    if latitude < 0:
        index = (index + 2) % len(NORTHERN_SEASONS)
    return NORTHERN_SEASONS[index]


def estimate_lot(job: Job, *, latitude: float, here: RulesHere) -> LotEstimate:
    """Return the estimate of a job's clippings under the rules of its day.

    Parameters
    ----------
    job
        A job whose heights are consistent (`Job.faults` is empty).
    latitude
        Of its property, for the season.
    here
        The rules of the working day of the cut, in the depot's calendar.

    Raises
    ------
    AreaOutOfRange, HeightOutOfRange
        If the job is outside what a crew mows.
    """
    found = estimate_clippings(
        area_m2=job.area_mowed.si_value,
        height_removed_mm=job.height_removed_mm or 0.0,
        height_before_mm=None if job.height_before is None else job.height_before.si_value * 1000.0,
        sward_density=here.row(
            "sward_density_g_per_m2_mm",
            grass_kind=job.grass_kind.value,
            season=season_of(here.day, latitude=latitude),
        ).estimate,
        moisture=here.row("clipping_moisture", wetness=job.wetness.value).estimate,
        bulk_density=here.row("bulk_density_kg_per_m3", packing=PACKING[job.wetness]).estimate,
        nitrogen_fraction=here.row("clipping_nitrogen_fraction_of_dry_matter").estimate,
        carbon_to_nitrogen=here.row("clipping_carbon_to_nitrogen").estimate,
    )
    ratio = found.carbon_to_nitrogen
    if job.leaves_mixed:
        ratio = _with_leaves(ratio, here.book.materials[LEAVES].carbon_to_nitrogen)
    return LotEstimate(
        dry_matter_kg=found.dry_matter_kg,
        mass_kg=found.mass_kg,
        volume_m3=found.volume_m3,
        nitrogen_kg=found.nitrogen_kg,
        carbon_to_nitrogen=ratio,
        one_third_rule_broken=found.one_third_rule_broken,
        factors=found.factors,
        rulebook_version=here.book.version,
    )


def _with_leaves(grass: Estimate, leaves: Estimate) -> Estimate:
    """Return the C:N of grass with an unknown share of leaves: from one to the other."""
    return Estimate(
        low=grass.low,
        likely=grass.likely,
        high=leaves.high,
        unit=grass.unit,
        basis=f"{grass.basis}; with leaves, how many is not known",
        sources=tuple(dict.fromkeys((*grass.sources, *leaves.sources))),
    )


def content_of(estimate: LotEstimate) -> Content:
    """Return what the clippings of an estimate hold, by the factors that went into it."""
    factors = {factor.name: factor.value for factor in estimate.factors}
    return Content(
        moisture=factors["moisture"],
        bulk_density=factors["bulk_density_kg_per_m3"],
        nitrogen_fraction=factors["nitrogen_fraction"],
    )

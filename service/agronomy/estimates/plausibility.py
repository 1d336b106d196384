"""Whether a yield looks like anything that was ever published.

A mowing far beyond print is seldom a miracle: somebody took square feet for
square metres, or the grass stood knee-high. The answer is a question to the crew,
never a refusal.
"""

from dataclasses import dataclass
from enum import StrEnum

from service.agronomy.estimates.validity import within
from service.core.measures.estimates import Estimate
from service.core.measures.units import G_PER_KG


class Plausibility(StrEnum):
    """How a yield compares with published ones."""

    ORDINARY = "ordinary"
    BELOW_PUBLISHED = "below_published"
    ABOVE_PUBLISHED = "above_published"
    FAR_ABOVE_PUBLISHED = "far_above_published"


@dataclass(frozen=True, slots=True, kw_only=True)
class YieldCheck:
    """A yield beside the published ones.

    Parameters
    ----------
    plausibility
        How they compare.
    value
        Dry matter per area, in the unit of what is published.
    published
        Low, likely and high of what is published: [g/m2] of a mowing, [kg/m2] of
        a season.
    times_high
        The yield per the published high end [1].
    """

    plausibility: Plausibility
    value: float
    published: Estimate
    times_high: float


def check_mowing(
    *, dry_matter_kg: float, area_m2: float, published_g_per_m2: Estimate
) -> YieldCheck:
    """Compare one mowing's dry matter with published ones.

    Parameters
    ----------
    dry_matter_kg
        Dry matter of the mowing [kg], >= 0.
    area_m2
        Area mown [m2], 0.1 to 10,000,000.
    published_g_per_m2
        Published dry matter a mowing [g/m2].

    Raises
    ------
    OutsideValidity
    """
    within("dry_matter_kg", dry_matter_kg, low=0, high=1e7, unit="kg")
    within("area_m2", area_m2, low=0.1, high=1e7, unit="m2")
    return _compared(dry_matter_kg * G_PER_KG / area_m2, published_g_per_m2)


def _compared(value: float, published: Estimate) -> YieldCheck:
    if value > 2 * published.high:
        plausibility = Plausibility.FAR_ABOVE_PUBLISHED
    elif value > published.high:
        plausibility = Plausibility.ABOVE_PUBLISHED
    elif value < published.low:
        plausibility = Plausibility.BELOW_PUBLISHED
    else:
        plausibility = Plausibility.ORDINARY
    return YieldCheck(
        plausibility=plausibility,
        value=value,
        published=published,
        times_high=value / published.high,
    )

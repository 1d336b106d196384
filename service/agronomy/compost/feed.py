"""A liquid feed from surplus clippings: the batch, what it serves, what is in it.

Nothing was found that measures what such a steep holds; the nutrient figures are
the clippings' own times a wide share that goes into the water. The cautions are
part of the answer: steeped grass is foul, and rich enough to foul a stream.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from service.agronomy.estimates.uncertainty import complement, product
from service.agronomy.estimates.validity import within
from service.core.measures.estimates import Estimate, exactly
from service.core.measures.units import G_PER_KG


class FeedCaution(StrEnum):
    """What must be said with every batch; the words are the documents' business."""

    CHILDREN_AND_ANIMALS = "children_and_animals"
    LID_NOT_AIRTIGHT = "lid_not_airtight"
    ODOUR_NEIGHBOURS = "odour_neighbours"
    NOT_ON_EDIBLE_LEAVES = "not_on_edible_leaves"
    KEEP_FROM_DRAINS = "keep_from_drains"
    GLOVES_AND_WASHING = "gloves_and_washing"
    TREATED_CLIPPINGS_NEVER = "treated_clippings_never"


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedPractice:
    """How a batch is made; all of it common practice of gardeners.

    Parameters
    ----------
    clippings_kg_per_litre
        Fresh clippings per water [kg/L], 0.02 to 1.
    steep_days
        Days it stands [d], 1 to 21.
    stirs_per_day
        Times it is stirred a day [1], 0 to 4.
    dilution
        Volumes of water per volume of steep when used [L/L], 1 to 50.
    litres_per_m2
        Diluted feed per watered area [L/m2], 0.1 to 10.
    """

    clippings_kg_per_litre: float
    steep_days: int
    stirs_per_day: int
    dilution: float
    litres_per_m2: float

    def __post_init__(self) -> None:
        """Refuse what nobody does."""
        within("clippings_kg_per_litre", self.clippings_kg_per_litre, low=0.02, high=1, unit="kg/L")
        within("steep_days", self.steep_days, low=1, high=21, unit="d")
        within("stirs_per_day", self.stirs_per_day, low=0, high=4, unit="1")
        within("dilution", self.dilution, low=1, high=50, unit="L/L")
        within("litres_per_m2", self.litres_per_m2, low=0.1, high=10, unit="L/m2")


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedBatch:
    """One batch of liquid feed.

    Parameters
    ----------
    clippings_kg
        Clippings that go in [kg].
    left_over_kg
        Clippings the vessel has no room for [kg].
    water_litres
        Water that goes in [L].
    steep_days, stirs_in_all
        Days it stands [d], and how often it is stirred in them [1].
    diluted_litres
        Feed ready to pour, after dilution [L].
    area_served_m2
        Ground it waters once [m2].
    nutrients_g
        Nitrogen, phosphorus and potassium in the water, by their symbol [g].
    nitrogen_g_per_m2
        Nitrogen on the ground served [g/m2].
    cautions
        What must be said with it.
    """

    clippings_kg: float
    left_over_kg: float
    water_litres: float
    steep_days: int
    stirs_in_all: int
    diluted_litres: float
    area_served_m2: float
    nutrients_g: Mapping[str, Estimate]
    nitrogen_g_per_m2: Estimate
    cautions: tuple[FeedCaution, ...]


def feed_batch(
    *,
    clippings_kg: float,
    vessel_litres: float,
    practice: FeedPractice,
    moisture: Estimate,
    content: Mapping[str, Estimate],
    extracted: Mapping[str, Estimate],
) -> FeedBatch:
    """Return a batch from the clippings at hand.

    Parameters
    ----------
    clippings_kg
        Fresh clippings at hand, untreated [kg], 0.1 to 100,000.
    vessel_litres
        Room in the vessel [L], 5 to 100,000; two thirds of it are used.
    practice
        How the batch is made.
    moisture
        Water per wet mass of the clippings [1], below 1.
    content
        Nutrient per dry matter by symbol: "N", "P", "K" [1].
    extracted
        Share of each that goes into the water, by the same symbols [1].

    Raises
    ------
    OutsideValidity, FractionOutOfRange, IntervalReachesZero

    Notes
    -----
    clippings = the less of what is at hand and what two thirds of the vessel hold;
    nutrient = clippings x (1 - moisture) x content x share extracted; area = water
    x (1 + dilution) / litres a square metre.
    """
    within("clippings_kg", clippings_kg, low=0.1, high=1e5, unit="kg")
    within("vessel_litres", vessel_litres, low=5, high=1e5, unit="L")
    # Clippings sink and displace about their own mass of water; a third stays free for froth.
    water_litres = min(
        clippings_kg / practice.clippings_kg_per_litre,
        vessel_litres * 2 / 3 / (1 + practice.clippings_kg_per_litre),
    )
    used_kg = water_litres * practice.clippings_kg_per_litre
    diluted_litres = water_litres * (1 + practice.dilution)
    area_m2 = diluted_litres / practice.litres_per_m2
    used = exactly(used_kg, unit="kg", basis="clippings in the vessel")
    dry_fraction = complement(moisture, basis="dry matter per wet mass")
    nutrients = {
        symbol: product(
            [(used, 1), (dry_fraction, 1), (content[symbol], 1), (extracted[symbol], 1)],
            scale=G_PER_KG,
            unit="g",
            basis="clippings x (1 - moisture) x content x share extracted",
        )
        for symbol in sorted(content)
    }
    return FeedBatch(
        clippings_kg=used_kg,
        left_over_kg=max(clippings_kg - used_kg, 0.0),
        water_litres=water_litres,
        steep_days=practice.steep_days,
        stirs_in_all=practice.steep_days * practice.stirs_per_day,
        diluted_litres=diluted_litres,
        area_served_m2=area_m2,
        nutrients_g=MappingProxyType(nutrients),
        nitrogen_g_per_m2=nutrients["N"].scaled(
            1 / area_m2, unit="g/m2", basis="nitrogen / area served"
        ),
        cautions=tuple(FeedCaution),
    )

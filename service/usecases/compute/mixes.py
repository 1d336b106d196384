"""Compute compost mixes and liquid feed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from service.agronomy.compost.feed import FeedPractice, feed_batch
from service.agronomy.compost.mix import Ingredient, Mix, Part, mix_of
from service.agronomy.compost.recipe import MixGoals, least_browns
from service.core.errors import Refusal
from service.core.materials import Wetness
from service.core.measures.estimates import Estimate
from service.usecases.compute.looked_up import LookedUp, told

SHARES: Final = ("nitrogen_fraction", "carbon_to_nitrogen", "moisture")
MIXED: Final = (
    *("mass_kg", "moisture", "carbon_to_nitrogen", "nitrogen_kg", "volume_m3"),
    "bulk_density_kg_per_m3",
)


class MaterialUnknown(Refusal):
    """The library has no such material."""

    code = "material_unknown"
    sentence = "The library has no material called {name}. It has: {known}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Heaped:
    """A mass of a library material, or of one with stated properties.

    A stated property takes the place of the library's likely value.
    """

    material: str
    mass_kg: float
    moisture: float | None = None
    nitrogen_fraction: float | None = None
    carbon_to_nitrogen: float | None = None
    bulk_density_kg_per_m3: float | None = None


def mix(
    looked_up: LookedUp,
    *,
    materials: Sequence[Heaped],
    browns: Sequence[str] = (),
    quality: str = "acceptable",
    water_allowed: bool = True,
) -> dict[str, object]:
    """Return a mix as it is, and the least browns that bring it into the ranges.

    Raises
    ------
    MaterialUnknown, MixEmpty, MixGoalsOutOfReach, CarbonImpossible
    """
    parts = [
        Part(ingredient=ingredient(looked_up, heaped), mass_kg=heaped.mass_kg)
        for heaped in materials
    ]
    moisture = looked_up.rule("compost_mix_moisture", quality=quality)
    ratio = looked_up.rule("compost_mix_carbon_to_nitrogen", quality=quality)
    goals = MixGoals(
        moisture_min=moisture.low,
        moisture_max=moisture.high,
        carbon_to_nitrogen_min=ratio.low,
        carbon_to_nitrogen_max=ratio.high,
    )
    answer: dict[str, object] = {
        "as_is": _told_mix(mix_of(parts)),
        "goals": {
            "quality": quality,
            "moisture": {"min": goals.moisture_min, "max": goals.moisture_max},
            "carbon_to_nitrogen": {
                "min": goals.carbon_to_nitrogen_min,
                "max": goals.carbon_to_nitrogen_max,
            },
        },
        "recipe": None,
    }
    if browns:
        added = [ingredient(looked_up, Heaped(material=name, mass_kg=0.0)) for name in browns]
        recipe = least_browns(parts, added, goals, water_allowed=water_allowed)
        answer["recipe"] = {
            "add_kg": dict(recipe.mass_kg),
            "add_litres": {
                ingredient.name: 1000.0
                * recipe.mass_kg[ingredient.name]
                / ingredient.bulk_density_kg_per_m3
                for ingredient in added
                if ingredient.name in recipe.mass_kg
            },
            "water_kg": recipe.water_kg,
            "mix": _told_mix(recipe.mix),
        }
    return answer


def materials(looked_up: LookedUp) -> dict[str, object]:
    """Return the library of materials with their ranges and sources."""
    rows = looked_up.rulebook.materials
    for row in rows.values():
        looked_up.cite(*row.sources)
    return {
        "materials": [
            {
                **told(row, "name", "role", *SHARES, "bulk_density_kg_per_m3"),
                "note": row.note or None,
            }
            for row in rows.values()
        ]
    }


def liquid_feed(
    looked_up: LookedUp,
    *,
    clippings_kg: float,
    vessel_litres: float,
    wetness: Wetness = Wetness.UNKNOWN,
) -> dict[str, object]:
    """Return a batch of liquid feed from surplus clippings, with its cautions."""
    batch = feed_batch(
        clippings_kg=clippings_kg,
        vessel_litres=vessel_litres,
        practice=FeedPractice(
            clippings_kg_per_litre=looked_up.rule("feed_clippings_kg_per_litre").value,
            steep_days=round(looked_up.rule("feed_steep_days").value),
            stirs_per_day=round(looked_up.rule("feed_stirs_per_day").value),
            dilution=looked_up.rule("feed_dilution").value,
            litres_per_m2=looked_up.rule("feed_litres_per_m2").value,
        ),
        moisture=looked_up.estimate("clipping_moisture", wetness=wetness.value),
        content=_by_nutrient(looked_up, "feed_nutrient_content"),
        extracted=_by_nutrient(looked_up, "feed_nutrient_extracted"),
    )
    return told(batch)


def _by_nutrient(looked_up: LookedUp, rule: str) -> Mapping[str, Estimate]:
    return {
        symbol: looked_up.estimate(rule, nutrient=symbol)
        for symbol in looked_up.rulebook.words_of(rule, "nutrient")
    }


def ingredient(looked_up: LookedUp, heaped: Heaped) -> Ingredient:
    """Return a material as it is known, or stated.

    Raises
    ------
    MaterialUnknown, CarbonImpossible
    """
    row = looked_up.rulebook.materials.get(heaped.material)
    if row is None:
        known = ", ".join(looked_up.rulebook.materials)
        raise MaterialUnknown(name=heaped.material, known=known)
    looked_up.cite(*row.sources)

    def stated_or(stated: float | None, likely: float) -> float:
        return likely if stated is None else stated

    return Ingredient(
        name=row.name,
        moisture=stated_or(heaped.moisture, row.moisture.likely),
        nitrogen_fraction=stated_or(heaped.nitrogen_fraction, row.nitrogen_fraction.likely),
        carbon_to_nitrogen=stated_or(heaped.carbon_to_nitrogen, row.carbon_to_nitrogen.likely),
        bulk_density_kg_per_m3=stated_or(
            heaped.bulk_density_kg_per_m3, row.bulk_density_kg_per_m3.likely
        ),
    )


def _told_mix(mixed: Mix) -> dict[str, float]:
    return told(mixed, *MIXED)

import itertools

import numpy as np
import pytest
from scipy.optimize import linprog

from service.agronomy.compost.mix import (
    WATER,
    CarbonImpossible,
    Ingredient,
    MixEmpty,
    Part,
    mix_of,
)
from service.agronomy.compost.recipe import (
    MixGoals,
    MixGoalsOutOfReach,
    least_browns,
)
from service.agronomy.estimates.validity import OutsideValidity
from service.rules.lookup import Rulebook

ACCEPTABLE = MixGoals(
    moisture_min=0.40, moisture_max=0.65, carbon_to_nitrogen_min=20, carbon_to_nitrogen_max=40
)
LIBRARY = {
    row.name: Ingredient(
        name=row.name,
        moisture=row.moisture.likely,
        nitrogen_fraction=row.nitrogen_fraction.likely,
        carbon_to_nitrogen=row.carbon_to_nitrogen.likely,
        bulk_density_kg_per_m3=row.bulk_density_kg_per_m3.likely,
    )
    for row in Rulebook.load().materials.values()
}
GRASS = LIBRARY["grass_clippings"]
BROWNS = [
    LIBRARY[name]
    for name in ("tree_leaves", "straw", "sawdust", "wood_chips", "shredded_newspaper")
]
BASE = [Part(ingredient=GRASS, mass_kg=100)]


def test_clippings_of_four_percent_and_seventeen_to_one_are_refused() -> None:
    with pytest.raises(CarbonImpossible, match=r"0\.68"):
        Ingredient(
            name="grass clippings as printed",
            moisture=0.82,
            nitrogen_fraction=0.04,
            carbon_to_nitrogen=17,
            bulk_density_kg_per_m3=204,
        )


@pytest.mark.parametrize("moisture", [-0.1, 1.1, float("nan")])
def test_water_that_is_no_share_is_refused(moisture: float) -> None:
    with pytest.raises(OutsideValidity):
        Ingredient(
            name="x",
            moisture=moisture,
            nitrogen_fraction=0.01,
            carbon_to_nitrogen=30,
            bulk_density_kg_per_m3=200,
        )


@pytest.mark.parametrize(
    "parts", [[], [Part(ingredient=WATER, mass_kg=5)], [Part(ingredient=GRASS, mass_kg=0)]]
)
def test_a_mix_of_nothing_is_refused(parts: list[Part]) -> None:
    with pytest.raises(MixEmpty):
        mix_of(parts)


@pytest.mark.parametrize("browns", list(itertools.combinations(BROWNS, 3)), ids=str)
def test_the_least_browns_are_those_of_a_linear_programme(
    browns: tuple[Ingredient, ...],
) -> None:
    recipe = least_browns(BASE, browns, ACCEPTABLE, water_allowed=False)
    start = mix_of(BASE)
    moisture = np.array([brown.moisture for brown in browns])
    carbon = np.array([brown.carbon_per_wet_mass for brown in browns])
    nitrogen = np.array([brown.nitrogen_per_wet_mass for brown in browns])
    reference = linprog(
        np.ones(len(browns)),
        A_ub=np.array(
            [
                moisture - ACCEPTABLE.moisture_max,
                ACCEPTABLE.moisture_min - moisture,
                ACCEPTABLE.carbon_to_nitrogen_min * nitrogen - carbon,
                carbon - ACCEPTABLE.carbon_to_nitrogen_max * nitrogen,
            ]
        ),
        b_ub=-np.array(
            [
                start.water_kg - ACCEPTABLE.moisture_max * start.mass_kg,
                ACCEPTABLE.moisture_min * start.mass_kg - start.water_kg,
                ACCEPTABLE.carbon_to_nitrogen_min * start.nitrogen_kg - start.carbon_kg,
                start.carbon_kg - ACCEPTABLE.carbon_to_nitrogen_max * start.nitrogen_kg,
            ]
        ),
    )
    assert reference.success
    assert sum(recipe.mass_kg.values()) == pytest.approx(reference.fun, rel=1e-6)


def test_a_recipe_ends_inside_its_ranges() -> None:
    mix = least_browns(BASE, BROWNS, ACCEPTABLE).mix
    assert 0.40 - 1e-9 <= mix.moisture <= 0.65 + 1e-9
    assert 20 - 1e-6 <= mix.carbon_to_nitrogen <= 40 + 1e-6


def test_a_mix_inside_the_ranges_needs_no_browns() -> None:
    done = [*BASE, Part(ingredient=LIBRARY["straw"], mass_kg=40)]
    assert not least_browns(done, BROWNS, ACCEPTABLE).mass_kg


def test_a_dry_mix_is_given_water_and_not_more_browns() -> None:
    dry = [Part(ingredient=LIBRARY["tree_leaves"], mass_kg=50), Part(ingredient=GRASS, mass_kg=40)]
    goals = MixGoals(
        moisture_min=0.60, moisture_max=0.65, carbon_to_nitrogen_min=20, carbon_to_nitrogen_max=40
    )
    recipe = least_browns(dry, BROWNS, goals)
    assert recipe.water_kg > 0
    assert not recipe.mass_kg


@pytest.mark.parametrize(
    ("goals", "blocking"),
    [
        (
            MixGoals(
                moisture_min=0.0,
                moisture_max=0.30,
                carbon_to_nitrogen_min=20,
                carbon_to_nitrogen_max=1000,
            ),
            "the wettest moisture allowed",
        ),
        (
            MixGoals(
                moisture_min=0.0,
                moisture_max=1.0,
                carbon_to_nitrogen_min=100,
                carbon_to_nitrogen_max=200,
            ),
            "the lowest C:N allowed",
        ),
        (
            MixGoals(
                moisture_min=0.0,
                moisture_max=0.30,
                carbon_to_nitrogen_min=100,
                carbon_to_nitrogen_max=200,
            ),
            "moisture and C:N both",
        ),
    ],
)
def test_an_impossible_mix_names_the_goal_that_blocks(goals: MixGoals, blocking: str) -> None:
    with pytest.raises(MixGoalsOutOfReach, match=blocking):
        least_browns(BASE, [LIBRARY["tree_leaves"]], goals)


def test_without_browns_a_wet_mix_is_refused() -> None:
    with pytest.raises(MixGoalsOutOfReach, match="no browns"):
        least_browns(BASE, [], ACCEPTABLE, water_allowed=False)


def test_the_volume_of_a_mix_is_the_sum_of_its_heaps_and_water_takes_none() -> None:
    straw = LIBRARY["straw"]
    mix = mix_of([*BASE, Part(ingredient=straw, mass_kg=12), Part(ingredient=WATER, mass_kg=30)])
    assert mix.volume_m3 == pytest.approx(100 / 204 + 12 / 120)
    assert mix.bulk_density_kg_per_m3 == pytest.approx(142 / mix.volume_m3)

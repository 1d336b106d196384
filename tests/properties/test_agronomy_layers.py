"""What must hold for layers, beds and mixes, whatever the numbers are."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.agronomy.compost.mix import (
    Ingredient,
    Part,
    mix_of,
)
from service.agronomy.layers.bed_layer import (
    area_covered_m2,
    browns_for,
    depth_mm,
    layers_for,
    mass_at_depth_kg,
)
from service.agronomy.layers.bed_room import LedgerEntry, LedgerSums, bed_room, ledger_sums


@st.composite
def ingredients(draw: st.DrawFn) -> Ingredient:
    nitrogen = draw(st.floats(0.001, 0.05))
    return Ingredient(
        name="drawn",
        moisture=draw(st.floats(0.05, 0.9)),
        nitrogen_fraction=nitrogen,
        carbon_to_nitrogen=draw(st.floats(0.3, 0.55)) / nitrogen,
        bulk_density_kg_per_m3=draw(st.floats(30, 900)),
    )


areas = st.floats(1.0, 1e5)
masses = st.floats(0.1, 1e5)
densities = st.floats(50.0, 1200.0)
depths = st.floats(1.0, 200.0)


@given(masses, areas, densities)
def test_depth_and_mass_of_a_layer_invert_each_other(
    mass_kg: float, area_m2: float, density: float
) -> None:
    deep_mm = depth_mm(mass_kg=mass_kg, area_m2=area_m2, density_kg_per_m3=density)
    assert mass_at_depth_kg(
        depth_mm=deep_mm, area_m2=area_m2, density_kg_per_m3=density
    ) == pytest.approx(mass_kg)


@given(masses, depths, densities)
def test_the_area_a_mass_covers_makes_that_depth(
    mass_kg: float, deep_mm: float, density: float
) -> None:
    area_m2 = area_covered_m2(mass_kg=mass_kg, depth_mm=deep_mm, density_kg_per_m3=density)
    assert depth_mm(mass_kg=mass_kg, area_m2=area_m2, density_kg_per_m3=density) == pytest.approx(
        deep_mm
    )


@given(masses, areas, densities, st.floats(2, 50), st.integers(0, 30))
def test_layers_hold_the_whole_mass_and_none_is_too_deep(
    mass_kg: float, area_m2: float, density: float, limit_mm: float, rest_days: int
) -> None:
    assume(mass_kg / area_m2 / density * 1000 / limit_mm < 1000)
    layers = layers_for(
        mass_kg=mass_kg,
        area_m2=area_m2,
        density_kg_per_m3=density,
        layer_depth_mm_max=limit_mm,
        rest_days=rest_days,
    )
    assert sum(layer.mass_kg for layer in layers) == pytest.approx(mass_kg)
    assert all(layer.depth_mm <= limit_mm * (1 + 1e-6) for layer in layers)


@given(
    areas,
    densities,
    st.floats(0, 0.03),
    st.tuples(st.floats(0, 8), st.floats(0, 400)),
    st.tuples(st.floats(0, 8), st.floats(0, 400)),
)
def test_more_on_the_ledger_never_leaves_more_room(
    area_m2: float,
    density: float,
    nitrogen: float,
    first: tuple[float, float],
    second: tuple[float, float],
) -> None:
    def room(mass: float, laid_nitrogen: float) -> float:
        return bed_room(
            area_m2=area_m2,
            density_kg_per_m3=density,
            nitrogen_kg_per_kg=nitrogen,
            layer_depth_mm_max=12.7,
            yearly_mass_kg_per_m2_max=5,
            yearly_nitrogen_kg_per_ha_max=250,
            laid=LedgerSums(mass_kg_per_m2=mass, nitrogen_kg_per_ha=laid_nitrogen, entries=1),
        ).mass_kg

    less, more = room(*first), room(first[0] + second[0], first[1] + second[1])
    assert 0 <= more <= less


@given(
    st.lists(
        st.builds(
            LedgerEntry,
            age_days=st.floats(0, 800),
            mass_kg_per_m2=st.floats(0, 10),
            nitrogen_kg_per_ha=st.floats(0, 500),
        ),
        max_size=20,
    ),
    st.floats(1, 400),
    st.floats(0, 400),
)
def test_a_longer_window_never_forgets(
    entries: list[LedgerEntry], window_days: float, longer: float
) -> None:
    short = ledger_sums(entries, window_days=window_days)
    long = ledger_sums(entries, window_days=window_days + longer)
    assert long.mass_kg_per_m2 >= short.mass_kg_per_m2
    assert long.nitrogen_kg_per_ha >= short.nitrogen_kg_per_ha


@given(st.floats(0, 100), st.floats(0, 5), st.floats(20, 500), st.floats(20, 200))
def test_the_bags_hold_the_browns_and_one_fewer_would_not(
    volume_m3: float, ratio: float, density: float, bag_litres: float
) -> None:
    browns = browns_for(
        clippings_volume_m3=volume_m3,
        browns_per_green=ratio,
        browns_density_kg_per_m3=density,
        bag_litres=bag_litres,
    )
    assert browns.bags is not None
    assert browns.bags * bag_litres >= browns.volume_litres - 1e-6
    assert (browns.bags - 1) * bag_litres < browns.volume_litres or browns.bags == 0


@given(st.lists(st.tuples(ingredients(), st.floats(0.1, 1000)), min_size=1, max_size=6))
def test_a_mix_lies_between_its_materials(parts: list[tuple[Ingredient, float]]) -> None:
    mix = mix_of([Part(ingredient=material, mass_kg=mass) for material, mass in parts])
    wet = [material.moisture for material, _ in parts]
    ratio = [material.carbon_to_nitrogen for material, _ in parts]
    assert min(wet) - 1e-9 <= mix.moisture <= max(wet) + 1e-9
    assert min(ratio) * (1 - 1e-9) <= mix.carbon_to_nitrogen <= max(ratio) * (1 + 1e-9)

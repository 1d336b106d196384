"""What must hold for the air in every layer, whatever the numbers."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.agronomy.layers.material import (
    LayerMaterial,
    greatest_density_kg_per_m3,
    mixed_material,
)
from service.agronomy.layers.oxygen import (
    aerobic_depth_mm,
    hours_of_oxygen_in_pores,
)
from tests.properties.layers import layers, uptakes

depths_mm = st.floats(5, 2000)
more = st.floats(1.05, 3)


def layer(*, dry_kg_per_m3, water_kg_per_m3, uptake):
    """Return a layer of so much dry matter and water, if it fits."""
    fresh = dry_kg_per_m3 + water_kg_per_m3
    moisture = water_kg_per_m3 / fresh
    assume(moisture <= 0.95)
    assume(10 <= fresh <= greatest_density_kg_per_m3(moisture))
    return LayerMaterial(
        bulk_density_kg_per_m3=fresh, moisture=moisture, oxygen_uptake_g_per_kg_h=uptake
    )


@given(material=layers())
def test_solids_water_and_air_fill_the_volume(material):
    assert material.solid_fraction + material.water_fraction + material.air_filled_porosity == (
        pytest.approx(1)
    )
    assert material.air_filled_porosity >= 0


@given(
    dry=st.floats(20, 150),
    water=st.floats(50, 600),
    extra=st.floats(10, 200),
    uptake=uptakes,
    temperature_c=st.floats(5, 60),
)
def test_water_in_the_pores_never_lets_air_deeper(dry, water, extra, uptake, temperature_c):
    drier = layer(dry_kg_per_m3=dry, water_kg_per_m3=water, uptake=uptake)
    wetter = layer(dry_kg_per_m3=dry, water_kg_per_m3=water + extra, uptake=uptake)
    reach = [
        aerobic_depth_mm(m, temperature_c=temperature_c, oxygen_floor=0.05) for m in (drier, wetter)
    ]
    assert reach[1] <= reach[0]


@given(material=layers(), factor=more, temperature_c=st.floats(5, 60))
def test_packing_it_tighter_never_lets_air_deeper(material, factor, temperature_c):
    tight_density = material.bulk_density_kg_per_m3 * factor
    assume(tight_density <= greatest_density_kg_per_m3(material.moisture))
    tight = LayerMaterial(
        bulk_density_kg_per_m3=tight_density,
        moisture=material.moisture,
        oxygen_uptake_g_per_kg_h=material.oxygen_uptake_g_per_kg_h,
    )
    assert aerobic_depth_mm(tight, temperature_c=temperature_c, oxygen_floor=0) <= (
        aerobic_depth_mm(material, temperature_c=temperature_c, oxygen_floor=0)
    )


@given(material=layers(), cooler=st.floats(5, 50), rise=st.floats(0.5, 8))
def test_warmth_never_lets_air_deeper(material, cooler, rise):
    assert aerobic_depth_mm(material, temperature_c=cooler + rise, oxygen_floor=0) <= (
        aerobic_depth_mm(material, temperature_c=cooler, oxygen_floor=0)
    )


@given(material=layers(), factor=st.floats(0.2, 5))
def test_depth_scales_with_the_root_of_the_uptake_alone(material, factor):
    scaled = LayerMaterial(
        bulk_density_kg_per_m3=material.bulk_density_kg_per_m3,
        moisture=material.moisture,
        oxygen_uptake_g_per_kg_h=material.oxygen_uptake_g_per_kg_h * factor,
    )
    before, after = (
        aerobic_depth_mm(m, temperature_c=25, oxygen_floor=0) for m in (material, scaled)
    )
    assume(max(before, after) < 10_000)
    assert after == pytest.approx(before / math.sqrt(factor))
    assert hours_of_oxygen_in_pores(scaled, temperature_c=25) == pytest.approx(
        hours_of_oxygen_in_pores(material, temperature_c=25) / factor
    )


@given(parts=st.lists(st.tuples(st.floats(0.1, 10), layers()), min_size=1, max_size=4))
def test_a_mix_keeps_the_mass_the_water_and_the_oxygen_use_of_its_parts(parts):
    mix = mixed_material(parts)
    volume = sum(v for v, _ in parts)
    for quantity in (
        lambda m: m.bulk_density_kg_per_m3,
        lambda m: m.bulk_density_kg_per_m3 * m.moisture,
        lambda m: m.dry_matter_kg_per_m3 * m.oxygen_uptake_g_per_kg_h,
    ):
        assert quantity(mix) * volume == pytest.approx(sum(v * quantity(m) for v, m in parts))
    twice = mixed_material([(2 * v, m) for v, m in parts])
    assert twice.bulk_density_kg_per_m3 == pytest.approx(mix.bulk_density_kg_per_m3)
    assert mixed_material([(1, parts[0][1])]).moisture == pytest.approx(parts[0][1].moisture)

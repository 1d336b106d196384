"""How deep a layer may lie: the answers a user sees, and their edges."""

import pytest

from service.agronomy.estimates.validity import OutsideValidity
from service.agronomy.heat.layer_heat import critical_source, layer_heat
from service.agronomy.heat.layer_safety import (
    DepthLimit,
    PhysicalLimit,
    physical_layer_depth,
    safe_layer_depth_mm,
)
from service.agronomy.layers.material import LayerMaterial, mixed_material
from service.agronomy.layers.oxygen import DEEPEST_MM, aerobic_depth_mm


def clippings(**changes):
    values = {"bulk_density_kg_per_m3": 400, "moisture": 0.8, "oxygen_uptake_g_per_kg_h": 1.0}
    return LayerMaterial(**{**values, **changes})


def physics(material, **changes):
    values = {
        "air_temperature_c": 25,
        "surface_w_per_m2_k": 10,
        "oxygen_floor": 0.05,
        "greatest_temperature_c": 40,
    }
    return physical_layer_depth(material, **{**values, **changes})


SOAKED = {"bulk_density_kg_per_m3": 950, "moisture": 0.87, "oxygen_uptake_g_per_kg_h": 2.0}
INERT = clippings(oxygen_uptake_g_per_kg_h=0)
SLURRY = clippings(bulk_density_kg_per_m3=1000 / (0.9 + 0.1 / 1.5), moisture=0.9)


def test_the_smallest_limit_binds_and_is_named():
    safe = safe_layer_depth_mm(practice_mm=12.7, ledger_mm=8, physics_mm=30)
    assert (safe.depth_mm, safe.binds) == (8, DepthLimit.LEDGER)


def test_of_equal_limits_the_one_hardest_to_set_aside_is_named():
    equal = safe_layer_depth_mm(practice_mm=10, ledger_mm=10, physics_mm=10)
    assert equal.binds is DepthLimit.LEDGER
    assert safe_layer_depth_mm(practice_mm=10, physics_mm=10).binds is DepthLimit.PRACTICE


def test_without_ledger_or_physics_practice_stands():
    safe = safe_layer_depth_mm(practice_mm=12.7)
    assert (safe.depth_mm, safe.binds) == (12.7, DepthLimit.PRACTICE)
    assert safe.considered == ((DepthLimit.PRACTICE, 12.7),)


def test_a_full_bed_has_no_room_and_a_negative_room_is_refused():
    assert safe_layer_depth_mm(practice_mm=12.7, ledger_mm=0).depth_mm == 0
    with pytest.raises(OutsideValidity):
        safe_layer_depth_mm(practice_mm=12.7, ledger_mm=-1)


def test_loose_clippings_are_limited_by_heat_and_soaked_ones_by_air():
    assert physics(clippings()).limit is PhysicalLimit.HEAT
    assert physics(clippings(**SOAKED)).limit is PhysicalLimit.OXYGEN


def test_browns_let_a_layer_lie_deeper():
    leaves = clippings(bulk_density_kg_per_m3=80, moisture=0.38, oxygen_uptake_g_per_kg_h=0.1)
    mix = mixed_material([(1, clippings(**SOAKED)), (2, leaves)])
    assert physics(mix).depth_mm > 2 * physics(clippings(**SOAKED)).depth_mm


def test_a_layer_with_no_air_in_it_may_not_lie_at_all():
    assert SLURRY.air_filled_porosity == pytest.approx(0, abs=1e-9)
    found = physics(SLURRY)
    assert (found.depth_mm, found.limit) == (0, PhysicalLimit.OXYGEN)


def test_a_layer_gets_no_warmer_than_forty_degrees_or_ten_above_the_air():
    assert physics(clippings(), air_temperature_c=15).temperature_c == pytest.approx(25)
    assert physics(clippings(), air_temperature_c=32).temperature_c == pytest.approx(40)


def test_half_the_rise_is_allowed_however_hot_the_day():
    hot = physics(clippings(), air_temperature_c=42)
    assert hot.temperature_c == pytest.approx(47)
    assert hot.depth_mm > 5


def test_where_no_rise_is_allowed_nothing_that_breathes_may_lie():
    found = physics(clippings(), greatest_rise_c=0)
    assert (found.depth_mm, found.limit) == (0, PhysicalLimit.HEAT)


def test_frost_is_counted_as_zero_and_a_heat_wave_still_gets_an_answer():
    assert physics(clippings(), air_temperature_c=-15).depth_mm > 20
    assert physics(clippings(), air_temperature_c=49).depth_mm > 1


def test_what_neither_breathes_nor_heats_may_lie_as_deep_as_it_likes():
    assert aerobic_depth_mm(INERT, temperature_c=25, oxygen_floor=0.05) == DEEPEST_MM
    assert layer_heat(
        INERT, depth_mm=500, air_temperature_c=25, surface_w_per_m2_k=10
    ).peak_temperature_c == pytest.approx(25)
    assert physics(INERT).depth_mm == pytest.approx(DEEPEST_MM)


def test_a_floor_of_all_the_oxygen_there_is_can_be_kept_by_no_layer():
    with pytest.raises(OutsideValidity):
        aerobic_depth_mm(clippings(), temperature_c=25, oxygen_floor=0.2095)


def test_a_runaway_has_no_peak_and_knows_its_critical_depth():
    heat = layer_heat(clippings(), depth_mm=500, air_temperature_c=20, surface_w_per_m2_k=10)
    assert heat.runs_away
    assert heat.peak_temperature_c is None
    assert 10 < heat.critical_depth_mm < 500


def test_a_face_that_passes_no_heat_lets_nothing_settle():
    assert critical_source(0) == 0


def test_more_matter_than_fits_is_no_layer():
    with pytest.raises(OutsideValidity):
        clippings(bulk_density_kg_per_m3=1200, moisture=0.8)


@pytest.mark.parametrize("volume", [0.0, -1.0, float("inf"), float("nan")])
def test_a_mix_needs_volumes_above_zero(volume):
    with pytest.raises(OutsideValidity):
        mixed_material([(volume, clippings())])


def test_rounding_never_makes_a_mix_that_cannot_be():
    dry = clippings(bulk_density_kg_per_m3=100 / 3, moisture=0.0)
    assert mixed_material([(0.1, dry), (0.2, dry), (0.7, dry)]).moisture == 0
    full = mixed_material([(0.1, SLURRY), (0.2, SLURRY), (1 / 3, SLURRY)])
    assert full.air_filled_porosity == pytest.approx(0, abs=1e-9)


def test_a_mix_of_nothing_is_no_mix():
    with pytest.raises(OutsideValidity):
        mixed_material([])

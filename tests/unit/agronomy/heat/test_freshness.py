"""Amber and red clocks as a crew and a yard meet them."""

import pytest

from service.agronomy.estimates.validity import OutsideValidity
from service.agronomy.heat.freshness import (
    FreshnessLimit,
    SouringPace,
    freshness_clock,
    share_of_life_used,
)
from service.agronomy.heat.freshness_warming import warming_freshness_clock
from service.agronomy.layers.material import LayerMaterial

PACE = SouringPace(amber_hours=6, red_hours=24, reference_c=25, ratio_per_10_c=2)
GRASS = LayerMaterial(bulk_density_kg_per_m3=400, moisture=0.8, oxygen_uptake_g_per_kg_h=1.0)


def measured(**changes):
    values = {
        "depth_mm": 1000,
        "temperature_c": 25,
        "open_faces": 1,
        "pace": PACE,
        "cap_hours": 48,
    }
    return freshness_clock(GRASS, **{**values, **changes})


def unmeasured(**changes):
    values = {
        "depth_mm": 1000,
        "air_temperature_c": 25,
        "surface_w_per_m2_k": 10,
        "open_faces": 1,
        "pace": PACE,
        "cap_hours": 48,
    }
    return warming_freshness_clock(GRASS, **{**values, **changes})


def test_a_closed_bag_in_warm_weather_has_the_hours_practice_gives_plus_its_own_air():
    bag = measured(open_faces=0)
    assert bag.airless_share == 1
    assert bag.amber_hours == pytest.approx(6 + bag.airless_after_hours)
    assert bag.red_hours == pytest.approx(24 + bag.airless_after_hours)
    assert bag.airless_after_hours < 2


def test_a_thin_layer_stays_fresh_until_the_cap():
    layer = measured(depth_mm=20)
    assert layer.airless_share == 0
    assert (layer.red_hours, layer.limit) == (48, FreshnessLimit.CAP)
    assert layer.amber_hours == 12


def test_a_bag_ten_degrees_cooler_keeps_about_twice_as_long():
    warm, cool = measured(open_faces=0), measured(open_faces=0, temperature_c=15, cap_hours=200)
    assert cool.red_hours - cool.airless_after_hours == pytest.approx(
        2 * (warm.red_hours - warm.airless_after_hours)
    )


def test_a_truck_body_heats_on_its_way_and_is_red_within_the_day():
    body = unmeasured()
    assert body.limit is FreshnessLimit.SOURING
    assert 8 < body.red_hours < 24
    assert body.red_hours < measured().red_hours


def test_a_closed_bag_has_no_air_to_heat_with():
    assert unmeasured(open_faces=0) == measured(open_faces=0)


def test_air_that_is_as_hot_as_a_warm_heap_needs_no_time_to_warm_it():
    assert unmeasured(air_temperature_c=42) == measured(temperature_c=42)


def test_slats_let_a_heap_heat_only_from_its_middle():
    on_ground, on_slats = unmeasured(depth_mm=300), unmeasured(depth_mm=300, open_faces=2)
    assert on_slats.red_hours > on_ground.red_hours


def test_a_heap_that_sours_before_it_can_warm_keeps_its_cool_clock():
    short = SouringPace(amber_hours=0.1, red_hours=0.2, reference_c=25, ratio_per_10_c=2)
    assert unmeasured(pace=short).red_hours == measured(pace=short).red_hours


def test_moving_a_load_does_not_start_its_clock_anew():
    assert share_of_life_used([]) == 0
    assert share_of_life_used([(6, 24), (12, 48)]) == pytest.approx(0.5)


def test_frozen_clippings_are_counted_as_at_zero():
    assert measured(temperature_c=-10) == measured(temperature_c=0)
    assert unmeasured(air_temperature_c=-10).red_hours == 48


def test_amber_may_not_come_after_red():
    with pytest.raises(OutsideValidity):
        SouringPace(amber_hours=25, red_hours=24, reference_c=25, ratio_per_10_c=2)


def test_three_open_faces_are_no_heap_of_ours():
    with pytest.raises(OutsideValidity):
        measured(open_faces=3)

"""Amber and red clocks as a crew and a yard meet them."""

from dataclasses import replace
from itertools import islice

import pytest

from service.agronomy.estimates.validity import OutsideValidity
from service.agronomy.heat import heap_course as module
from service.agronomy.heat.freshness import (
    FreshnessLimit,
    SouringPace,
    freshness_clock,
)
from service.agronomy.heat.heap_course import HOTTEST_C, heap_courses
from service.agronomy.heat.pockets import FASTEST_MOISTURE
from service.agronomy.layers.material import LayerMaterial
from service.agronomy.layers.oxygen_uptake import BREATHING_POWER

PACE = SouringPace(
    amber_hours=6, red_hours=24, reference_c=25, ratio_per_10_c=2, uptake_g_per_kg_h=1
)
GRASS = LayerMaterial(bulk_density_kg_per_m3=400, moisture=0.8, oxygen_uptake_g_per_kg_h=1.0)
HEAP = {
    "depth_mm": 800,
    "temperature_c": 25,
    "air_temperature_c": 25,
    "surface_w_per_m2_k": 10,
    "open_faces": 1,
}


def clock(material=GRASS, **changes):
    values = {**HEAP, "pace": PACE, "cap_hours": 48, **changes}
    return freshness_clock(material, **values)


def course(hours, material=GRASS, **changes):
    ways = {"souring_reference_c": 25, "souring_ratio_per_10_c": 2}
    found = heap_courses([material], **{**HEAP, **ways, **changes})
    return [moment for (moment,) in islice(found, round(hours * 6))]


def test_a_closed_bag_has_the_hours_practice_gives_its_own_air_and_little_heat():
    bag = clock(open_faces=0, depth_mm=400)
    assert bag.airless_share == 1
    assert bag.limit is FreshnessLimit.SOURING
    # Loose pockets hold air for some warmth of their own, and warm grass sours sooner.
    assert 16 < bag.red_hours < 24
    assert bag.hours_to_hot is None


def test_grass_that_breathes_twice_as_fast_sours_in_half_the_time_and_none_slower_than_custom():
    slow, likely, rich = (
        clock(replace(GRASS, oxygen_uptake_g_per_kg_h=uptake), open_faces=0)
        for uptake in (0.25, 1.0, 2.0)
    )
    assert rich.amber_hours == pytest.approx(likely.amber_hours / 2, rel=0.05)
    assert rich.red_hours < 0.65 * likely.red_hours
    assert 24 < slow.red_hours < 24 + slow.airless_after_hours


def test_water_stores_heat_so_evenly_wet_grass_warms_late():
    dry, wet = (
        LayerMaterial(
            bulk_density_kg_per_m3=60 / (1 - water),
            moisture=water,
            oxygen_uptake_g_per_kg_h=water**BREATHING_POWER,
        )
        for water in (0.7, 0.88)
    )
    assert course(8, wet)[-1].hottest_c < course(8, dry)[-1].hottest_c
    assert wet.air_filled_porosity < dry.air_filled_porosity
    assert clock(wet).red_hours <= clock(dry).red_hours


def test_no_water_lets_cut_grass_warm_itself_faster_than_the_drained_pockets_hold():
    def pace(water):
        dry_matter, stores = 1 - water, 2.5e6 / 1500 * (1 - water) + 4180 * water
        return water**BREATHING_POWER * dry_matter / stores

    waters = [step / 100 for step in range(30, 95)]
    assert max(waters, key=pace) == FASTEST_MOISTURE


def test_a_thin_layer_stays_fresh_until_the_cap():
    layer = clock(depth_mm=12)
    assert (layer.airless_share, layer.hours_to_warm) == (0, None)
    assert (layer.amber_hours, layer.red_hours, layer.limit) == (12, 48, FreshnessLimit.CAP)


def test_a_truck_body_heats_on_its_way_and_is_red_within_the_day():
    body = clock()
    assert body.limit is FreshnessLimit.HEAT
    assert body.red_hours == body.hours_to_hot
    assert 8 < body.amber_hours <= body.hours_to_warm < body.red_hours < 24


def test_a_heap_that_was_measured_hot_is_red_at_once():
    assert clock(temperature_c=60).red_hours == 0
    assert clock(temperature_c=45, air_temperature_c=20).amber_hours == 0


def test_deep_in_a_heap_it_sours_and_near_its_face_it_heats():
    deep, shallow = course(24)[-1], course(24, depth_mm=150)[-1]
    assert deep.airless_share > shallow.airless_share
    assert deep.hottest_c > 40


def test_nothing_gets_hotter_than_the_range_of_the_breathing():
    assert max(moment.hottest_c for moment in course(48)) == HOTTEST_C


def test_grass_without_air_in_it_makes_no_heat():
    soaked = LayerMaterial(bulk_density_kg_per_m3=1050, moisture=0.85, oxygen_uptake_g_per_kg_h=1.0)
    assert course(24, soaked)[-1].hottest_c < 26


def test_finer_slices_and_shorter_steps_say_the_same(monkeypatch):
    coarse = clock()
    monkeypatch.setattr(module, "_SLICES", 32)
    monkeypatch.setattr(module, "_STEP_S", 300.0)
    fine = clock()
    assert coarse.hours_to_hot == pytest.approx(fine.hours_to_hot, rel=0.05)
    assert coarse.amber_hours == pytest.approx(fine.amber_hours, rel=0.05)


@pytest.mark.parametrize(
    "wrong",
    [{"depth_mm": 0}, {"open_faces": 3}, {"temperature_c": 71}, {"air_temperature_c": 51}],
)
def test_a_heap_that_cannot_be_is_refused(wrong):
    with pytest.raises(OutsideValidity):
        clock(**wrong)

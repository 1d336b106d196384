"""Counting hot hours, cold days and growing days."""

import pytest

from service.agronomy.clippings.growth import (
    growth_potential,
    regrowth_g_per_m2,
)
from service.agronomy.estimates.validity import OutsideValidity
from service.agronomy.heat.heap_temperature import heap_caution
from service.agronomy.heat.kill import HeatStep, hours_at_or_above, meets_requirement


def step(**changes):
    values = {
        "name": "55_c",
        "temperature_c": 55,
        "hours": 72,
        "turnings": 0,
        "consecutive": True,
    }
    return HeatStep(**{**values, **changes})


def hot(readings, *, consecutive=False, gap=24.0):
    return hours_at_or_above(
        readings, temperature_c=55, greatest_gap_hours=gap, consecutive=consecutive
    )


def test_between_two_readings_the_crossing_is_on_the_straight_line():
    assert hot([(0, 45), (10, 65)]) == pytest.approx(5)
    assert hot([(0, 65), (10, 45)]) == pytest.approx(5)
    assert hot([(0, 50), (10, 60), (20, 50)]) == pytest.approx(10)


def test_a_reading_at_the_temperature_counts_as_hot():
    assert hot([(0, 55), (10, 55)]) == 10


def test_a_dip_breaks_a_consecutive_time_but_not_the_sum():
    readings = [(0, 60), (20, 60), (22, 50), (24, 60), (54, 60)]
    assert hot(readings, gap=48) == pytest.approx(52)
    assert hot(readings, gap=48, consecutive=True) == pytest.approx(31)


def test_a_week_end_without_readings_counts_as_cold():
    readings = [(0, 60), (24, 60), (96, 60), (120, 60)]
    assert hot(readings) == 48
    assert hot(readings, consecutive=True) == 24
    assert hot(readings, gap=72) == 120


def test_one_reading_or_none_proves_nothing():
    assert hot([]) == 0
    assert hot([(5, 80)]) == 0


def test_readings_out_of_order_and_impossible_ones_are_refused():
    with pytest.raises(OutsideValidity):
        hot([(5, 60), (5, 60)])
    with pytest.raises(OutsideValidity):
        hot([(0, 60), (5, 400)])
    with pytest.raises(OutsideValidity):
        hot([(0, float("nan"))])


def test_any_of_several_ways_is_enough_and_the_one_that_was_met_is_named():
    hotter = step(name="65_c", temperature_c=65, hours=12)
    verdict = meets_requirement(
        [(0, 66), (13, 66)], turnings=0, steps=[step(), hotter], greatest_gap_hours=24
    )
    assert verdict.met
    assert verdict.met_by is hotter


def test_hot_enough_but_turned_too_little_is_not_enough():
    verdict = meets_requirement(
        [(0, 60), (20, 60), (40, 60), (60, 60), (80, 60)],
        turnings=3,
        steps=[step(turnings=5)],
        greatest_gap_hours=24,
    )
    assert not verdict.met
    assert verdict.shortfalls[0].hours_short == 0
    assert verdict.shortfalls[0].turnings_short == 2


def test_a_requirement_nobody_wrote_down_is_never_met():
    verdict = meets_requirement([(0, 70), (20, 70)], turnings=9, steps=[], greatest_gap_hours=24)
    assert not verdict.met
    assert verdict.shortfalls == ()


def test_the_gravest_caution_reached_is_given_and_none_below():
    table = {"watch": 65.6, "fire_service": 79.4}
    assert heap_caution(60, thresholds_c=table) is None
    assert heap_caution(65.6, thresholds_c=table) == "watch"
    assert heap_caution(90, thresholds_c=table) == "fire_service"
    assert heap_caution(90, thresholds_c={}) is None


def test_cool_season_turf_slows_above_its_optimum_and_warm_season_turf_does_not():
    cool = growth_potential(temperature_c=30, optimum_c=20, width_c=5.5, full_above_optimum=False)
    warm = growth_potential(temperature_c=38, optimum_c=31, width_c=7, full_above_optimum=True)
    assert cool < 0.2
    assert warm == 1


def test_no_days_grow_nothing_and_a_season_is_no_regrowth():
    setting = {"nitrogen_g_per_m2_per_month": 3, "nitrogen_fraction": 0.04}
    assert regrowth_g_per_m2([], **setting) == 0
    with pytest.raises(OutsideValidity):
        regrowth_g_per_m2([0.5] * 61, **setting)

"""What must hold for decay, growth, settling and kill, whatever the numbers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.agronomy.clippings.growth import (
    growth_potential,
    next_mowing_mass_kg,
    regrowth_g_per_m2,
)
from service.agronomy.heat.heap_temperature import heap_caution
from service.agronomy.heat.kill import HeatStep, hours_at_or_above, meets_requirement

temperatures = st.floats(-20, 45)


@given(distance=st.floats(0, 25), closer=st.floats(0, 1))
def test_nearer_the_optimum_grass_never_grows_less(distance, closer):
    def potential(temperature_c):
        return growth_potential(
            temperature_c=temperature_c, optimum_c=20, width_c=5.5, full_above_optimum=False
        )

    assert potential(20 - distance * closer) >= potential(20 - distance)
    assert potential(20 - distance) == pytest.approx(potential(20 + distance))
    assert 0 <= potential(20 - distance) <= 1


@given(
    potentials=st.lists(st.floats(0, 1), max_size=30),
    nitrogen=st.floats(0, 9),
    area=st.floats(1, 1e5),
)
def test_a_longer_wait_and_a_larger_lawn_never_bring_less(potentials, nitrogen, area):
    def mass(days, square_metres):
        return next_mowing_mass_kg(
            area_m2=square_metres,
            regrowth_g_per_m2=regrowth_g_per_m2(
                days, nitrogen_g_per_m2_per_month=nitrogen, nitrogen_fraction=0.04
            ),
            moisture=0.8,
        )

    assert mass([*potentials, 0.3], area) >= mass(potentials, area) >= 0
    assert mass(potentials, 2 * area) == pytest.approx(2 * mass(potentials, area))


readings = st.lists(st.tuples(st.floats(0.5, 30), st.floats(10, 80)), min_size=2, max_size=30).map(
    lambda steps: [
        (sum(gap for gap, _ in steps[: i + 1]), temperature_c)
        for i, (_, temperature_c) in enumerate(steps)
    ]
)


@given(found=readings, threshold=st.floats(41, 70), hotter=st.floats(0.1, 9))
def test_a_higher_threshold_never_counts_more_hours(found, threshold, hotter):
    def hot(temperature_c, *, consecutive):
        return hours_at_or_above(
            found,
            temperature_c=temperature_c,
            greatest_gap_hours=24,
            consecutive=consecutive,
        )

    assert hot(threshold + hotter, consecutive=False) <= hot(threshold, consecutive=False) + 1e-9
    assert hot(threshold, consecutive=True) <= hot(threshold, consecutive=False) + 1e-9
    assert hot(threshold, consecutive=False) <= found[-1][0] - found[0][0] + 1e-9


@given(found=readings, threshold=st.floats(41, 70), gap=st.floats(0.5, 30))
def test_readings_further_apart_are_never_trusted_more(found, threshold, gap):
    def hot(greatest_gap_hours):
        return hours_at_or_above(
            found,
            temperature_c=threshold,
            greatest_gap_hours=greatest_gap_hours,
            consecutive=True,
        )

    assert hot(gap) <= hot(gap + 5) + 1e-9


@given(found=readings, hours=st.floats(1, 200), turnings=st.integers(0, 8))
def test_a_shortfall_is_exactly_what_is_missing(found, hours, turnings):
    step = HeatStep(name="any", temperature_c=55, hours=hours, turnings=5, consecutive=False)
    verdict = meets_requirement(found, turnings=turnings, steps=[step], greatest_gap_hours=24)
    counted = hours_at_or_above(found, temperature_c=55, greatest_gap_hours=24, consecutive=False)
    assert verdict.met == (counted >= hours and turnings >= 5)
    if not verdict.met:
        (shortfall,) = verdict.shortfalls
        assert shortfall.hours_short == pytest.approx(max(0, hours - counted))
        assert shortfall.turnings_short == max(0, 5 - turnings)


@given(temperature_c=st.floats(0, 140), hotter=st.floats(0, 10))
def test_a_hotter_heap_never_gets_a_milder_caution(temperature_c, hotter):
    thresholds = {"watch": 65.6, "danger": 71.1, "fire_service": 79.4}
    order = [None, *thresholds]
    rank = [
        order.index(heap_caution(t, thresholds_c=thresholds))
        for t in (temperature_c, temperature_c + hotter)
    ]
    assert rank[0] <= rank[1]

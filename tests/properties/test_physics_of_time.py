"""What must hold for decay, growth, settling and kill, whatever the numbers."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.agronomy.clippings.growth import (
    growing_degree_days,
    growth_potential,
    next_mowing_mass_kg,
    regrowth_g_per_m2,
)
from service.agronomy.compost.decay import (
    LaidLayer,
    decay_rate_per_day,
    depth_left_mm,
    dry_matter_left_kg_per_m2,
    rate_at_temperature_per_day,
    remaining_after_days,
    remaining_fraction,
)
from service.agronomy.heat.heap_temperature import heap_caution
from service.agronomy.heat.kill import HeatStep, hours_at_or_above, meets_requirement
from service.agronomy.layers.material import greatest_density_kg_per_m3
from service.agronomy.layers.settling import (
    density_after_kg_per_m3,
    mean_density_kg_per_m3,
    settled_depth_mm,
)

temperatures = st.floats(-20, 45)


@given(lost=st.floats(0, 0.99), days=st.floats(1, 1000))
def test_a_loss_gives_a_rate_that_gives_the_loss(lost, days):
    rate = decay_rate_per_day(lost_fraction=lost, days=days)
    assert 1 - remaining_fraction(rate_per_day=rate, days=days) == pytest.approx(lost, abs=1e-12)


@given(rate=st.floats(0, 0.1), first=st.floats(0, 500), second=st.floats(0, 500))
def test_what_is_left_of_what_is_left_is_what_is_left(rate, first, second):
    assert remaining_fraction(rate_per_day=rate, days=first + second) == pytest.approx(
        remaining_fraction(rate_per_day=rate, days=first)
        * remaining_fraction(rate_per_day=rate, days=second)
    )


@given(rate=st.floats(0, 0.1), days=st.integers(0, 200), temperature_c=st.floats(1, 35))
def test_days_of_one_temperature_are_one_rate(rate, days, temperature_c):
    constant = rate_at_temperature_per_day(
        rate_per_day=rate, measured_at_c=20, temperature_c=temperature_c, ratio_per_10_c=2
    )
    assert remaining_after_days(
        [temperature_c] * days, rate_per_day=rate, measured_at_c=20, ratio_per_10_c=2
    ) == pytest.approx(remaining_fraction(rate_per_day=constant, days=days))


@given(
    laid=st.lists(
        st.builds(LaidLayer, dry_matter_kg_per_m2=st.floats(0, 5), age_days=st.floats(0, 700)),
        max_size=8,
    ),
    rate=st.floats(0, 0.05),
    wait=st.floats(0, 300),
)
def test_a_bed_never_holds_more_than_was_laid_and_waiting_never_adds(laid, rate, wait):
    now = dry_matter_left_kg_per_m2(laid, rate_per_day=rate)
    later = dry_matter_left_kg_per_m2(
        [
            LaidLayer(
                dry_matter_kg_per_m2=layer.dry_matter_kg_per_m2, age_days=layer.age_days + wait
            )
            for layer in laid
        ],
        rate_per_day=rate,
    )
    assert later <= now + 1e-12
    assert now <= sum(layer.dry_matter_kg_per_m2 for layer in laid) + 1e-12
    assert depth_left_mm(list(reversed(laid)), rate_per_day=rate, dry_density_kg_per_m3=80) == (
        pytest.approx(now / 80 * 1000)
    )


@given(
    loose=st.floats(50, 400),
    extra=st.floats(0, 400),
    hours=st.floats(0, 100),
    wait=st.floats(0, 100),
)
def test_a_load_only_settles_and_never_past_its_end(loose, extra, hours, wait):
    def density(after_hours):
        return density_after_kg_per_m3(
            loose_density_kg_per_m3=loose,
            settled_density_kg_per_m3=loose + extra,
            hours=after_hours,
            half_time_hours=2,
        )

    assert loose - 1e-9 <= density(hours) <= density(hours + wait) + 1e-9
    assert density(hours + wait) <= loose + extra + 1e-9
    assert density(0) == pytest.approx(loose)


@given(
    surface=st.floats(50, 600),
    depth=st.floats(0, 3000),
    extra=st.floats(0, 1000),
    softness=st.floats(0, 0.3),
    moisture=st.floats(0.5, 0.9),
)
def test_a_deeper_load_is_never_looser_and_never_without_its_water_and_solids(
    surface, depth, extra, softness, moisture
):
    def density(depth_mm):
        return mean_density_kg_per_m3(
            surface_density_kg_per_m3=surface,
            depth_mm=depth_mm,
            compressibility_per_kpa=softness,
            moisture=moisture,
        )

    assert surface - 1e-9 <= density(depth) <= density(depth + extra) * (1 + 1e-12)
    assert density(depth + extra) <= greatest_density_kg_per_m3(moisture)


@given(depth=st.floats(1, 3000), before=st.floats(50, 500), after=st.floats(50, 900))
def test_settling_there_and_back_is_no_settling(depth, before, after):
    settled = settled_depth_mm(
        depth_mm=depth, density_before_kg_per_m3=before, density_after_kg_per_m3=after
    )
    assume(settled <= 10_000)
    assert settled_depth_mm(
        depth_mm=settled, density_before_kg_per_m3=after, density_after_kg_per_m3=before
    ) == pytest.approx(depth)


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


@given(low=temperatures, span=st.floats(0, 15), base=st.floats(0, 10))
def test_growing_degrees_are_never_negative_and_a_higher_base_gives_fewer(low, span, base):
    def degrees(base_c):
        return growing_degree_days(
            minimum_temperature_c=low, maximum_temperature_c=low + span, base_c=base_c
        )

    assert 0 <= degrees(base + 1) <= degrees(base)


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

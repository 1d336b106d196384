"""What must hold for clippings and estimates: more is more, inverses invert, units are alike."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.agronomy.clippings.mass import ClippingsEstimate, estimate_clippings
from service.agronomy.estimates.uncertainty import product, total
from service.core.measures.estimates import Estimate
from service.rules.lookup import Rulebook
from tests.builders import DAY
from tests.properties.estimates import fractions, intervals

RULES = Rulebook.load()
areas = st.floats(1.0, 1e5)


def mown(area_m2: float, removed_mm: float, moisture: Estimate) -> ClippingsEstimate:
    return estimate_clippings(
        area_m2=area_m2,
        height_removed_mm=removed_mm,
        height_before_mm=None,
        sward_density=RULES.value_on(
            "sward_density_g_per_m2_mm", DAY, grass_kind="unknown", season="summer"
        ).estimate,
        moisture=moisture,
        bulk_density=RULES.value_on("bulk_density_kg_per_m3", DAY, packing="loose").estimate,
        nitrogen_fraction=RULES.value_on("clipping_nitrogen_fraction_of_dry_matter", DAY).estimate,
        carbon_to_nitrogen=RULES.value_on("clipping_carbon_to_nitrogen", DAY).estimate,
    )


@given(areas, st.floats(1, 100), fractions(least=0.5, most=0.8), st.floats(0.01, 0.15))
def test_wetter_clippings_are_heavier_and_hold_no_more_dry_matter(
    area_m2: float, removed_mm: float, moisture: Estimate, wetter: float
) -> None:
    wet = Estimate(
        low=moisture.low + wetter,
        likely=moisture.likely + wetter,
        high=moisture.high + wetter,
        unit="1",
        basis="wetter",
        sources=(),
    )
    dry_cut, wet_cut = mown(area_m2, removed_mm, moisture), mown(area_m2, removed_mm, wet)
    assert wet_cut.mass_kg.likely > dry_cut.mass_kg.likely
    assert wet_cut.mass_kg.high > dry_cut.mass_kg.high
    assert wet_cut.dry_matter_kg == dry_cut.dry_matter_kg


@given(areas, st.floats(1, 100), fractions(least=0.5, most=0.9), st.floats(0.1, 10))
def test_twice_the_lawn_is_twice_of_everything_but_the_ratio(
    area_m2: float, removed_mm: float, moisture: Estimate, times: float
) -> None:
    one, many = mown(area_m2, removed_mm, moisture), mown(area_m2 * times, removed_mm, moisture)
    for name in ("dry_matter_kg", "mass_kg", "volume_m3", "nitrogen_kg"):
        for end in ("low", "likely", "high"):
            single = getattr(getattr(one, name), end)
            assert getattr(getattr(many, name), end) == pytest.approx(times * single)
    assert many.carbon_to_nitrogen == one.carbon_to_nitrogen


@given(areas, st.floats(1, 100), fractions(least=0.5, most=0.9))
def test_dry_matter_never_outweighs_the_fresh_mass(
    area_m2: float, removed_mm: float, moisture: Estimate
) -> None:
    cut = mown(area_m2, removed_mm, moisture)
    assert cut.dry_matter_kg.likely < cut.mass_kg.likely
    assert cut.nitrogen_kg.likely < cut.dry_matter_kg.likely


@given(st.lists(intervals(), min_size=1, max_size=5), st.floats(0.1, 10))
def test_a_product_scales_with_its_scale(factors: list[Estimate], scale: float) -> None:
    powers = [(factor, 1.0) for factor in factors]
    once = product(powers, unit="kg", basis="drawn")
    scaled = product(powers, unit="kg", basis="drawn", scale=scale)
    for end in ("low", "likely", "high"):
        assert getattr(scaled, end) == pytest.approx(scale * getattr(once, end))


@given(st.lists(intervals(), min_size=1, max_size=5))
def test_the_inverse_of_a_product_has_the_inverse_ends(factors: list[Estimate]) -> None:
    there = product([(factor, 1.0) for factor in factors], unit="kg", basis="drawn")
    back = product([(factor, -1.0) for factor in factors], unit="1/kg", basis="drawn")
    assert back.low == pytest.approx(1 / there.high)
    assert back.likely == pytest.approx(1 / there.likely)
    assert back.high == pytest.approx(1 / there.low)


@given(st.lists(intervals(), min_size=2, max_size=6), st.floats(0, 1))
def test_a_sum_lies_within_its_parts_erring_wholly_together(
    parts: list[Estimate], correlation: float
) -> None:
    summed = total(parts, unit="kg", basis="drawn", correlation=correlation)
    together = total(parts, unit="kg", basis="drawn", correlation=1.0)
    assert together.low * (1 - 1e-9) <= summed.low <= summed.likely <= summed.high
    assert summed.high <= together.high * (1 + 1e-9)

import pytest

from service.agronomy.clippings.density import (
    bucket_density_kg_per_m3,
    dry_bulk_density_kg_per_m3,
    mass_of_volume,
    volume_of_mass,
)
from service.agronomy.clippings.nitrogen import (
    available_nitrogen_kg,
    nitrogen_fraction_from_protein,
    nitrogen_on_bed_kg_per_ha,
    nitrogen_per_wet_mass,
    nitrogen_returned_kg_per_m2,
    plant_available_nitrogen_per_dry_matter,
)
from service.agronomy.estimates.plausibility import Plausibility, check_mowing, check_season
from service.agronomy.estimates.validity import OutsideValidity
from service.core.estimates import Estimate, exactly


def interval(low: float, likely: float, high: float, unit: str) -> Estimate:
    return Estimate(low=low, likely=likely, high=high, unit=unit, basis="a test", sources=("a",))


DENSITY = interval(150, 250, 400, "kg/m3")


def test_a_volume_becomes_a_mass_and_the_mass_that_volume_again() -> None:
    mass = mass_of_volume(2.0, DENSITY)
    assert (mass.low, mass.likely, mass.high) == pytest.approx((300, 500, 800))
    volume = volume_of_mass(500.0, DENSITY)
    assert (volume.low, volume.likely, volume.high) == pytest.approx((1.25, 2.0, 10 / 3))


def test_an_estimated_volume_makes_the_mass_wider_than_a_measured_one() -> None:
    estimated = mass_of_volume(interval(1.5, 2.0, 2.6, "m3"), DENSITY)
    measured = mass_of_volume(2.0, DENSITY)
    assert estimated.high > measured.high
    assert estimated.low < measured.low
    assert volume_of_mass(interval(400, 500, 600, "kg"), DENSITY).unit == "m3"


@pytest.mark.parametrize("volume_m3", [0.0, -1.0, float("nan")])
def test_a_body_without_volume_is_refused(volume_m3: float) -> None:
    with pytest.raises(OutsideValidity):
        mass_of_volume(volume_m3, DENSITY)


def test_a_bucket_lighter_full_than_empty_is_refused() -> None:
    with pytest.raises(OutsideValidity):
        bucket_density_kg_per_m3(full_mass_kg=1, empty_mass_kg=2, bucket_litres=20)


def test_dry_matter_in_a_volume_is_what_the_water_leaves() -> None:
    assert dry_bulk_density_kg_per_m3(bulk_density_kg_per_m3=240, moisture=0.75) == 60


def test_protein_is_six_and_a_quarter_times_nitrogen() -> None:
    assert nitrogen_fraction_from_protein(0.25) == pytest.approx(0.04)


def test_a_fresh_tonne_holds_about_eight_kilograms_of_nitrogen() -> None:
    # 20 % dry matter of 4 % nitrogen.
    fraction = nitrogen_per_wet_mass(
        moisture=exactly(0.8, unit="1", basis="oven"),
        nitrogen_fraction=exactly(0.04, unit="1", basis="laboratory"),
    )
    assert 1000 * fraction.likely == pytest.approx(8)


def test_nitrogen_per_hectare_is_ten_thousand_times_that_of_a_square_metre() -> None:
    laid = nitrogen_on_bed_kg_per_ha(0.5, area_m2=20)
    assert (laid.likely, laid.unit) == (250, "kg/ha")
    spread = nitrogen_on_bed_kg_per_ha(interval(0.4, 0.5, 0.7, "kg"), area_m2=20)
    assert spread.high == pytest.approx(350)


def test_plants_find_only_a_share_of_the_nitrogen() -> None:
    found = available_nitrogen_kg(
        interval(0.8, 1.0, 1.2, "kg"), available_fraction=interval(0.21, 0.29, 0.37, "1")
    )
    assert 0.19 < found.low < 0.29 < found.high < 0.4


def test_straw_gives_no_nitrogen_and_the_line_is_not_drawn_beyond_its_data() -> None:
    assert plant_available_nitrogen_per_dry_matter(0.012) == 0
    with pytest.raises(OutsideValidity):
        plant_available_nitrogen_per_dry_matter(0.05)


def test_clippings_left_give_their_nitrogen_back() -> None:
    returned = nitrogen_returned_kg_per_m2(dry_matter_kg_per_m2=0.4, nitrogen_fraction=0.04)
    assert returned == pytest.approx(0.016)


@pytest.mark.parametrize(
    ("dry_matter_kg", "expected"),
    [
        (1.0, Plausibility.BELOW_PUBLISHED),
        (10.0, Plausibility.ORDINARY),
        (40.0, Plausibility.ABOVE_PUBLISHED),
        (100.0, Plausibility.FAR_ABOVE_PUBLISHED),
    ],
)
def test_a_mowing_is_held_against_published_ones(
    dry_matter_kg: float, expected: Plausibility
) -> None:
    published = interval(5, 17, 50, "g/m2")
    found = check_mowing(dry_matter_kg=dry_matter_kg, area_m2=500, published_g_per_m2=published)
    assert found.plausibility is expected
    assert found.times_high == pytest.approx(dry_matter_kg * 1000 / 500 / 50)


def test_square_feet_taken_for_square_metres_are_found_out() -> None:
    # 5,000 ft2 typed as m2 weighed in at the dry matter of the true 465 m2, times 10.8.
    published = interval(0.244, 0.44, 0.515, "kg/m2")
    found = check_season(dry_matter_kg=5000 * 0.44, area_m2=465, published_kg_per_m2=published)
    assert found.plausibility is Plausibility.FAR_ABOVE_PUBLISHED

"""What German and Spanish law asks of a bed, where it binds and where it does not."""

import datetime

import pytest

from service.rules.lookup import Law, LawFacts, Rulebook

RULES = Rulebook.load()
DAY = datetime.date(2026, 11, 30)


def ruled(name: str, ground: str | None, *, place: str = "DE-BY", day: datetime.date = DAY):
    return RULES.ruled_on(
        name, day, LawFacts(jurisdiction=place, ground=ground, basis="permit", carrier="firm")
    )


@pytest.mark.parametrize("ground", ["public_ground", "business_ground", "farm_holding"])
def test_untreated_clippings_want_a_word_of_the_authority_in_germany(ground: str) -> None:
    found = ruled("legal_basis_needed", ground)
    assert found.law is Law.BINDS
    assert "Anhang 1" in found.row.where


def test_private_gardens_are_out_of_the_german_ordinance() -> None:
    assert ruled("legal_basis_needed", "private_garden").law is Law.DOES_NOT_BIND


def test_before_may_2023_it_bound_farm_and_garden_trade_land_alone() -> None:
    before = datetime.date(2023, 4, 30)
    assert ruled("legal_basis_needed", "farm_holding", day=before).law is Law.BINDS
    assert ruled("legal_basis_needed", "public_ground", day=before).law is Law.DOES_NOT_BIND


def test_ground_of_a_kind_nobody_recorded_may_be_under_the_law() -> None:
    found = ruled("legal_basis_needed", None)
    assert (found.law, found.missing) == (Law.NOT_KNOWN, ("ground",))


@pytest.mark.parametrize(
    ("ground", "law"),
    [
        ("farm_holding_in_nitrate_zone", Law.BINDS),
        ("farm_holding", Law.DOES_NOT_BIND),
        ("business_ground", Law.DOES_NOT_BIND),
    ],
)
def test_170_kg_of_nitrogen_are_law_on_the_plots_of_nitrate_areas_alone(
    ground: str, law: Law
) -> None:
    found = ruled("nitrogen_kg_per_ha_year_max", ground)
    assert (found.row.value, found.law) == (170, law)


@pytest.mark.parametrize("ground", ["private_garden", "public_ground", "farm_holding"])
def test_three_years_at_the_german_advice_keep_below_twenty_tonnes_of_dry_matter(
    ground: str,
) -> None:
    # [bioabfv-2012] § 6 Abs. 1. What lies in the fourth year is not counted any more.
    yearly_kg_per_m2 = ruled("plant_matter_kg_per_m2_year_max", ground).row.value
    dry_share = 1 - RULES.value_on("clipping_moisture", DAY, wetness="dry").likely
    assert 3 * 10 * yearly_kg_per_m2 * dry_share == pytest.approx(20, abs=0.05)


@pytest.mark.parametrize("place", ["DE", "ES-AN"])
def test_fit_ground_is_law_on_farms(place: str) -> None:
    assert ruled("fit_ground_needed", "farm_holding", place=place).law is Law.BINDS
    assert ruled("fit_ground_needed", "private_garden", place=place).law is Law.DOES_NOT_BIND


def test_clubroot_and_mosaic_virus_are_read_and_no_longer_remembered() -> None:
    row = RULES.value_on(
        "kill_shown_by", DAY, jurisdiction="DE", standard="bioabfv", kill="plant_disease"
    )
    assert row.standing == "read"

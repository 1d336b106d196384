import datetime

import pytest

from service.agronomy.clippings.mass import (
    AreaOutOfRange,
    ClippingsEstimate,
    Content,
    FactorUnitWrong,
    HeightOutOfRange,
    estimate_clippings,
)
from service.core.measures.estimates import Estimate, exactly
from service.rules.lookup import Rulebook

DAY = datetime.date(2026, 6, 1)
RULES = Rulebook.load()
FACTORS: dict[str, Estimate] = {
    "sward_density": RULES.value_on(
        "sward_density_g_per_m2_mm", DAY, grass_kind="cool_season", season="spring"
    ).estimate,
    "moisture": RULES.value_on("clipping_moisture", DAY, wetness="dewy").estimate,
    "bulk_density": RULES.value_on("bulk_density_kg_per_m3", DAY, packing="loose").estimate,
    "nitrogen_fraction": RULES.value_on("clipping_nitrogen_fraction_of_dry_matter", DAY).estimate,
    "carbon_to_nitrogen": RULES.value_on("clipping_carbon_to_nitrogen", DAY).estimate,
}


def mown(
    *,
    area_m2: float = 400,
    removed_mm: float = 25,
    before_mm: float | None = 75,
    factors: dict[str, Estimate] | None = None,
) -> ClippingsEstimate:
    return estimate_clippings(
        area_m2=area_m2,
        height_removed_mm=removed_mm,
        height_before_mm=before_mm,
        **(FACTORS | (factors or {})),
    )


@pytest.mark.parametrize("area_m2", [0.0, -1.0, 1e9, float("nan")])
def test_an_area_no_crew_mows_is_refused(area_m2: float) -> None:
    with pytest.raises(AreaOutOfRange):
        mown(area_m2=area_m2)


@pytest.mark.parametrize(
    ("removed_mm", "before_mm"), [(0, 75), (75, 75), (80, 75), (-5, None), (1200, None)]
)
def test_a_height_the_grass_did_not_have_is_refused(
    removed_mm: float, before_mm: float | None
) -> None:
    with pytest.raises(HeightOutOfRange):
        mown(removed_mm=removed_mm, before_mm=before_mm)


def test_a_factor_in_another_unit_is_refused() -> None:
    with pytest.raises(FactorUnitWrong, match="moisture"):
        mown(factors={"moisture": FACTORS["bulk_density"]})


@pytest.mark.parametrize(
    ("removed_mm", "before_mm", "broken"),
    [(25, 75, False), (38.1, 114.3, False), (26, 75, True), (25, None, None)],
)
def test_the_one_third_rule_is_broken_above_a_third_only(
    *, removed_mm: float, before_mm: float | None, broken: bool | None
) -> None:
    assert mown(removed_mm=removed_mm, before_mm=before_mm).one_third_rule_broken is broken


def test_every_factor_stands_in_the_answer_with_a_source() -> None:
    factors = mown().factors
    entered = {"area_m2", "height_removed_mm"}
    assert {factor.name for factor in factors} > entered
    assert all(factor.value.sources for factor in factors if factor.name not in entered)


def test_the_mass_names_every_source_of_its_factors() -> None:
    keys = set(FACTORS["sward_density"].sources) | set(FACTORS["moisture"].sources)
    assert set(mown().mass_kg.sources) == keys


def test_rain_makes_the_same_grass_heavier_and_no_drier() -> None:
    wet = RULES.value_on("clipping_moisture", DAY, wetness="rained_on").estimate
    rained_on, dewy = mown(factors={"moisture": wet}), mown()
    assert rained_on.mass_kg.likely > dewy.mass_kg.likely
    assert rained_on.dry_matter_kg == dewy.dry_matter_kg


def test_what_a_measured_mass_holds_follows_from_its_state_alone() -> None:
    holds = Content(
        moisture=FACTORS["moisture"],
        bulk_density=FACTORS["bulk_density"],
        nitrogen_fraction=exactly(0.04, unit="1", basis="test"),
    )
    fifty = exactly(50, unit="kg", basis="test")
    volume = holds.volume_m3(fifty)
    assert (volume.low, volume.high) == pytest.approx((50 / 260, 50 / 148.3))
    back = holds.mass_kg(exactly(0.2, unit="m3", basis="test"))
    assert (back.low, back.high) == pytest.approx((0.2 * 148.3, 0.2 * 260))
    nitrogen = holds.nitrogen_kg(fifty)
    assert (nitrogen.low, nitrogen.high) == pytest.approx((50 * 0.15 * 0.04, 50 * 0.25 * 0.04))

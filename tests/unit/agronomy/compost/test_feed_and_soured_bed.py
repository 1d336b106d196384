import datetime

import pytest

from service.agronomy.compost.feed import FeedBatch, FeedCaution, FeedPractice, feed_batch
from service.agronomy.estimates.validity import OutsideValidity
from service.agronomy.layers.soured_bed import (
    SouredBedPlan,
    SourStep,
    bioassay_plan,
    soured_bed_plan,
)
from service.rules.lookup import Rulebook

DAY = datetime.date(2026, 6, 1)
RULES = Rulebook.load()
PRACTICE = FeedPractice(
    clippings_kg_per_litre=RULES.value_on("feed_clippings_kg_per_litre", DAY).value,
    steep_days=round(RULES.value_on("feed_steep_days", DAY).value),
    stirs_per_day=round(RULES.value_on("feed_stirs_per_day", DAY).value),
    dilution=RULES.value_on("feed_dilution", DAY).value,
    litres_per_m2=RULES.value_on("feed_litres_per_m2", DAY).value,
)


def batch(*, clippings_kg: float = 10, vessel_litres: float = 200) -> FeedBatch:
    return feed_batch(
        clippings_kg=clippings_kg,
        vessel_litres=vessel_litres,
        practice=PRACTICE,
        moisture=RULES.value_on("clipping_moisture", DAY, wetness="unknown").estimate,
        content={
            symbol: RULES.value_on("feed_nutrient_content", DAY, nutrient=symbol).estimate
            for symbol in "NPK"
        },
        extracted={
            symbol: RULES.value_on("feed_nutrient_extracted", DAY, nutrient=symbol).estimate
            for symbol in "NPK"
        },
    )


def test_a_batch_uses_all_clippings_a_vessel_has_room_for() -> None:
    made = batch()
    assert (made.clippings_kg, made.left_over_kg, made.water_litres) == (10, 0, 50)
    assert made.diluted_litres == pytest.approx(550)
    assert made.area_served_m2 == pytest.approx(275)


def test_a_small_vessel_leaves_clippings_over_and_a_third_of_itself_empty() -> None:
    made = batch(clippings_kg=10, vessel_litres=19)
    assert made.clippings_kg + made.left_over_kg == pytest.approx(10)
    assert made.water_litres + made.clippings_kg == pytest.approx(19 * 2 / 3)


def test_the_nutrients_cannot_exceed_what_the_clippings_hold() -> None:
    made = batch()
    nitrogen_g = 10 * (1 - 0.79) * 0.034 * 1000
    assert made.nutrients_g["N"].high < nitrogen_g
    assert made.nutrients_g["N"].low < made.nutrients_g["N"].likely


def test_every_batch_carries_every_caution() -> None:
    assert set(batch().cautions) == set(FeedCaution)


def test_a_feed_is_far_weaker_than_a_lawn_fertiliser() -> None:
    # A lawn takes about 5 g of nitrogen a square metre at a time (1 lb per 1,000 ft2).
    assert batch().nitrogen_g_per_m2.high < 1


def test_no_clippings_make_no_feed() -> None:
    with pytest.raises(OutsideValidity):
        batch(clippings_kg=0)


def test_a_practice_nobody_has_is_refused() -> None:
    with pytest.raises(OutsideValidity):
        FeedPractice(
            clippings_kg_per_litre=0.2,
            steep_days=60,
            stirs_per_day=1,
            dilution=10,
            litres_per_m2=2,
        )


def soured(depth_mm: float = 40) -> SouredBedPlan:
    return soured_bed_plan(
        area_m2=12,
        depth_mm=depth_mm,
        density_kg_per_m3=400,
        thin_depth_mm=RULES.value_on("sour_thin_depth_mm", DAY).value,
        browns_per_green=RULES.value_on("sour_browns_per_green", DAY).value,
        browns_density_kg_per_m3=100,
        keep_off_plants_days=round(RULES.value_on("sour_keep_off_plants_days", DAY).value),
        smell_again_days=round(RULES.value_on("sour_smell_again_days", DAY).value),
    )


def test_a_thick_sour_layer_is_thinned_and_the_rest_carried_off() -> None:
    plan = soured()
    assert plan.surplus_kg == pytest.approx(0.030 * 12 * 400)
    assert plan.browns_litres == pytest.approx(0.010 * 12 * 2 * 1000)
    assert SourStep.CARRY_OFF_SURPLUS in [step.step for step in plan.steps]


def test_a_thin_sour_layer_leaves_nothing_to_carry() -> None:
    plan = soured(depth_mm=8)
    assert plan.surplus_kg == 0
    assert SourStep.CARRY_OFF_SURPLUS not in [step.step for step in plan.steps]


def test_steps_come_in_the_order_of_their_days_and_safety_comes_first() -> None:
    steps = soured().steps
    offsets = [step.day_offset for step in steps]
    assert offsets == sorted(offsets)
    assert [step.step for step in steps[:2]] == [
        SourStep.STAY_UPWIND_WITH_GLOVES,
        SourStep.NEVER_INTO_PITS_OR_TANKS,
    ]


def test_a_bed_is_free_again_after_its_rest() -> None:
    plan = soured()
    assert plan.free_again_day == 14
    assert plan.steps[-1].day_offset == 14


def test_a_bioassay_needs_two_parts_of_material_to_one_of_mix() -> None:
    plan = bioassay_plan(test_pots=3, control_pots=3, pot_litres=0.75)
    assert plan.material_litres == pytest.approx(1.5)
    assert plan.potting_mix_litres == pytest.approx(0.75 + 2.25)
    assert plan.seeds == 18
    assert (plan.look_first_day, plan.look_last_day, plan.leaf_sets) == (14, 21, 3)


@pytest.mark.parametrize("pots", [2, 7])
def test_too_few_or_too_many_pots_are_refused(pots: int) -> None:
    with pytest.raises(OutsideValidity):
        bioassay_plan(test_pots=pots)

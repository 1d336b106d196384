"""Worked examples that end in something to do: bags to buy, parts to mix, loads to leave behind."""

import pytest

from service.agronomy.clippings.vehicle_load import (
    Aboard,
    VehicleLimits,
    VehicleOverloaded,
    check_load,
)
from service.agronomy.compost.mix import (
    Ingredient,
    Mix,
    Part,
    mix_of,
)
from service.agronomy.compost.recipe import MixGoals, least_browns
from service.agronomy.layers.bed_layer import area_covered_m2, browns_for, mass_at_depth_kg
from service.agronomy.layers.bed_room import M2_PER_HA, bed_room, ledger_sums, nitrogen_kg_per_ha
from service.core.measures.quantities import from_si, to_si
from tests.published.printed import Printed

FOOT_M3 = to_si(1, "[cft_i]")
ACRE_M2 = to_si(1, "43560.[sft_i]")
POUND_AN_ACRE_IN_KG_PER_HA = to_si(1, "[lb_av]") / ACRE_M2 * M2_PER_HA


def layer_m3(*, area_ft2: float, depth_in: float) -> float:
    return mass_at_depth_kg(
        depth_mm=1000 * to_si(depth_in, "[in_i]"),
        area_m2=to_si(area_ft2, "[sft_i]"),
        density_kg_per_m3=1,
    )


def bags(volume_m3: float, *, bag_ft3: float) -> int:
    bought = browns_for(
        clippings_volume_m3=volume_m3,
        browns_per_green=1,
        browns_density_kg_per_m3=1,
        bag_litres=1000 * bag_ft3 * FOOT_M3,
    ).bags
    assert bought is not None
    return bought


def covered_ft2(volume_m3: float, *, depth_in: float) -> float:
    area_m2 = area_covered_m2(
        mass_kg=volume_m3, depth_mm=1000 * to_si(depth_in, "[in_i]"), density_kg_per_m3=1
    )
    return from_si(area_m2, "[sft_i]")


def alike(ratio: float) -> Ingredient:
    """Return a material of this C:N with the nitrogen of all others: so parts add up."""
    return Ingredient(
        name=f"{ratio:g}:1",
        moisture=0.0,
        nitrogen_fraction=0.005,
        carbon_to_nitrogen=ratio,
        bulk_density_kg_per_m3=300,
    )


def heap(*ratios: float) -> Mix:
    return mix_of([Part(ingredient=alike(ratio), mass_kg=1) for ratio in ratios])


def least_kg(base: Part, added: Ingredient, *, ratio: float) -> float:
    """Return the least that brings a base of a higher C:N down to this one [kg]."""
    goals = MixGoals(
        moisture_min=0, moisture_max=1, carbon_to_nitrogen_min=1, carbon_to_nitrogen_max=ratio
    )
    return least_browns([base], [added], goals).mass_kg[added.name]


def parts_of(added: float, *, to_one_of: float, goal: float) -> float:
    return least_kg(Part(ingredient=alike(to_one_of), mass_kg=1), alike(added), ratio=goal)


def percent_over(*, payload_lb: float, body_ft3: float, pounds_a_yard: float) -> float:
    """Return by how much a body that is filled level with gravel is overloaded [%]."""
    volume_m3 = body_ft3 * FOOT_M3
    mass_kg = to_si(from_si(volume_m3, "[cyd_i]") * pounds_a_yard, "[lb_av]")
    limits = VehicleLimits(body_volume_m3=volume_m3, payload_kg=to_si(payload_lb, "[lb_av]"))
    aboard = Aboard(mass_high_kg=mass_kg, volume_high_m3=volume_m3)
    with pytest.raises(VehicleOverloaded) as refused:
        check_load(limits, aboard)
    return float(refused.value.facts["over_percent"])


def tons_an_acre(*, wanted_lb_an_acre: float, lb_a_ton: float) -> float:
    """Return what an acre takes of matter with so much of a nutrient a ton [short tons]."""
    room = bed_room(
        area_m2=ACRE_M2,
        density_kg_per_m3=500,
        nitrogen_kg_per_kg=lb_a_ton / 2000,
        layer_depth_mm_max=1000,
        yearly_mass_kg_per_m2_max=1000,
        yearly_nitrogen_kg_per_ha_max=wanted_lb_an_acre * POUND_AN_ACRE_IN_KG_PER_HA,
        laid=ledger_sums(()),
    )
    assert room.binding == "yearly_nitrogen"
    return from_si(room.mass_kg, "[ston_av]")


def budget(nutrient: str, printed: str, *, wanted: float, lb_a_ton: float, step: int) -> Printed:
    return Printed(
        check=f"manure for {wanted:g} lb of {nutrient} an acre at {lb_a_ton:g} lb a ton [tons]",
        source="montana-cnmp-5",
        where=f"example, {step}",
        printed=printed,
        compute=lambda: tons_an_acre(wanted_lb_an_acre=wanted, lb_a_ton=lb_a_ton),
    )


def land(nutrient: str, printed: str, *, pounds: float, acres: float) -> Printed:
    return Printed(
        check=f"{pounds:g} lb of {nutrient} on the {acres:g} acres it needs [lb/acre]",
        source="montana-cnmp-7",
        where="example, acreage needed",
        printed=printed,
        compute=lambda: (
            nitrogen_kg_per_ha(nitrogen_kg=to_si(pounds, "[lb_av]"), area_m2=acres * ACRE_M2)
            / POUND_AN_ACRE_IN_KG_PER_HA
        ),
    )


def trailer(where: str, printed: str, *, payload_lb: float, body_ft3: float) -> Printed:
    return Printed(
        check=f"gravel level in {body_ft3:g} ft3 on {payload_lb:g} lb of payload, over [%]",
        source="mirage-weight-volume",
        where=where,
        printed=printed,
        compute=lambda: percent_over(payload_lb=payload_lb, body_ft3=body_ft3, pounds_a_yard=2200),
    )


def bag(printed: str, *, bag_ft3: float, depth_in: float) -> Printed:
    return Printed(
        check=f"a bag of {bag_ft3:g} ft3 at {depth_in:g} in covers [ft2]",
        source="reference-mulch-bag",
        where="first paragraph",
        printed=printed,
        compute=lambda: covered_ft2(bag_ft3 * FOOT_M3, depth_in=depth_in),
    )


def yard(printed: str, *, depth_in: float) -> Printed:
    return Printed(
        check=f"a cubic yard of compost at {depth_in:g} in covers [ft2]",
        source="earth-systems-compost",
        where="coverage per cubic yard",
        printed=printed,
        compute=lambda: covered_ft2(to_si(1, "[cyd_i]"), depth_in=depth_in),
    )


PRINTED = (
    Printed(
        check="bags of 3 ft3 for 6 cubic yards",
        source="galbraith-mulch",
        where="bagged, 6 cubic yards",
        printed="54",
        compute=lambda: bags(to_si(6, "[cyd_i]"), bag_ft3=3),
    ),
    Printed(
        check="bags of 2 ft3 for 6 cubic yards",
        source="galbraith-mulch",
        where="bagged, 6 cubic yards",
        printed="81",
        compute=lambda: bags(to_si(6, "[cyd_i]"), bag_ft3=2),
    ),
    Printed(
        check="bags of 3 ft3 for a bed of 3 by 20 ft at 3 in",
        source="meadows-farms-mulch",
        where="five bags",
        printed="5",
        compute=lambda: bags(layer_m3(area_ft2=3 * 20, depth_in=3), bag_ft3=3),
    ),
    Printed(
        check="bags of 3 ft3 in a cubic yard",
        source="meadows-farms-mulch",
        where="one cubic yard (9 bags)",
        printed="9",
        compute=lambda: bags(to_si(1, "[cyd_i]"), bag_ft3=3),
    ),
    Printed(
        check="a bag of 2 ft3 at 1 in in a bed 3 ft wide reaches [ft]",
        source="regina-mulch-bag",
        where="answer",
        printed="8",
        compute=lambda: covered_ft2(2 * FOOT_M3, depth_in=1) / 3,
    ),
    bag("12", bag_ft3=2, depth_in=2),
    bag("8", bag_ft3=2, depth_in=3),
    bag("6", bag_ft3=2, depth_in=4),
    bag("18", bag_ft3=3, depth_in=2),
    bag("9", bag_ft3=3, depth_in=4),
    yard("162", depth_in=2),
    yard("108", depth_in=3),
    Printed(
        check="a cubic yard at a third of an inch covers [ft2]",
        source="deschutes-compost",
        where="324 by a third",
        printed="972",
        compute=lambda: covered_ft2(to_si(1, "[cyd_i]"), depth_in=1 / 3),
    ),
    Printed(
        check="compost for 600 ft2 at 2 in [yd3]",
        source="elliotts-compost",
        where="step two, example",
        printed="3.7",
        compute=lambda: from_si(layer_m3(area_ft2=600, depth_in=2), "[cyd_i]"),
    ),
    Printed(
        check="loam for 12 by 12 ft at 3 in [yd3]",
        source="gardentutor-loam",
        where="example, step 4",
        printed="1.3",
        compute=lambda: from_si(layer_m3(area_ft2=12 * 12, depth_in=3), "[cyd_i]"),
    ),
    Printed(
        check="top soil for 3 by 4 ft at 3 in [ft3]",
        source="front-range-soil",
        where="example",
        printed="3",
        compute=lambda: layer_m3(area_ft2=3 * 4, depth_in=3) / FOOT_M3,
    ),
    Printed(
        check="parts of manure, 20:1, to one of brown leaves, 80:1, for 32:1",
        source="nmsu-leaves-2009",
        where="four parts of manure to one of leaves",
        printed="4",
        compute=lambda: parts_of(20, to_one_of=80, goal=32),
    ),
    Printed(
        check="pounds of manure, 15:1, to one of corn stalks, 65:1, for 30:1",
        source="cias-recipe-key",
        where="1b: about 2 lb of manure with 1 lb of stalks",
        printed="2",
        compute=lambda: parts_of(15, to_one_of=65, goal=30),
    ),
    Printed(
        check="C:N of two parts of grass, 20:1, and one of dry leaves, 60:1",
        source="gardensimply-cn",
        where="example",
        printed="33",
        compute=lambda: heap(20, 20, 60).carbon_to_nitrogen,
    ),
    Printed(
        check="C:N of two parts of grass, one of pine needles and one of manure",
        source="gardensimply-cn",
        where="second example",
        printed="41",
        compute=lambda: heap(20, 20, 110, 15).carbon_to_nitrogen,
    ),
    trailer("example 2", "59", payload_lb=7390, body_ft3=6 * 12 * 2),
    trailer("example 3", "66", payload_lb=9640, body_ft3=7 * 14 * 2),
    budget("nitrogen", "18.8", wanted=160, lb_a_ton=8.53, step=5),
    budget("phosphate", "2.8", wanted=50, lb_a_ton=18, step=6),
    budget("potash", "2.9", wanted=75, lb_a_ton=26, step=7),
    land("nitrogen", "131", pounds=10_347, acres=79),
    land("phosphate", "49", pounds=21_983, acres=449),
    land("potash", "119", pounds=30_899, acres=260),
    Printed(
        check="300 lb of clippings from 1000 ft2 are, from an acre [tons]",
        source="calrecycle-grasscycling",
        where="6 1/2 tons per acre each year",
        printed="6.5",
        compute=lambda: 300 / 2000 * to_si(1, "43560.[sft_i]") / to_si(1000, "[sft_i]"),
    ),
)


@pytest.mark.parametrize("printed", PRINTED, ids=str)
def test_our_number_rounds_to_the_printed_one(printed: Printed) -> None:
    assert printed.agrees(), (printed.compute(), printed.printed)


def test_a_field_wants_two_yards_less_than_the_rounded_factor_says() -> None:
    # [cwmi-compost-volume] 350 by 200 ft at 2 in: 434 yd3 by 0.0031 a square foot and inch. The
    # factor is 1/324: 432.
    wanted = from_si(layer_m3(area_ft2=350 * 200, depth_in=2), "[cyd_i]")
    assert wanted == pytest.approx(350 * 200 * 2 / 324)
    assert round(wanted) == 432
    assert round(350 * 200 * 2 * 0.0031) == 434


def test_parts_of_unlike_nitrogen_are_not_the_leaflets_parts() -> None:
    # [nmsu-leaves-2009] averages ratios: four parts. With the nitrogen that manure and leaves have,
    # and by weight, 1.2 parts of manure do it: a part brings more nitrogen than one of leaves.
    manure = Ingredient(
        name="manure",
        moisture=0.0,
        nitrogen_fraction=0.020,
        carbon_to_nitrogen=20,
        bulk_density_kg_per_m3=700,
    )
    leaves = Ingredient(
        name="leaves",
        moisture=0.0,
        nitrogen_fraction=0.006,
        carbon_to_nitrogen=80,
        bulk_density_kg_per_m3=100,
    )
    assert least_kg(Part(ingredient=leaves, mass_kg=1), manure, ratio=32) == pytest.approx(1.2)

"""Computations without records: the careful end is taken, and every answer carries its why."""

from datetime import date

import pytest

from service.agronomy.layers.bed_room import LedgerEntry
from service.core.errors import RecordMissing
from service.core.materials import GrassKind, Wetness
from service.rules.lookup import Kind, Rulebook
from service.usecases.compute import beds, lots, mixes, waits
from service.usecases.compute.desk import RulebookDesk
from service.usecases.compute.looked_up import LookedUp
from tests.fakes import SetClock
from tests.worlds import NOW

RULES = Rulebook.load()
DAY = date(2026, 5, 24)
ENDS = ("low", "likely", "high")


def looked_up(jurisdiction="GB-ENG", day=DAY):
    return LookedUp(RULES, day=day, jurisdiction=jurisdiction)


def value(name, **case):
    return RULES.value_on(name, DAY, **case)


# --- lots -----------------------------------------------------------------------------------------


def test_dry_matter_with_one_uncertain_factor_is_a_plain_product():
    told = lots.estimate(
        looked_up(), area_m2=500.0, height_removed_mm=30.0, grass_kind=GrassKind.COOL_SEASON
    )
    sward = value("sward_density_g_per_m2_mm", grass_kind="cool_season", season="spring")
    # 500 m2 x 30 mm is 15 kg for each g/m2/mm.
    assert [told["dry_matter_kg"][end] for end in ENDS] == pytest.approx(
        [15 * getattr(sward, end) for end in ENDS]
    )


def test_the_season_turns_round_at_the_equator():
    north = lots.estimate(looked_up(), area_m2=9.0, height_removed_mm=9.0)
    south = lots.estimate(looked_up(), area_m2=9.0, height_removed_mm=9.0, southern_hemisphere=True)
    assert (north["season"], south["season"]) == ("spring", "autumn")


def test_wetter_grass_is_heavier_and_no_drier_matter():
    dry, wet = (
        lots.estimate(looked_up(), area_m2=90.0, height_removed_mm=9.0, wetness=wetness)
        for wetness in (Wetness.DRY, Wetness.RAINED_ON)
    )
    assert wet["mass_kg"]["likely"] > dry["mass_kg"]["likely"]
    assert wet["dry_matter_kg"] == dry["dry_matter_kg"]


@pytest.mark.parametrize("wetness", Wetness)
def test_a_bag_sours_without_heating_and_a_warm_heap_turns_before_a_cool_one(wetness):
    def red(open_faces, temperature_c):
        clock = lots.freshness(
            looked_up(),
            depth_mm=800.0,
            temperature_c=temperature_c,
            wetness=wetness,
            open_faces=open_faces,
        )
        assert clock["amber_hours"] <= clock["red_hours"]
        # A bag has no air to heat with.
        assert open_faces == 1 or clock["limit"] != "heat"
        return clock["red_hours"]

    assert red(1, 30.0) <= red(1, 10.0)
    assert red(0, 30.0) < red(0, 10.0)


def test_drying_without_weather_is_said_to_be_practice():
    told = lots.drying(looked_up(), depth_mm=20.0, temperature_c=20.0)
    assert told["basis"] == "common practice, no source"
    assert told["rate_per_h"] is None


def test_grass_dries_faster_on_a_tarp_than_on_wet_soil():
    weather = {"temperature_c": 24.0, "relative_humidity": 0.5, "solar_w_per_m2": 600.0}
    tarp, soil = (
        lots.drying(looked_up(), depth_mm=20.0, on_tarp=on_tarp, **weather)
        for on_tarp in (True, False)
    )
    assert tarp["hours"]["likely"] < soil["hours"]["likely"]


def test_a_month_of_full_growth_makes_leaves_of_all_its_nitrogen():
    # At the optimum potential is 1: in 30.436875 days a turf that takes up 3 g/m2 a month makes
    # 3 / nitrogen fraction grams of leaf; in 30 days 30 / 30.436875 of it.
    optimum_c = value("growth_optimum_c", grass_kind="cool_season").value
    told = lots.regrowth(
        looked_up(),
        area_m2=100.0,
        daily_mean_temperatures_c=[optimum_c] * 30,
        grass_kind=lots.GrowingKind.COOL_SEASON,
        nitrogen_g_per_m2_per_month=3.0,
    )
    fraction = value("clipping_nitrogen_fraction_of_dry_matter").likely
    grown = 3 / fraction * 30 / 30.436875
    assert told["likely"]["dry_matter_g_per_m2"] == pytest.approx(grown)


def test_what_grows_back_is_as_uncertain_as_its_wetness():
    """At 92 % moisture 1 kg of leaf is 12.5 kg of clippings, at the likely 85 or so half of it."""
    moisture = value("clipping_moisture", wetness="rained_on")
    told = lots.regrowth(
        looked_up(),
        area_m2=500.0,
        daily_mean_temperatures_c=[20.0] * 7,
        grass_kind=lots.GrowingKind.COOL_SEASON,
        wetness=Wetness.RAINED_ON,
        nitrogen_g_per_m2_per_month=3.0,
    )
    by_wetness = (1 - moisture.likely) / (1 - moisture.high)
    # Lopsided intervals are joined within a few per cent, see `product`.
    assert told["high"]["mass_kg"] >= 0.97 * by_wetness * told["likely"]["mass_kg"]


def test_warm_season_turf_does_not_slow_in_the_heat_and_cool_season_turf_does():
    def potential(kind):
        (found,) = lots.regrowth(
            looked_up(), area_m2=1.0, daily_mean_temperatures_c=[38.0], grass_kind=kind
        )["growth_potential"]
        return found

    assert potential(lots.GrowingKind.WARM_SEASON) == 1
    assert potential(lots.GrowingKind.COOL_SEASON) < 0.01


# --- mixes ----------------------------------------------------------------------------------------

STATED = [
    mixes.Heaped(
        material="grass_clippings",
        mass_kg=100.0,
        moisture=0.8,
        nitrogen_fraction=0.03,
        carbon_to_nitrogen=15.0,
        bulk_density_kg_per_m3=200.0,
    ),
    mixes.Heaped(
        material="tree_leaves",
        mass_kg=50.0,
        moisture=0.2,
        nitrogen_fraction=0.01,
        carbon_to_nitrogen=50.0,
        bulk_density_kg_per_m3=100.0,
    ),
]


def test_a_mix_is_a_balance_of_masses():
    # By hand: water 80 + 10 of 150 kg; nitrogen 0.6 + 0.4 kg; carbon 9 + 20 kg; 0.5 + 0.5 m3.
    told = mixes.mix(looked_up(), materials=STATED)["as_is"]
    assert told["moisture"] == pytest.approx(0.6)
    assert told["nitrogen_kg"] == pytest.approx(1.0)
    assert told["carbon_to_nitrogen"] == pytest.approx(29.0)
    assert told["bulk_density_kg_per_m3"] == pytest.approx(150.0)


def test_a_recipe_ends_in_the_ranges_and_less_would_not():
    grass = mixes.Heaped(material="grass_clippings", mass_kg=400.0)
    told = mixes.mix(looked_up(), materials=[grass], browns=["straw"])
    goals, recipe = told["goals"], told["recipe"]
    for name in ("moisture", "carbon_to_nitrogen"):
        found = recipe["mix"][name]
        assert goals[name]["min"] - 1e-9 <= found <= goals[name]["max"] + 1e-9
    straw = mixes.Heaped(material="straw", mass_kg=0.99 * recipe["add_kg"]["straw"])
    less = mixes.mix(looked_up(), materials=[grass, straw])["as_is"]
    assert any(
        not goals[name]["min"] <= less[name] <= goals[name]["max"]
        for name in ("moisture", "carbon_to_nitrogen")
    )


def test_a_vessel_that_is_too_small_leaves_clippings_over():
    told = mixes.liquid_feed(looked_up(), clippings_kg=50.0, vessel_litres=30.0)
    assert told["clippings_kg"] + told["left_over_kg"] == pytest.approx(50.0)
    assert told["left_over_kg"] > 0
    assert told["water_litres"] < 30
    assert "treated_clippings_never" in told["cautions"]


def test_every_material_is_told_with_sources_that_are_told():
    asked = looked_up()
    named = {
        key
        for row in mixes.materials(asked)["materials"]
        for name in ("moisture", "nitrogen_fraction", "carbon_to_nitrogen")
        for key in row[name]["sources"]
    }
    assert named <= set(asked.why()["sources"])


# --- beds -----------------------------------------------------------------------------------------


def test_a_bare_bed_takes_one_layer_of_weighed_grass_at_the_light_end_of_the_density():
    told = beds.room(looked_up(), area_m2=10.0, wetness=Wetness.DRY, weighed=True)
    loose = value("bulk_density_kg_per_m3", packing="loose")
    assert told["mass_kg_by_limit"]["layer_depth"] == pytest.approx(
        10 * told["depth_mm"] / 1000 * loose.low, rel=1e-3
    )
    assert told["mass_kg"] == min(told["mass_kg_by_limit"].values())
    assert told["depth_mm"] <= value("fresh_layer_depth_mm_max").value


def test_a_bed_that_has_its_years_nitrogen_takes_nothing_and_has_no_layers():
    full = LedgerEntry(age_days=10, mass_kg_per_m2=0.5, nitrogen_kg_per_ha=1e4)
    told = beds.room(looked_up(), area_m2=10.0, laid=[full])
    assert (told["mass_kg"], told["binding"]) == (0, "yearly_nitrogen")
    assert told["layers"] == []
    assert told["browns"]["bags"] == 0


@pytest.mark.parametrize("wetness", Wetness)
@pytest.mark.parametrize("air_temperature_c", [-10.0, 20.0, 40.0])
def test_physics_only_tightens_what_practice_allows(wetness, air_temperature_c):
    told = beds.layer_safety(
        looked_up(), depth_mm=10.0, air_temperature_c=air_temperature_c, wetness=wetness
    )
    assert told["safe_depth_mm"] <= value("fresh_layer_depth_mm_max").value
    assert told["safe"] is (told["safe_depth_mm"] >= 10)


def test_a_deep_heap_runs_away_and_says_when_it_is_hot():
    told = beds.layer_safety(
        looked_up(), depth_mm=900.0, air_temperature_c=20.0, wetness=Wetness.DEWY
    )
    assert told["runs_away"] is True
    assert told["peak_temperature_c"] is None
    assert 0 < told["hours_to_40_c"] < told["hours_to_60_c"]


def test_leaves_between_the_grass_keep_a_layer_cooler():
    peaks = [
        beds.layer_safety(
            looked_up(),
            depth_mm=30.0,
            air_temperature_c=15.0,
            wetness=Wetness.DRY,
            browns_per_green=browns,
        )["peak_temperature_c"]
        for browns in (0.0, 2.0)
    ]
    assert peaks[1] < peaks[0]


def test_nobody_climbs_into_a_pit_before_a_soured_bed_is_raked():
    steps = [
        step["step"] for step in beds.soured_bed(looked_up(), area_m2=9.0, depth_mm=60.0)["steps"]
    ]
    assert steps.index("never_into_pits_or_tanks") < steps.index("rake_apart")


# --- waits ----------------------------------------------------------------------------------------


def outcome(use, **fields):
    return waits.treatment_wait(looked_up(), product="A can", **fields)["uses"][use]


def test_a_clock_nobody_knows_is_unknown_and_never_run_down():
    told = outcome("bed", active_ingredients=["2,4-D"])
    assert told["outcome"] == "unknown"


def test_one_unknown_ingredient_makes_the_product_unknown():
    told = outcome(
        "bed", active_ingredients=["2,4-D", "moon dust"], days_since=400, mowings_since=20
    )
    assert told["outcome"] == "unknown"


def test_the_worse_of_two_ingredients_wins():
    alone = outcome("bed", active_ingredients=["2,4-D"], days_since=60, mowings_since=9)
    both = outcome(
        "bed", active_ingredients=["2,4-D", "clopyralid"], days_since=60, mowings_since=9
    )
    assert alone["outcome"] == "clear"
    assert both["outcome"] == "wait"
    assert both["because"] == "clopyralid"


def test_a_salt_is_its_acid():
    told = waits.treatment_wait(
        looked_up(), product="A can", active_ingredients=["MCPA dimethylamine"]
    )
    assert told["substances"][0]["name"] == "MCPA"


def kept(place="GB", **fields):
    return waits.treatment_wait(looked_up(place), product="A can", **fields)["kept_on_lawn"]


def test_what_a_label_or_the_table_keeps_on_the_lawn_is_told_here_too():
    first = kept(active_ingredients=["clopyralid"], days_since=3, mowings_since=0)
    assert (first["kind"], first["mowings_left"]) == ("label", 1)
    assert first["sentence"].startswith("A can (clopyralid): leave the clippings")
    assert kept(active_ingredients=["clopyralid"], mowings_since=1) is None
    assert kept(active_ingredients=["2,4-D"], mowings_since=0) is None
    stated = kept(active_ingredients=["2,4-D"], mowings_since=1, label_leave_on_lawn_mowings=3)
    assert (stated["kind"], stated["mowings_left"]) == ("label", 2)
    assert kept(label_never=True)["mowings_left"] is None


def test_dicamba_is_kept_by_advice_until_its_label_is_on_record():
    told = kept(active_ingredients=["dicamba"], mowings_since=0)
    assert (told["kind"], told["mowings_left"]) == ("advice", 4)


def test_gross_limit_less_tare_is_a_payload_and_all_of_it_is_room():
    limits = {"body_volume_m3": 50.0, "gross_limit_kg": 3500.0, "tare_kg": 2500.0}
    told = waits.vehicle_room(looked_up(), **limits, aboard_mass_kg=100.0)
    assert told["mass_kg"] == pytest.approx(900)
    assert told["bags"] == int(told["volume_litres"] // told["bag_litres"])


def test_what_a_process_lacked_is_told_in_hours_and_turnings():
    told = waits.kill(
        looked_up("US"),
        standard="us_pfrp",
        process="windrow",
        readings=[(24.0 * day, 60.0) for day in range(11)],
        turnings=4,
    )
    # 40 CFR 257, appendix II: 55 C or more for 15 days with at least five turnings. Ten days at
    # 60 C lack five days, which is 120 hours.
    (short,) = told["shortfalls"]
    assert told["met"] is False
    assert (short["hours_short"], short["turnings_short"]) == (120.0, 1)


# --- the desk -------------------------------------------------------------------------------------


@pytest.fixture
def desk():
    return RulebookDesk(rulebook=RULES, clock=SetClock(NOW))


def test_a_question_that_names_no_day_is_of_today(desk):
    answer = desk.compute(lots.freshness, {"depth_mm": 300.0, "temperature_c": 20.0})
    assert answer["why"]["day"] == NOW.date().isoformat()
    assert answer["why"]["rulebook_version"] == RULES.version


def test_a_rule_that_was_looked_up_twice_is_told_once():
    asked = looked_up()
    for _ in range(2):
        asked.rule("bag_litres")
    assert [rule["name"] for rule in asked.why()["rules"]] == ["bag_litres"]


def test_every_source_a_rule_of_the_why_names_is_told_in_full(desk):
    why = desk.compute(beds.room, {"area_m2": 10.0})["why"]
    for rule in why["rules"]:
        for key in rule["sources"]:
            assert why["sources"][key]["title"]


def test_the_filters_of_rules_narrow_together(desk):
    law = desk.rules(kinds=[Kind.LAW])
    named = desk.rules(names=["kill_hours_min"], kinds=[Kind.LAW])
    assert {row["kind"] for row in law} == {"law"}
    assert {row["name"] for row in named} == {"kill_hours_min"}
    assert len(named) < len(law) < len(desk.rules())


def test_there_is_no_rule_and_no_source_of_another_name(desk):
    with pytest.raises(RecordMissing):
        desk.rule("no_such_rule")
    with pytest.raises(RecordMissing):
        desk.source("no-such-source")


def test_law_of_another_country_does_not_wait_here(desk):
    here, there = (
        desk.substances(day=DAY, jurisdiction=jurisdiction) for jurisdiction in ("GB-ENG", "US-CA")
    )
    for told, country in ((here, "GB"), (there, "US")):
        places = {
            wait["jurisdiction"] for substance in told["items"] for wait in substance["waits"]
        }
        assert all(place is None or place.startswith(country) for place in places)

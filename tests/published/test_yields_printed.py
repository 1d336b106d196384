"""The dry matter a mower takes off, and its water, against what others measured."""

import datetime
import itertools
import math
import statistics

import pytest

from service.agronomy.clippings.mass import ClippingsEstimate, estimate_clippings
from service.core.measures.estimates import Estimate, exactly
from service.rules.lookup import Rulebook
from tests.published.measured_yields import (
    GROWN_MM,
    LEAST_A_DAY,
    LITRE_OF_BENTGRASS_G,
    LITRE_OF_MANILAGRASS_G,
    MOST_A_DAY,
    POUND_AN_ACRE_INCH,
    POUNDS_A_1000_FT2,
    SEASON_MM,
    TON_AN_ACRE,
    WEEK_MM,
    WEEKS_A_SEASON,
    YIELDS,
    MeasuredYield,
)
from tests.published.printed import Printed

RULES = Rulebook.load()
DAY = datetime.date(2026, 6, 1)
Z_90 = 1.2815515655446004
GROWING = ("spring", "summer", "autumn")


def sward_of(grass_kind: str, season: str = "summer") -> Estimate:
    return RULES.value_on(
        "sward_density_g_per_m2_mm", DAY, grass_kind=grass_kind, season=season
    ).estimate


def mown(
    sward: Estimate, *, height_mm: float, area_m2: float = 1.0, water: float = 0.8
) -> ClippingsEstimate:
    return estimate_clippings(
        area_m2=area_m2,
        height_removed_mm=height_mm,
        height_before_mm=None,
        sward_density=sward,
        moisture=exactly(water, unit="1", basis="printed"),
        bulk_density=exactly(200, unit="kg/m3", basis="printed"),
        nitrogen_fraction=exactly(0.04, unit="1", basis="printed"),
        carbon_to_nitrogen=exactly(14, unit="1", basis="printed"),
    )


def a_hectare_of_quadrats() -> float:
    """Return the dry matter of a hectare whose quarter square metre weighs 200 g fresh [kg]."""
    cut = 0.2 * 0.16 / 0.25 * 1000
    grown = mown(
        exactly(cut / 100, unit="g/m2/mm", basis="printed"), height_mm=100, area_m2=1e4, water=0.84
    )
    assert grown.mass_kg.likely == pytest.approx(0.2 * 40_000)
    return grown.dry_matter_kg.likely


PRINTED = (
    Printed(
        check="200 g of grass of 16 % dry matter on a quarter square metre [kg/ha]",
        source="grasstec",
        where="cut and weigh example",
        printed="1280",
        compute=a_hectare_of_quadrats,
    ),
    Printed(
        check="weekly mowings a year, of which eight are 31 %",
        source="law-2016",
        where="abstract; 26 by division",
        printed="26",
        compute=lambda: WEEKS_A_SEASON,
    ),
)


@pytest.mark.parametrize("printed", PRINTED, ids=str)
def test_our_number_rounds_to_the_printed_one(printed: Printed) -> None:
    assert printed.agrees(), (printed.compute(), printed.printed)


@pytest.mark.parametrize("season", GROWING)
@pytest.mark.parametrize("measured", YIELDS, ids=str)
def test_what_was_measured_lies_between_low_and_high(measured: MeasuredYield, season: str) -> None:
    grown = mown(sward_of(measured.grass_kind, season), height_mm=measured.height_mm).dry_matter_kg
    assert grown.low * 1000 <= measured.middle <= grown.high * 1000


@pytest.mark.parametrize(
    "measured", [one for one in YIELDS if one.height_is_printed and one.least < one.most], ids=str
)
def test_both_printed_ends_lie_between_unless_they_are_a_thick_stand(
    measured: MeasuredYield,
) -> None:
    # The stick's 400 lb/acre/inch is a closed pasture down to the ground, beyond nine lawns in ten.
    grown = mown(sward_of(measured.grass_kind), height_mm=measured.height_mm).dry_matter_kg
    assert grown.low * 1000 <= measured.least
    if measured.source != "umaine-pasture-stick":
        assert measured.most <= grown.high * 1000


def test_likely_is_neither_above_nor_below_what_was_measured() -> None:
    ratios = [
        1000
        * mown(sward_of(one.grass_kind), height_mm=one.height_mm).dry_matter_kg.likely
        / one.middle
        for one in YIELDS
    ]
    assert 0.85 < statistics.median(ratios) < 1.18


@pytest.mark.parametrize("kind", ["cool_season", "warm_season"])
def test_the_rulebooks_interval_is_the_pool_of_what_was_measured(kind: str) -> None:
    def logs(grass_kind: str) -> list[float]:
        return [math.log(one.density) for one in YIELDS if one.grass_kind == grass_kind]

    # Three sources of warm grass are too few for a spread: both have that of the cool ones.
    between = statistics.stdev(logs("cool_season"))
    within = math.log(MOST_A_DAY / LEAST_A_DAY) / 2 / Z_90
    factor = math.exp(Z_90 * math.hypot(between, within))
    pooled = math.exp(statistics.fmean(logs(kind)))
    for season in GROWING:
        sward = sward_of(kind, season)
        assert sward.likely == pytest.approx(pooled, rel=0.03)
        assert sward.low == pytest.approx(pooled / factor, rel=0.03)
        assert sward.high == pytest.approx(pooled * factor, rel=0.03)


@pytest.mark.parametrize(
    "fresh_g_per_m2",
    [
        300 * POUNDS_A_1000_FT2,  # [calrecycle-grasscycling]: 80 to 85 percent water
        400 * POUNDS_A_1000_FT2,
        3 * TON_AN_ACRE / 0.5,  # [abington-clippings]: half an acre, 80 percent water
    ],
)
def test_the_fresh_mass_that_authorities_tell_of_a_year_lies_between_low_and_high(
    fresh_g_per_m2: float,
) -> None:
    # Estimates, of which nobody says what was weighed: they are held against, and not pooled.
    grown = mown(sward_of("cool_season"), height_mm=SEASON_MM, water=0.80).mass_kg
    assert grown.low * 1000 <= fresh_g_per_m2 <= grown.high * 1000


def test_a_weeks_growth_is_the_middle_of_what_others_print() -> None:
    # Poor ground grows less and a park in a northern summer more: neither half nor twice as much.
    ratios = [grown / WEEK_MM for grown in GROWN_MM.values()]
    assert math.exp(statistics.fmean(map(math.log, ratios))) == pytest.approx(1, abs=0.2)
    assert 0.5 < min(ratios) < 1 < max(ratios) < 2


@pytest.mark.parametrize(
    ("wetness", "packing"),
    [("dry", "loose"), ("dewy", "settled"), ("lush", "settled"), ("unknown", "unknown")],
)
def test_a_litre_of_clippings_holds_the_dry_matter_that_others_dried(
    wetness: str, packing: str
) -> None:
    # Manilagrass on a green packs nearly twice as dense: the one lawn grass that was found so.
    water = RULES.value_on("clipping_moisture", DAY, wetness=wetness)
    density = RULES.value_on("bulk_density_kg_per_m3", DAY, packing=packing)
    likely = density.likely * (1 - water.likely)
    assert likely == pytest.approx(LITRE_OF_BENTGRASS_G, rel=0.2)
    least, most = density.low * (1 - water.high), density.high * (1 - water.low)
    assert least < LITRE_OF_BENTGRASS_G < most
    assert likely < LITRE_OF_MANILAGRASS_G


def test_eight_mowings_are_31_percent_of_the_weekly_ones() -> None:
    assert round(8 / 0.31) == WEEKS_A_SEASON


def test_a_week_of_a_lawn_is_what_lawns_yield_in_a_week() -> None:
    # [friell-clippings]: 1 to 3 g/m2 a day.
    week = 1000 * mown(sward_of("cool_season"), height_mm=WEEK_MM).dry_matter_kg.likely
    assert 7 * LEAST_A_DAY < week < 7 * MOST_A_DAY


def test_the_pasture_stick_stands_above_the_layer_a_mower_takes() -> None:
    # [umaine-pasture-stick]: 250 to 300 lb/acre/inch is a good bluegrass stand, 150 to 200 a fair.
    likely = sward_of("cool_season").likely / POUND_AN_ACRE_INCH
    assert 150 < likely < 200
    assert 275 / likely == pytest.approx(1.54, abs=0.05)


def test_the_layers_of_a_pasture_thin_out_upwards_as_the_page_says() -> None:
    # [murphy-1997]: kg/ha of a stand of 2.5, 5, 10 and 15 cm; [beaty-1968]: 40 and 17 % an inch.
    stands = ((0, 0), (25, 1100), (50, 1575), (100, 2350), (150, 2700))
    layers = [
        (more - less) / 10 / (top - base)
        for (base, less), (top, more) in itertools.pairwise(stands)
    ]
    assert layers == pytest.approx([4.4, 1.9, 1.55, 0.70])
    assert layers == sorted(layers, reverse=True)
    sward = sward_of("cool_season")
    assert sward.low < layers[-1] < layers[-2] < sward.high < layers[-3]


def test_a_warm_mowing_is_what_a_bermudagrass_lawn_gave() -> None:
    # [springer-2008]: 157 g/m2 in 63 days, mown every 10 to 14.
    value = RULES.value_on("mowing_dry_matter_g_per_m2", DAY, grass_kind="warm_season")
    measured = next(one for one in YIELDS if one.source == "springer-2008").middle
    assert value.low < measured / 63 * 10 < value.likely < measured / 63 * 14 < value.high


@pytest.mark.parametrize(
    ("wetness", "water"),
    [
        ("unknown", 0.70),  # [dfb-sportplatz]: 70 to 80 %
        ("dry", 0.75),
        ("unknown", 0.80),
        ("unknown", 0.85),  # [rasensamen-water]
        ("unknown", 1 - 2.6 / 19),  # [bedoic-2019]: 2.6 of 19 t/ha is dry
        ("lush", 0.84),  # [grasstec]: 16 % dry
    ],
)
def test_water_that_others_found_lies_inside_the_rulebooks(wetness: str, water: float) -> None:
    value = RULES.value_on("clipping_moisture", DAY, wetness=wetness)
    assert value.low <= water <= value.high


@pytest.mark.parametrize("kind", ["cool_season", "warm_season", "mixed", "unknown"])
def test_the_answer_says_in_words_what_the_mass_rests_on(kind: str) -> None:
    grown = mown(sward_of(kind), height_mm=30)
    for word in ("mowing", "layers", "season", "stick"):
        assert word in grown.dry_matter_kg.basis

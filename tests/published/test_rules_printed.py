"""Values of the rulebook against the words of the law, the label or the leaflet."""

import datetime
from collections.abc import Callable

import pytest

from service.core.measures.quantities import from_si
from service.rules.lookup import Rulebook
from tests.published.printed import Printed

DAY = datetime.date(2026, 6, 1)
RULES = Rulebook.load()
MONTH_DAYS = 365.25 / 12


def rule(
    name: str, *, place: str | None = None, scale: float = 1.0, end: str = "likely", **case: str
) -> Callable[[], float]:
    return lambda: (
        scale * float(getattr(RULES.value_on(name, DAY, jurisdiction=place, **case), end))
    )


def wait(substance: str, destination: str, field: str, place: str | None = None) -> float:
    rows = RULES.treatments.waits_on(substance, DAY, jurisdiction=place)
    return float(next(getattr(row, field) for row in rows if row.destination == destination))


def said(
    source: str, where: str, check: str, printed: str, compute: Callable[[], float]
) -> Printed:
    return Printed(check=check, source=source, where=where, printed=printed, compute=compute)


LATER = datetime.date(2026, 11, 30)

PRINTED = (
    said(
        "defra-smr-1-2015",
        "the slope of the land, especially if over 12 degrees",
        "slope above which clippings wash off [deg]",
        "12",
        lambda: RULES.value_on("slope_degrees_max", LATER).value,
    ),
    said(
        "oregon-metro-compost",
        "two parts brown to one part green",
        "browns to one part of clippings [parts]",
        "2",
        lambda: RULES.value_on("browns_per_green_by_volume", LATER).value,
    ),
    said(
        "bioabfv-2012",
        "section 6(1): 20 tonnes of dry matter a hectare within three years",
        "dry matter of three years at the German advice [t/ha]",
        "20",
        lambda: (
            3
            * 10
            * 0.25
            * RULES.value_on("plant_matter_kg_per_m2_year_max", LATER, jurisdiction="DE").value
        ),
    ),
    said(
        "duev-2017",
        "section 6(4): compost, 510 kg a hectare in three years",
        "nitrogen of three years in Germany [kg/ha]",
        "510",
        rule("nitrogen_kg_per_ha_year_max", place="DE", scale=3),
    ),
    said(
        "bls-ooh-grounds",
        "2023 median pay, grounds maintenance workers: $37,690",
        "one of two workers for a year of 2,080 hours [USD]",
        "37690",
        rule("crew_minute_cents", currency="USD", scale=60 * 2080 / 200),
    ),
    said(
        "lpc-2026",
        "National Living Wage (21 and over) 12.71 pounds",
        "one of two workers for an hour [GBP]",
        "12.71",
        rule("crew_minute_cents", currency="GBP", scale=60 / 200),
    ),
    said(
        "gov-uk-u13",
        "50 tonnes per hectare over any 12 month period",
        "plant matter on ground in England [t/ha/year]",
        "50",
        # 1 kg/m2 is 10 t/ha.
        rule("plant_matter_kg_per_m2_year_max", place="GB-ENG", scale=10),
    ),
    said(
        "gov-uk-u13",
        "within 50 metres of a watercourse, spring, well or borehole",
        "distance from a watercourse in England [m]",
        "50",
        rule("water_course_distance_m_min", place="GB-ENG"),
    ),
    said(
        "gov-uk-u13",
        "within 50 metres of a watercourse, spring, well or borehole",
        "distance from a well in England [m]",
        "50",
        rule("well_distance_m_min", place="GB-ENG"),
    ),
    said(
        "communitycompost-u11",
        "at least 10 metres from a watercourse",
        "distance from a watercourse as advice [m]",
        "10",
        rule("water_course_distance_m_min", place="US-OH"),
    ),
    said(
        "communitycompost-u11",
        "50 metres from a spring, well or borehole",
        "distance from a well as advice [m]",
        "50",
        rule("well_distance_m_min"),
    ),
    said(
        "uksi-2015-668",
        "regulation 8(1)",
        "nitrogen in organic manure [kg/ha/year]",
        "250",
        rule("nitrogen_kg_per_ha_year_max", place="GB-ENG"),
    ),
    said(
        "gov-uk-nwfd3",
        "50 cubic metres",
        "waste kept in a firm's own bay [m3]",
        "50",
        rule("hold_bay_volume_m3_max", place="GB-ENG"),
    ),
    said(
        "ilcs-415-5-3-485",
        "24 hours",
        "landscape waste on its vehicle in Illinois [h]",
        "24",
        rule("vehicle_storage_hours_max", place="US-IL"),
    ),
    said(
        "epa-clopyralid",
        "18 months",
        "clopyralid before composting off the place [months]",
        "18",
        lambda: wait("clopyralid", "compost_site", "days", "US-OH") / MONTH_DAYS,
    ),
    said(
        "nebraska-clippings",
        "four mowings if the label is silent",
        "2,4-D before mulch [mowings]",
        "4",
        lambda: wait("2,4-D", "bed", "mowings"),
    ),
    said(
        "iastate-lawn-faq",
        "two to three mowings",
        "2,4-D before compost [mowings]",
        "3",
        lambda: wait("2,4-D", "compost_site", "mowings"),
    ),
    said(
        "mn-grasscycling",
        "no longer than one inch",
        "clippings short enough to leave [in]",
        "1",
        lambda: from_si(
            RULES.value_on("leave_on_lawn_height_removed_mm_max", DAY).value / 1000, "[in_i]"
        ),
    ),
    said(
        "mu-g6959",
        "80 to 85 percent water",
        "water in rained-on clippings [%]",
        "85",
        rule("clipping_moisture", scale=100, wetness="rained_on"),
    ),
    said(
        "mu-g6959",
        "80 to 85 percent water",
        "water in dewy clippings [%]",
        "80",
        rule("clipping_moisture", scale=100, wetness="dewy"),
    ),
    said(
        "csu-clippings",
        "75 percent of this is water",
        "water in dry-weather clippings [%]",
        "75",
        rule("clipping_moisture", scale=100, wetness="dry"),
    ),
    said(
        "cooperband-2002",
        "table 1, acceptable",
        "wettest compost mix [%]",
        "65",
        rule("compost_mix_moisture", scale=100, end="high", quality="acceptable"),
    ),
    said(
        "boscoe-2012",
        "mean of trips in the United States, from memory",
        "road by straight line, high end",
        "1.417",
        rule("road_detour_factor", end="high"),
    ),
    said(
        "ifas-okaloosa",
        "2 percent potassium",
        "potassium of clippings [%]",
        "2",
        rule("feed_nutrient_content", scale=100, nutrient="K"),
    ),
)


@pytest.mark.parametrize("printed", PRINTED, ids=str)
def test_our_number_rounds_to_the_printed_one(printed: Printed) -> None:
    assert printed.agrees(), (printed.compute(), printed.printed)


def test_the_wording_on_clopyralid_keeps_one_mowing_on_the_lawn_and_three_out_of_schemes() -> None:
    # [hortweek-clopyralid] the first mowing is left on the lawn, the next three are composted.
    kept = RULES.treatments.kept_on_lawn("clopyralid", DAY, jurisdiction="GB-ENG")
    assert (kept.mowings, kept.kind) == (1, "label")
    assert wait("clopyralid", "compost_site", "mowings", "GB-ENG") == 1 + 3


def test_what_authorities_forbid_without_an_end_has_no_end_here() -> None:
    # [purdue-clippings] aminocyclopyrachlor; [epa-aminopyralid] aminopyralid and picloram;
    # [nebraska-clippings] quinclorac as mulch.
    for substance, destination, place in (
        ("aminocyclopyrachlor", "bed", None),
        ("aminocyclopyrachlor", "compost_site", None),
        ("aminopyralid", "compost_site", "US-OH"),
        ("picloram", "compost_site", "US-OH"),
        ("quinclorac", "bed", None),
    ):
        assert wait(substance, destination, "never", place) == 1


def test_a_steep_is_between_a_bucket_two_thirds_full_and_a_full_one() -> None:
    # [balcony-garden-tea] two thirds, [garden-boss-2017] full; [bertrand-mst] 1.7 lb/gal loose.
    # Clippings sink and displace about their own mass of water.
    loose_kg_per_l = RULES.value_on("bulk_density_kg_per_m3", DAY, packing="loose").likely / 1000
    least, most = (full * loose_kg_per_l / (1 - full * loose_kg_per_l) for full in (2 / 3, 1.0))
    steep = RULES.value_on("feed_clippings_kg_per_litre", LATER)
    assert steep.standing == "read"
    assert steep.value == pytest.approx((least * most) ** 0.5, abs=0.005)


@pytest.mark.parametrize(
    ("nutrient", "oxide_percent", "share_of_oxide"),
    [("P", (1.0, 1.5), 2 * 30.974 / 141.945), ("K", (2.5, 3.8), 2 * 39.098 / 94.196)],
)
def test_what_lawns_leaf_analyses_hold_of_a_nutrient_is_inside_the_rule(
    nutrient: str, oxide_percent: tuple[float, float], share_of_oxide: float
) -> None:
    # [intergreen-2022] prints oxides; atomic weights as of any table.
    value = RULES.value_on("feed_nutrient_content", LATER, nutrient=nutrient)
    for percent in oxide_percent:
        share = percent / 100 * share_of_oxide
        assert value.low <= share * 1.01
        assert share * 0.99 <= value.high


def test_mulch_waits_are_no_shorter_than_harm_was_seen() -> None:
    # [branham-lickfeldt-1997]: not for at least 14 days; [bahe-peacock-1995]: harm from
    # clippings cut up to 15 days after the spray.
    for substance in ("2,4-D", "dicamba", "mecoprop-P", "triclopyr"):
        assert wait(substance, "bed", "days") > 15

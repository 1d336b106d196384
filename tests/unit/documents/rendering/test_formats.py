from datetime import UTC, date, datetime

import pytest

from service.core.measures.estimates import Estimate
from service.documents.facts.refusals import DisplayUnitsUnknown, LanguageUnknown
from service.documents.facts.values import AreaAtDepth, Quantity, Rounding, Unit, Value
from service.documents.rendering.formats import DisplayUnits, display_units, show
from service.documents.rendering.language import LANGUAGES, language, plural_category

GAP = "\u00a0"


def shown(value: Value, code: str = "en", units: DisplayUnits = DisplayUnits.METRIC) -> str:
    return show(value, language=language(code), units=units).replace(GAP, " ")


def mm(value: float, rounding: Rounding) -> Quantity:
    return Quantity(value=value, unit=Unit.MILLIMETRE, rounding=rounding)


@pytest.mark.parametrize(
    ("value", "rounding", "metric", "us"),
    [
        # 12.7 mm is half an inch exactly (NIST SP 811, 2008, B.8).
        (12.7, Rounding.AT_MOST, "12 mm", "½ in"),
        (12.6, Rounding.AT_MOST, "12 mm", "⅜ in"),
        (25.4, Rounding.AT_MOST, "25 mm", "1 in"),
        (75.0, Rounding.AT_LEAST, "75 mm", "3 in"),
        (150.0, Rounding.AT_LEAST, "150 mm", "6 in"),
        (0.4, Rounding.AT_MOST, "0.25 mm", "0.25 mm"),
    ],
)
def test_a_limit_is_never_rounded_to_the_wrong_side(
    value: float, rounding: Rounding, metric: str, us: str
):
    assert shown(mm(value, rounding)) == metric
    assert shown(mm(value, rounding), units=DisplayUnits.US) == us


@pytest.mark.parametrize(
    ("units", "bed_m2", "area"),
    [
        # 0.85 m3 at the 12 mm that are printed: 70.8 m2. At 3/8 in: 89.2 m2, 960.5 ft2.
        (DisplayUnits.METRIC, 120.0, "71\u00a0m²"),
        (DisplayUnits.US, 120.0, "961\u00a0ft²"),
        (DisplayUnits.METRIC, 69.0, "69\u00a0m²"),
    ],
)
def test_the_area_goes_with_the_depth_that_is_printed(
    units: DisplayUnits, bed_m2: float, area: str
):
    depth = Quantity(value=12.5, unit=Unit.MILLIMETRE, rounding=Rounding.AT_MOST)
    found = AreaAtDepth(area_m2=68.0, depth=depth, area_max_m2=bed_m2)
    assert show(found, language=language("en"), units=units) == area


def test_a_weight_off_a_scale_keeps_its_tenths_and_gains_none_by_conversion():
    net = Quantity(value=174.5, unit=Unit.KILOGRAM)
    assert shown(net) == "174.5 kg"
    # 174.5 kg / 0.453 592 37 = 384.7 lb
    assert shown(net, units=DisplayUnits.US) == "385 lb"


def test_an_estimate_shows_two_figures_and_its_range_outwards():
    mass = Estimate(low=118, likely=182, high=263, unit="kg", basis="", sources=())
    assert shown(mass) == "about 180 kg (110 to 270 kg)"


def test_an_estimate_without_spread_shows_no_range():
    mass = Estimate(low=182, likely=182, high=182, unit="kg", basis="", sources=())
    assert shown(mass) == "180 kg"


def test_a_range_is_in_one_unit():
    volume = Estimate(low=310, likely=640, high=1930, unit="L", basis="", sources=())
    assert shown(volume) == "about 0.64 m³ (0.31 to 2 m³)"


def test_ten_metres_are_at_least_thirty_three_feet():
    # 10 m / 0.3048 = 32.81 ft; fifty metres are 164.04 ft.
    ten = Quantity(value=10, unit=Unit.METRE, rounding=Rounding.AT_LEAST)
    fifty = Quantity(value=50, unit=Unit.METRE, rounding=Rounding.AT_LEAST)
    assert shown(ten, units=DisplayUnits.US) == "33 ft"
    assert shown(fifty, units=DisplayUnits.US) == "165 ft"


@pytest.mark.parametrize(
    ("code", "text"), [("en", "1,234 kg"), ("es", "1234 kg"), ("pl", "1234 kg")]
)
def test_thousands_are_grouped_as_each_language_does(code: str, text: str):
    assert shown(Quantity(value=1234, unit=Unit.KILOGRAM), code) == text


@pytest.mark.parametrize(
    ("code", "text"), [("en", "24 May 2026"), ("es", "24 de mayo de 2026"), ("pl", "24 maja 2026")]
)
def test_a_date_names_its_month(code: str, text: str):
    assert shown(date(2026, 5, 24), code) == text


@pytest.mark.parametrize(("hour", "us"), [(0, "12:05 am"), (12, "12:05 pm"), (13, "1:05 pm")])
def test_us_units_come_with_a_clock_of_twelve_hours(hour: int, us: str):
    moment = datetime(2026, 5, 24, hour, 5, tzinfo=UTC)
    assert shown(moment).endswith(f"{hour:02d}:05")
    assert shown(moment, units=DisplayUnits.US).endswith(us)


@pytest.mark.parametrize(
    ("number", "category"),
    # Unicode CLDR, Language Plural Rules, sample numbers printed for Polish.
    [
        *((number, "few") for number in ("2", "4", "22", "102")),
        *((number, "many") for number in ("0", "5", "12", "14", "19", "101")),
        *((number, "other") for number in ("0.1", "1.5")),
        ("1", "one"),
    ],
)
def test_polish_plurals_are_those_of_cldr(number: str, category: str):
    assert plural_category("pl", number) == category


def test_bags_are_counted_in_polish():
    assert [shown(Quantity(value=n, unit=Unit.BAG), "pl") for n in (1, 3, 7, 53)] == [
        "1 worek",
        "3 worki",
        "7 worków",
        "53 worki",
    ]


def test_unknown_languages_and_units_are_refused_with_what_there_is():
    with pytest.raises(LanguageUnknown, match=", ".join(LANGUAGES)):
        language("xx")
    with pytest.raises(DisplayUnitsUnknown, match="metric, us"):
        display_units("imperial")

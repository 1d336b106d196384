"""Conversions against tables that others print."""

import pytest

from service.core.measures.quantities import Measure, rate_to_si, to_si
from tests.published.printed import Printed


def converts(source: str, where: str, unit: str, wanted: str, printed: str) -> Printed:
    return Printed(
        check=f"1 {unit} in {wanted}",
        source=source,
        where=where,
        printed=printed,
        compute=lambda: Measure(value=1, unit=unit).value_in(wanted),
    )


USGS = ("usgs-ic-9298", "table of unit abbreviations")
FACTBOOK = ("factbook-g", "conversion factors")
MANUAL = ("soil-testing-manual-d", "appendix D")
IFAS = ("ifas-ag126", "area, length")

PRINTED = (
    converts(*USGS, "[cyd_i]", "m3", "0.7646"),
    converts(*USGS, "[ston_av]", "t", "0.9072"),
    converts(*USGS, "[lb_av]", "kg", "0.4536"),
    converts(*USGS, "[mi_i]", "km", "1.6093"),
    converts(*USGS, "[sft_i]", "m2", "0.0929"),
    converts(*FACTBOOK, "43560.[sft_i]", "m2", "4046.8564224"),
    converts(*FACTBOOK, "43560.[sft_i]", "har", "0.40468564224"),
    converts(*MANUAL, "[syd_i]", "m2", "0.8361"),
    converts(*MANUAL, "[acr_us]", "m2", "4046.9"),
    Printed(
        check="1 lb/ft3 [kg/m3]",
        source="soil-testing-manual-d",
        where="appendix D",
        printed="16.0185",
        compute=lambda: rate_to_si(1, numerator="[lb_av]", denominator="[cft_i]"),
    ),
    converts(*IFAS, "har", "43560.[sft_i]", "2.47"),
    converts(*IFAS, "[mi_i]", "km", "1.6093"),
    Printed(
        check="gallons in a cubic yard",
        source="calrecycle-calculations",
        where="remark on liquid waste",
        printed="202",
        compute=lambda: Measure(value=1, unit="[cyd_i]").value_in("[gal_us]"),
    ),
    Printed(
        check="five thirds of a gallon [L]",
        source="wsu-bulk-density",
        where="marks on a bucket",
        printed="6.31",
        compute=lambda: 1000 * to_si(5 / 3, "[gal_us]"),
    ),
    Printed(
        check="ten thirds of a gallon [L]",
        source="wsu-bulk-density",
        where="marks on a bucket",
        printed="12.62",
        compute=lambda: 1000 * to_si(10 / 3, "[gal_us]"),
    ),
)


@pytest.mark.parametrize("printed", PRINTED, ids=str)
def test_our_number_rounds_to_the_printed_one(printed: Printed) -> None:
    assert printed.agrees(), (printed.compute(), printed.printed)


# NIST SP 811 (2008), appendix B.8, bold (exact) factors, from memory; Weights and Measures Act
# 1985, schedule 1, for the imperial gallon; UCUM 2.1 for the two old acres.
@pytest.mark.parametrize(
    ("unit", "exact"),
    [
        ("[lb_av]", 0.45359237),
        ("[ston_av]", 907.18474),
        ("[lton_av]", 1016.0469088),
        ("t", 1000.0),
        ("[sft_i]", 0.09290304),
        ("[syd_i]", 0.83612736),
        ("[cft_i]", 0.028316846592),
        ("[cyd_i]", 0.764554857984),
        ("[gal_us]", 0.003785411784),
        ("[gal_br]", 0.00454609),
        ("[bu_us]", 0.03523907016688),
        ("[acr_us]", 4046.872609874252),
        ("[acr_br]", 4046.850049400269),
        ("har", 10000.0),
    ],
)
def test_a_unit_is_its_exact_definition(unit: str, exact: float) -> None:
    assert to_si(1, unit) == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"), [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0), (131.0, 55.0)]
)
def test_fixed_points_of_the_fahrenheit_scale(fahrenheit: float, celsius: float) -> None:
    assert to_si(fahrenheit, "[degF]") == pytest.approx(celsius, abs=1e-12)

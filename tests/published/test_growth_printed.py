"""Growth against what turf scientists print."""

import math

import pytest

from service.agronomy.clippings.growth import (
    daily_growth_g_per_m2,
    growth_potential,
)
from service.core.measures.quantities import from_si, rate_to_si
from service.rules.lookup import Rulebook
from tests.builders import DAY
from tests.published.printed import Printed

PRINTED = (
    Printed(
        check="optimum of cool-season turf, 20 C, in Fahrenheit [F]",
        source="woods-2014-gp",
        where="20 C; the same curve has its top at 68 F in the Fahrenheit articles",
        printed="68",
        compute=lambda: from_si(20.0, "[degF]"),
    ),
    Printed(
        check="optimum of warm-season turf, 31 C, in Fahrenheit [F]",
        source="paceturf-warm-season",
        where="88 F (31 C)",
        printed="88",
        compute=lambda: from_si(31.0, "[degF]"),
    ),
    Printed(
        check="growth potential of warm-season turf at 40 C [%]",
        source="paceturf-warm-season",
        where="remains at 100 % above the optimum",
        printed="100",
        compute=lambda: (
            100
            * growth_potential(temperature_c=40, optimum_c=31, width_c=7, full_above_optimum=True)
        ),
    ),
    Printed(
        check="nitrogen of full growth, 1 lb per 1000 ft2 and month [g/m2]",
        source="paceturf-nitrogen-demand",
        where="1 lb N/1000 sq ft (5 g/m2)",
        printed="5",
        compute=lambda: 1000 * rate_to_si(1, numerator="[lb_av]", denominator="1000.[sft_i]"),
    ),
)


@pytest.mark.parametrize("case", PRINTED, ids=str)
def test_the_printed_growth_figure_is_met_to_half_its_last_digit(case):
    assert case.agrees(), f"printed {case.printed}, computed {case.compute()}"


@pytest.mark.parametrize(
    ("grass_kind", "least_c", "most_c"), [("cool_season", 18.8, 20.6), ("warm_season", 31.8, 36.1)]
)
def test_grass_grows_in_full_where_it_was_measured_to_grow_most(grass_kind, least_c, most_c):
    # [flournoy-2017] clippings of ten grasses every three days. The warm ones' plateau begins
    # below where the most was found.
    rules = Rulebook.load()
    optimum_c, width_c = (
        rules.value_on(name, DAY, grass_kind=grass_kind).value
        for name in ("growth_optimum_c", "growth_width_c")
    )
    for temperature_c in (least_c, (least_c + most_c) / 2, most_c):
        potential = growth_potential(
            temperature_c=temperature_c,
            optimum_c=optimum_c,
            width_c=width_c,
            full_above_optimum=grass_kind == "warm_season",
        )
        assert potential > 0.97


def test_above_half_potential_is_the_growing_season_of_cool_season_turf():
    # More than 0.5 is called the growing season (USGA, 2019): with width 5.5 that is
    # within sqrt(2 ln 2) x 5.5 = 6.5 C of the optimum.
    edge_c = 20 - math.sqrt(2 * math.log(2)) * 5.5
    potential = growth_potential(
        temperature_c=edge_c, optimum_c=20, width_c=5.5, full_above_optimum=False
    )
    assert potential == pytest.approx(0.5)


def test_a_years_growth_lies_between_the_printed_yearly_yields():
    # [calrecycle-grasscycling] 300 to 400 lb of clippings per 1000 ft2 a year, 80 to 85 percent
    # water; [csu-clippings] 200 lb of 75 percent. Dry: from 220 to 391 g/m2. A temperate year
    # (monthly means of a mild climate) at 3 g of nitrogen a month must lie between.
    months_c = (3, 4, 7, 10, 14, 18, 21, 20, 16, 12, 7, 4)
    year_g_per_m2 = sum(
        365.2425
        / 12
        * daily_growth_g_per_m2(
            potential=growth_potential(
                temperature_c=mean_c, optimum_c=20, width_c=5.5, full_above_optimum=False
            ),
            nitrogen_g_per_m2_per_month=3,
            nitrogen_fraction=0.04,
        )
        for mean_c in months_c
    )
    assert 220 < year_g_per_m2 < 391

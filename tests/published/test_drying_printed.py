"""Drying time against what the paper and its readers print."""

import itertools
import math

import pytest
from scipy.integrate import solve_ivp

from service.agronomy.drying.rate import (
    DryingHour,
    drying_rate_per_h,
)
from service.agronomy.drying.time import dry_basis, hours_to_moisture
from service.agronomy.drying.weather import vapour_pressure_deficit_kpa
from service.rules.lookup import Rulebook
from tests.published.printed import Printed

PRINTED = (
    Printed(
        check="75 % water on the wet basis, on the dry basis [%]",
        source="rotz-chen-1985",
        where="start of drying as its readers give it: 300 percent dry basis",
        printed="300",
        compute=lambda: 100 * dry_basis(0.75),
    ),
    Printed(
        check="80 % water on the wet basis, on the dry basis [%]",
        source="rotz-chen-1985",
        where="abstract: measured between 80 and 20 %, 4 kg of water a kg of dry matter",
        printed="400",
        compute=lambda: 100 * dry_basis(0.80),
    ),
)


@pytest.mark.parametrize("case", PRINTED, ids=str)
def test_the_printed_drying_figure_is_met_to_half_its_last_digit(case):
    assert case.agrees(), f"printed {case.printed}, computed {case.compute()}"


@pytest.mark.parametrize("solar_w_per_m2", [300, 600, 900])
@pytest.mark.parametrize(("temperature_c", "humidity"), [(20, 0.6), (25, 0.5), (30, 0.45)])
@pytest.mark.parametrize("first_day", [True, False])
@pytest.mark.parametrize("swath_g_per_m2", [250, 450, 700])
def test_the_two_equations_of_the_paper_tell_the_same_rate_in_a_michigan_summer(
    solar_w_per_m2, temperature_c, humidity, first_day, swath_g_per_m2
):
    # Fitted to the same measurements, once by the deficit and once by the
    # temperature: a coefficient copied wrongly would set them apart.
    by_deficit = drying_rate_per_h(
        DryingHour(
            solar_w_per_m2=solar_w_per_m2,
            vapour_pressure_deficit_kpa=vapour_pressure_deficit_kpa(
                temperature_c=temperature_c, relative_humidity=humidity
            ),
            first_day=first_day,
        ),
        soil_moisture=0.15,
        swath_density_g_per_m2=swath_g_per_m2,
    )
    # Equation 4: (SI + 5.42 T) / (66.4 SM + SD (2.06 - 0.97 DAY) 1.55 + 3037).
    by_temperature = (solar_w_per_m2 + 5.42 * temperature_c) / (
        66.4 * 15 + swath_g_per_m2 * (2.06 - 0.97 * first_day) * 1.55 + 3037
    )
    assert by_deficit == pytest.approx(by_temperature, rel=0.13)


def test_without_dew_hay_is_made_between_the_second_and_the_fourth_day():
    # Common practice, no source: hay is made in three days, give or take; the dew
    # that is left out here costs most of a day.
    days = 6
    hours = [
        DryingHour(
            solar_w_per_m2=max(0.0, 800 * math.sin(math.pi * (hour - 6) / 12)),
            vapour_pressure_deficit_kpa=max(0.0, 1.6 * math.sin(math.pi * (hour - 6) / 14)),
            first_day=day == 0,
        )
        for day in range(days)
        for hour in range(24)
    ]
    since_the_cut = itertools.accumulate(
        drying_rate_per_h(hour, soil_moisture=0.15, swath_density_g_per_m2=450)
        for hour in hours[8:]  # at eight in the morning
    )
    to_lose = math.log(dry_basis(0.80) / dry_basis(0.20))
    taken = next(hour for hour, lost in enumerate(since_the_cut, 1) if lost >= to_lose)
    assert 24 < taken < 4 * 24


def test_thin_clippings_on_a_tarp_dry_in_the_few_hours_practice_says():
    # Half an inch of loose clippings at noon: the practice of "a few hours" is met
    # for losing most of the water, which ties the fallback to the equation.
    rate = drying_rate_per_h(
        DryingHour(solar_w_per_m2=700, vapour_pressure_deficit_kpa=1.8, first_day=True),
        soil_moisture=0.0,
        swath_density_g_per_m2=12.7 * 250 * 0.24,
    )
    hours = hours_to_moisture(moisture=0.76, goal_moisture=0.55, rate_per_h=rate)
    row = Rulebook.load().rules["drying_practice_hours"].rows[-1]
    assert row.low < hours < row.high


def test_the_drying_hours_solve_the_differential_equation():
    rate = 0.12
    goal = dry_basis(0.4)
    dry = lambda _t, water: water[0] - goal  # noqa: E731 - an event of the solver, used once
    run = solve_ivp(
        lambda _t, water: -rate * water, (0, 200), [dry_basis(0.8)], events=dry, rtol=1e-9
    )
    assert hours_to_moisture(moisture=0.8, goal_moisture=0.4, rate_per_h=rate) == pytest.approx(
        run.t_events[0][0], rel=1e-6
    )

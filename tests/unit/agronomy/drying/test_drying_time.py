"""Drying hours from a forecast, a rate, or practice."""

import pytest

from service.agronomy.drying.rate import DryingHour
from service.agronomy.drying.time import (
    DryingBasis,
    drying_time,
    hours_through_weather,
    hours_to_moisture,
)
from service.agronomy.drying.weather import psychrometer_vapour_pressure_kpa
from service.agronomy.estimates.validity import OutsideValidity

NOON = DryingHour(solar_w_per_m2=700, vapour_pressure_deficit_kpa=1.7, first_day=True)
NIGHT = DryingHour(solar_w_per_m2=0, vapour_pressure_deficit_kpa=0, first_day=True)


def through(hourly, **changes):
    values = {
        "moisture": 0.8,
        "goal_moisture": 0.4,
        "soil_moisture": 0.0,
        "swath_density_g_per_m2": 500,
    }
    return hours_through_weather(hourly, **{**values, **changes})


def time(**changes):
    values = {
        "moisture": 0.8,
        "goal_moisture": 0.4,
        "rate_per_h": 0.15,
        "spread": 1.6,
        "practice_hours": (2.0, 4.0, 8.0),
    }
    return drying_time(**{**values, **changes})


def test_a_known_rate_gives_hours_with_their_spread_and_says_it_is_the_weather():
    found = time()
    assert found.basis is DryingBasis.WEATHER
    assert found.low_hours == pytest.approx(found.likely_hours / 1.6)
    assert found.high_hours == pytest.approx(found.likely_hours * 1.6)
    assert not found.extrapolated


def test_without_weather_it_is_a_few_hours_and_says_common_practice():
    found = time(rate_per_h=None)
    assert (found.low_hours, found.likely_hours, found.high_hours) == (2, 4, 8)
    assert str(found.basis) == "common practice, no source"


def test_grass_wetter_than_ever_measured_is_marked():
    assert time(moisture=0.86).extrapolated


@pytest.mark.parametrize("hours", [(4.0, 2.0, 8.0), (2.0, 9.0, 8.0), (-1.0, 2.0, 8.0)])
def test_practice_hours_out_of_order_are_refused(hours):
    with pytest.raises(OutsideValidity):
        time(rate_per_h=None, practice_hours=hours)


def test_dry_enough_already_takes_no_time():
    assert through([], moisture=0.4) == 0
    assert hours_to_moisture(moisture=0.4, goal_moisture=0.4, rate_per_h=0.1) == 0


def test_a_night_dries_nothing_and_a_short_forecast_answers_none():
    assert through([NIGHT] * 12) is None
    assert through([NOON] * 2) is None
    assert through([NIGHT, *[NOON] * 48]) == pytest.approx(1 + through([NOON] * 48))


def test_drying_backwards_is_refused():
    with pytest.raises(OutsideValidity):
        hours_to_moisture(moisture=0.3, goal_moisture=0.5, rate_per_h=0.1)


def test_two_thermometers_that_cannot_belong_together_are_refused():
    with pytest.raises(OutsideValidity):
        psychrometer_vapour_pressure_kpa(dry_bulb_c=45, wet_bulb_c=5, pressure_kpa=101)
    with pytest.raises(OutsideValidity):
        psychrometer_vapour_pressure_kpa(dry_bulb_c=20, wet_bulb_c=21, pressure_kpa=101)

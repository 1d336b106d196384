"""Drying hours from a forecast, a rate, or practice."""

import pytest

from service.agronomy.drying.time import (
    DryingBasis,
    drying_time,
    hours_to_moisture,
)
from service.agronomy.estimates.validity import OutsideValidity


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
    assert hours_to_moisture(moisture=0.4, goal_moisture=0.4, rate_per_h=0.1) == 0


def test_drying_backwards_is_refused():
    with pytest.raises(OutsideValidity):
        hours_to_moisture(moisture=0.3, goal_moisture=0.5, rate_per_h=0.1)

"""How long grass keeps by what is known of it: what nobody knows keeps no longer than the worst."""

from datetime import date
from itertools import pairwise

import pytest

from service.core.materials import Wetness
from service.destinations.freshness import heap_clock, keeping_time, likely_grass
from service.rules.here import RulesHere
from tests.builders import RULES


def keeps(wetness):
    return keeping_time(wetness, here=RulesHere(RULES, date(2026, 5, 24), ""))


@pytest.mark.parametrize("wetness", [word for word in Wetness if word is not Wetness.UNKNOWN])
def test_grass_that_nobody_looked_at_keeps_no_longer_than_any(wetness):
    assert keeps(Wetness.UNKNOWN).red <= keeps(wetness).red
    assert keeps(Wetness.UNKNOWN).amber <= keeps(wetness).amber


def test_wet_and_lush_grass_turns_first_and_dry_keeps_longest():
    rained_on, lush, dewy, dry = (
        keeps(word) for word in (Wetness.RAINED_ON, Wetness.LUSH, Wetness.DEWY, Wetness.DRY)
    )
    for clock in ("amber", "red"):
        found = [getattr(keeping, clock) for keeping in (rained_on, lush, dewy, dry)]
        assert found == sorted(found)
    assert 2 * rained_on.red <= 1.1 * dry.red


@pytest.mark.parametrize("air_c", [5.0, 15.0, 35.0])
@pytest.mark.parametrize("depth_mm", [150.0, 1500.0])
@pytest.mark.parametrize("open_faces", [0, 1])
def test_the_order_holds_in_any_weather_depth_and_bag(air_c, depth_mm, open_faces):
    day = date(2026, 5, 24)
    reds = [
        heap_clock(
            likely_grass(word, here=RulesHere(RULES, day, "")),
            here=RulesHere(RULES, day, ""),
            depth_mm=depth_mm,
            temperature_c=air_c,
            open_faces=open_faces,
        ).red_hours
        for word in (Wetness.UNKNOWN, Wetness.RAINED_ON, Wetness.LUSH, Wetness.DEWY, Wetness.DRY)
    ]
    step_hours = 1 / 6
    for sooner, later in pairwise(reds):
        assert sooner <= later + step_hours


def test_the_mean_of_a_warm_day_is_assumed_for_hours_and_its_hottest_hour_for_a_layer():
    mean, hottest = (
        RULES.value_on(f"{what}_air_temperature_c_assumed", date(2026, 5, 24)).value
        for what in ("heap", "layer")
    )
    assert hottest - mean == 5

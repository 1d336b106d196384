"""More aboard than a vehicle may drive with is told once, as a stop, with who can help."""

import pytest

from tests.crews import another_crew
from tests.holds import Yard
from tests.outages import warnings

LARGE = {"value": 440, "unit": "m2"}


@pytest.fixture
def yard():
    yard = Yard()
    yard.patch(f"/vehicles/{yard.ids['vehicles']}", {"payload_kg": 120})
    yard.patch(yard.bed, {"area": {"value": 3000, "unit": "m2"}})
    return yard


def told(yard):
    plan = yard.routing()
    assert warnings(plan, "vehicle_may_overflow") == []
    (one,) = warnings(plan, "vehicle_may_be_overloaded")
    return one["why"]


def test_an_overload_is_told_once_and_names_who_has_nothing_to_do(yard):
    another_crew(yard)
    yard.mow(yard.lawn("Big"), at="11:00", area_mowed=LARGE, wetness="rained_on")
    why = told(yard)
    assert why.startswith("Nobody drives it on the road")
    assert "AB12 CDE (Second), without a job on this day, can take a part of it over." in why


def test_who_is_at_work_with_an_empty_body_is_named_where_all_have_work(yard):
    spare = another_crew(yard)
    yard.mow(yard.lawn("Big"), at="11:00", area_mowed=LARGE, wetness="rained_on")
    yard.plan_to_mow(yard.lawn("Small"), **spare)
    assert "AB12 CDE (Second), at work with an empty body, can take a part" in told(yard)


def test_where_nobody_is_there_a_part_is_taken_off_where_it_stands(yard):
    yard.mow(yard.lawn("Big"), at="11:00", area_mowed=LARGE, wetness="rained_on")
    assert "take a part off where it stands" in told(yard)

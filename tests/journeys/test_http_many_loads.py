"""A cut that is many loads is said to be so before it is made, and has ways on once it is."""

import pytest

from tests.holds import Yard

HECTARES = {"value": 40_000, "unit": "m2"}


@pytest.fixture
def yard():
    yard = Yard()
    yard.patch(f"/crews/{yard.ids['crews']}", {"language": "en"})
    yard.park = yard.lawn("Park")
    yard.patch(f"/lawns/{yard.park}", {"area": HECTARES})
    return yard


def check(yard, lawn, **said):
    asked = {"depot_id": yard.ids["depots"], "treatment_history": "none_recorded", **said}
    answer = yard.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=asked)
    assert answer.status_code == 200, answer.text
    return answer.json


@pytest.mark.parametrize("is_planned", [True, False])
def test_who_asks_before_the_cut_reads_how_many_loads_it_is(yard, is_planned):
    if is_planned:
        yard.plan_to_mow(yard.park, area_mowed=HECTARES)
    said = check(yard, yard.park, height_removed_mm=90)["plan"]["many_loads"]
    vehicle = yard.client.get(f"/vehicles/{yard.ids['vehicles']}").json
    facts = said["facts"]
    assert facts["loads_likely"] > 1
    assert (facts["loads_likely"] - 1) * vehicle["payload_kg"] < facts["mass_likely_kg"] * 10
    assert f"{facts['loads_likely']} to {facts['loads_high']} loads" in said["sentence"]
    assert "Ask the office before you bag it" in said["sentence"]


def test_of_one_load_nothing_is_said(yard):
    assert check(yard, yard.lawn("Front"))["plan"]["many_loads"] is None


def test_a_cut_too_large_to_route_has_ways_on_for_the_one_it_was_and_the_one_it_was_not(yard):
    job = yard.mow(yard.park, at="10:00", area_mowed={"value": 40_000, "unit": "m2"})
    yard.patch(f"/jobs/{job}", {"height_removed": {"value": 90, "unit": "mm"}})
    plan = yard.routing()
    listed = yard.client.get(f"/days/{plan['day']}/decisions?depot_id={yard.ids['depots']}").json
    (told,) = [one for one in listed["decisions"] if one["code"] == "lot_too_large"]
    assert "loads of" in told["sentence"]
    ways = {(way["method"], way["href"]) for way in told["ways"]}
    assert {("PATCH", f"/jobs/{job}"), ("POST", "/loads")} <= ways

"""A body is parted between two places: either part may be chosen for the other's place."""

import re

import pytest

from service.api.books import clients
from tests.crews import drops
from tests.holds import Yard


@pytest.fixture
def yard():
    """Return a yard whose grass is parted between two beds of one property."""
    yard = Yard()
    yard.crews_cost(0)
    first = {"state": "given", "mass_per_visit_max_kg": 60, "mass_per_visit_min_kg": 5}
    yard.patch(yard.bed, {"consent": first})
    basis = {"kind": "registered_exemption", "reference": "EX 1", "expires_on": "2027-05-01"}
    second = {
        **clients.BEDS.example,
        "property_id": yard.ids["properties"],
        "name": "Second bed",
        "legal_basis": basis,
        "consent": {"state": "given", "mass_per_visit_min_kg": 15},
    }
    yard.second = yard.post("/beds", second)["id"]
    yard.mow(yard.lawn("Park"), at="11:00", area_mowed={"value": 400, "unit": "m2"})
    return yard


def parts(yard):
    return {stop["destination_id"]: stop for stop in drops(yard.routing())}


def test_the_larger_part_may_be_chosen_for_where_the_smaller_was_to_go(yard):
    was = parts(yard)
    first, second = yard.ids["beds"], yard.second
    assert was[first]["mass_kg"]["high"] > was[second]["mass_kg"]["high"]
    wish = {"load_id": was[first]["load_id"], "destination_id": second}
    answer = yard.client.post("/place-choices", json=wish)
    assert answer.status_code == 201, answer.text
    now = parts(yard)
    assert now[second]["mass_kg"]["high"] == pytest.approx(was[first]["mass_kg"]["high"], abs=1)
    assert now[first]["mass_kg"]["high"] == pytest.approx(was[second]["mass_kg"]["high"], abs=1)


def test_what_is_more_than_the_room_is_refused_with_both_amounts(yard):
    was = parts(yard)
    yard.patch(yard.bed, {"consent": {"state": "given", "mass_per_visit_max_kg": 30}})
    wish = {"load_id": was[yard.second]["load_id"], "destination_id": yard.ids["beds"]}
    problem = yard.client.post("/place-choices", json=wish).json
    assert problem["code"] == "tip_not_possible"
    mass, room = map(int, re.findall(r"(\d+) kg", problem["detail"]))
    assert mass > room == 30

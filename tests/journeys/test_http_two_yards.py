"""A firm with two yards: whose day a vehicle, its grass and its jobs are of."""

import pytest

from service.api.books import sites
from tests.holds import Yard


@pytest.fixture
def yard():
    yard = Yard()
    near = {"type": "Point", "coordinates": [-1.2, 51.8]}
    yard.second = yard.post("/depots", {**sites.DEPOTS.example, "name": "North", "point": near})
    yard.vehicle = f"/vehicles/{yard.ids['vehicles']}"
    return yard


def moved(yard, status):
    return yard.patch(yard.vehicle, {"depot_id": yard.second["id"]}, status)


def test_a_vehicle_with_grass_aboard_is_not_moved_to_another_yard(yard):
    job = yard.mow(yard.lawn("Front"), at="11:00")
    refused = moved(yard, 409)
    assert refused["code"] == "vehicle_has_work"
    assert yard.client.get(f"/jobs/{job}").json["lot_code"] in refused["detail"]
    assert yard.client.get(yard.vehicle).json["depot_id"] == yard.ids["depots"]


def test_a_vehicle_with_work_planned_is_not_moved_to_another_yard(yard):
    job = yard.plan_to_mow(yard.lawn("Front"))
    assert "1 planned job" in moved(yard, 409)["detail"]
    yard.patch(f"/jobs/{job}", {"state": "cancelled"}, reason="Rain.")
    moved(yard, 200)


def test_an_empty_vehicle_without_work_is_moved(yard):
    assert moved(yard, 200)["depot_id"] == yard.second["id"]
    yard.patch(yard.vehicle, {"name": "Tipper"})

"""A firm with two yards: whose day a vehicle, its grass and its jobs are of."""

import pytest

from service.api.books import sites
from tests.crews import DAY
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


@pytest.fixture
def north(yard):
    """Return the second yard's vehicle and crew, with a lawn planned for them today."""
    names = {"depot_id": yard.second["id"], "registration": "NO 1"}
    limits = {"payload_kg": 1200, "body_volume_m3": 6.5}
    vehicle = yard.post("/vehicles", {**names, **limits})["id"]
    crew = {"depot_id": yard.second["id"], "name": "North crew", "vehicle_id": vehicle}
    yard.theirs = {"crew_id": yard.post("/crews", crew)["id"], "vehicle_id": vehicle}
    yard.shared = yard.lawn("Shared")
    yard.planned = yard.plan_to_mow(yard.shared, at="15:00", **yard.theirs)
    return yard


def of_yard(yard, depot_id):
    answer = yard.client.get(f"/days/{DAY}/routing?depot_id={depot_id}")
    if answer.status_code == 404:
        return {}
    assert answer.status_code == 200, answer.text
    return {lot["job_id"]: lot for lot in answer.json["routing"]["lots"]}


def test_a_lawn_of_the_other_yard_that_a_crew_mows_is_mown_once_and_aboard_its_vehicle(north):
    yard = north
    assert yard.planned in of_yard(yard, yard.second["id"])
    cut = yard.mow(yard.shared, at="11:30")
    assert cut == yard.planned
    job = yard.client.get(f"/jobs/{cut}").json
    assert (job["state"], job["depot_id"]) == ("mown", yard.ids["depots"])
    assert job["vehicle_id"] == yard.ids["vehicles"]
    assert cut in of_yard(yard, yard.ids["depots"])
    assert cut not in of_yard(yard, yard.second["id"])
    jobs = yard.client.get(f"/jobs?lawn_id={yard.shared}").json["items"]
    assert [one["id"] for one in jobs] == [yard.planned]


def test_the_yard_whose_lawn_another_mowed_is_told_who_did(north):
    yard = north
    before = yard.client.get(f"/days/{DAY}/routing?depot_id={yard.second['id']}").json
    yard.plan_to_mow(yard.lawn("Rest"), at="16:00", **yard.theirs)
    yard.mow(yard.shared, at="11:30")
    after = yard.client.get(f"/days/{DAY}/routing?depot_id={yard.second['id']}").json
    assert after["id"] != before["id"]
    moved = yard.client.get(f"/day-plans/{after['id']}/changes").json["moved"]
    (told,) = [one for one in moved if one["job_id"] == yard.planned]
    assert "AB12 CDE" in told["why"]


def test_a_planned_job_that_is_given_to_the_other_yards_vehicle_is_of_that_yards_day(north):
    yard = north
    given = {"vehicle_id": yard.ids["vehicles"], "crew_id": yard.ids["crews"]}
    job = yard.patch(f"/jobs/{yard.planned}", given)
    assert job["depot_id"] == yard.ids["depots"]
    assert yard.planned in of_yard(yard, yard.ids["depots"])
    assert yard.planned not in of_yard(yard, yard.second["id"])

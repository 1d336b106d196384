"""Held grass and fresh grass in one body are forked over, or that taken back, together or not."""

import pytest

from service.api.books.sites import DEPOTS
from tests.crews import aboard_kg, another_crew
from tests.loading import Loading

ELSEWHERE = "The vehicle stands at another depot; a day has one place to start."


@pytest.fixture
def yard():
    return Loading()


def fresh_and_held(yard):
    fresh = yard.mow(yard.lawn("Fresh"), at="12:20")
    yard.routing()
    yard.load()
    return fresh


def vehicle_of(yard, job):
    return yard.client.get(f"/jobs/{job}").json["vehicle_id"]


def of_another_depot(yard):
    depot = yard.post("/depots", {**DEPOTS.example, "name": "Second depot"})
    names = ("payload_kg", "body_volume_m3")
    vehicle = yard.client.get(f"/vehicles/{yard.ids['vehicles']}").json
    body = {n: vehicle[n] for n in names} | {"depot_id": depot["id"], "registration": "CD34 EFG"}
    return yard.post("/vehicles", body)["id"]


def test_a_forking_over_of_which_some_was_tipped_since_is_not_taken_back_by_half(yard):
    fresh, other = fresh_and_held(yard), another_crew(yard)
    given = yard.say("given", to_vehicle_id=other["vehicle_id"])
    yard.world.clock.move(minutes=5)
    site = {"destination_kind": "compost_site", "destination_id": yard.ids["compost-sites"]}
    held = [{"job_id": yard.job, "hold_entry_id": yard.entry_id}]
    yard.say("tipped", **site, **other, parts=held)
    problem = yard.say("undo", undoes=given["id"], status=409)
    assert problem["code"] == "more_than_there_is"
    assert vehicle_of(yard, fresh) == other["vehicle_id"]
    yard.checked()


def test_nothing_is_forked_over_into_a_vehicle_of_another_depot_fresh_or_held(yard):
    fresh, stranger = fresh_and_held(yard), of_another_depot(yard)
    before = aboard_kg(yard.routing())
    yard.say("given", to_vehicle_id=stranger, status=422)
    held = [{"job_id": yard.job, "hold_entry_id": yard.entry_id}]
    problem = yard.say("given", to_vehicle_id=stranger, parts=held, status=422)
    (fault,) = problem["errors"]
    assert (fault["pointer"], fault["detail"]) == ("/to_vehicle_id", ELSEWHERE)
    assert vehicle_of(yard, fresh) == yard.ids["vehicles"]
    assert aboard_kg(yard.routing()) == before
    yard.checked()


def test_a_vehicle_of_another_depot_loads_nothing_of_a_bay(yard):
    stranger = of_another_depot(yard)
    said = {"hold_entry_id": yard.entry_id, "vehicle_id": stranger}
    problem = yard.say("loaded", status=422, **said)
    (fault,) = problem["errors"]
    assert (fault["pointer"], fault["detail"]) == ("/vehicle_id", ELSEWHERE)
    assert yard.at() == {"hold_bay": 1.0}

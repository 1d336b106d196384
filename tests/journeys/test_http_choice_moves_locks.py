"""A choice of place by hand moves no lock on other grass unless that is said and confirmed."""

import pytest

from service.api.books import clients
from tests.crews import drops
from tests.holds import Yard


@pytest.fixture
def yard():
    """Return a yard with two lots in one body, whose load the office locked to its bed."""
    yard = Yard()
    yard.patch(yard.bed, {"area": {"value": 300, "unit": "m2"}})
    basis = {"kind": "registered_exemption", "reference": "EX 1", "expires_on": "2027-05-01"}
    second = {**clients.BEDS.example, "name": "Second bed", "legal_basis": basis}
    second |= {"property_id": yard.ids["properties"], "area": {"value": 300, "unit": "m2"}}
    yard.second = yard.post("/beds", second)["id"]
    yard.first_job = yard.mow(yard.lawn("One"), at="11:00")
    yard.other_job = yard.mow(yard.lawn("Two"), at="11:20")
    (drop,) = drops(yard.routing())
    yard.lock = yard.patch(f"/loads/{drop['load_id']}", {"locked": True})
    yard.elsewhere = next(
        bed for bed in (yard.ids["beds"], yard.second) if bed != drop["destination_id"]
    )
    return yard


def code_of(yard, job):
    return yard.client.get(f"/jobs/{job}").json["lot_code"]


def choose(yard, **said):
    return yard.client.post("/place-choices", json={"destination_id": yard.elsewhere, **said})


def locked(yard):
    return yard.client.get("/loads?locked=true").json["items"]


def test_a_lot_that_is_locked_with_another_is_moved_only_when_that_is_confirmed(yard):
    refused = choose(yard, job_id=yard.first_job)
    assert (refused.status_code, refused.json["code"]) == (409, "locked_with_others")
    assert code_of(yard, yard.other_job) in refused.json["detail"]
    assert [one["destination_id"] for one in locked(yard)] == [yard.lock["destination_id"]]
    chosen = choose(yard, job_id=yard.first_job, move_locks=True)
    assert chosen.status_code == 201, chosen.text
    (moved,) = chosen.json["locks_moved"]
    assert moved["load_id"] == yard.lock["id"]
    assert code_of(yard, yard.other_job) in moved["lot_codes"]
    assert moved["destination_id"] == yard.lock["destination_id"]
    (drop,) = drops(yard.routing())
    assert drop["destination_id"] == yard.elsewhere


def test_who_only_asks_is_told_which_lock_it_would_move(yard):
    asked = choose(yard, job_id=yard.first_job, only_ask=True)
    assert asked.status_code == 200, asked.text
    assert [one["load_id"] for one in asked.json["locks_moved"]] == [yard.lock["id"]]
    assert len(locked(yard)) == 1


def test_whoever_names_the_locked_load_itself_means_its_lock(yard):
    chosen = choose(yard, load_id=yard.lock["id"])
    assert chosen.status_code == 201, chosen.text
    assert [one["load_id"] for one in chosen.json["locks_moved"]] == [yard.lock["id"]]


def test_a_lot_that_goes_along_with_the_one_that_was_named_is_told(yard):
    yard.patch(f"/loads/{yard.lock['id']}", {"locked": False})
    chosen = choose(yard, job_id=yard.first_job, only_ask=True)
    (along,) = chosen.json["drawn_in"]
    assert along["lot_code"] == code_of(yard, yard.other_job)
    assert (along["was_for"] != along["goes_to"], along["is_spoiled"]) == (True, False)
    assert chosen.json["locks_moved"] == []

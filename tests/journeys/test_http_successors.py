"""A load that no plan has any more leads to those that its lots are in."""

import pytest

from tests.crews import Crew, drops

LEADS = "its lots are in /loads/{} now"


@pytest.fixture
def crew():
    return Crew(bay=True)


@pytest.fixture
def loads(crew):
    """Return the ids of a load, and of the one that a plan made of its lots since."""
    crew.mow(crew.lawn("Front"), at="10:00")
    (old,) = drops(crew.read())
    crew.world.clock.move(minutes=5)
    crew.mow(crew.lawn("Back"), at="10:30")
    (new,) = drops(crew.read())
    assert old["load_id"] != new["load_id"]
    return old["load_id"], new["load_id"]


def test_a_superseded_load_names_those_its_lots_are_in_wherever_it_is_read(crew, loads):
    old, new = loads
    told = crew.client.get(f"/loads/{old}")
    assert (told.json["state"], told.json["successor_ids"]) == ("superseded", [new])
    assert crew.client.get(f"/loads/{new}").json["successor_ids"] == []
    listed = {one["id"]: one["successor_ids"] for one in crew.client.get("/loads").json["items"]}
    assert listed == {old: [new], new: []}
    unlocked = crew.patch(f"/loads/{old}", {"locked": False})
    assert unlocked["successor_ids"] == [new]


def test_what_follows_a_superseded_load_is_told_anew_though_it_is_of_the_same_version(crew, loads):
    old, new = loads
    tag = crew.client.get(f"/loads/{old}").headers["ETag"]
    crew.patch(f"/loads/{new}", {"state": "refused", "refusal_reason": "It smells."})
    again = crew.client.get(f"/loads/{old}", headers={"If-None-Match": tag})
    assert (again.status_code, again.json["successor_ids"]) == (200, [])


def test_what_is_refused_of_a_superseded_load_says_where_its_lots_are(crew, loads):
    old, new = loads
    where = LEADS.format(new)
    for state in ("delivered", "under_way"):
        assert where in crew.patch(f"/loads/{old}", {"state": state}, status=409)["detail"]
    note = crew.client.post(f"/loads/{old}/delivery-notes")
    assert (note.status_code, where in note.json["detail"]) == (409, True), note.text
    choice = {"load_id": old, "destination_id": crew.ids["beds"]}
    chosen = crew.client.post("/place-choices", json=choice)
    assert (chosen.status_code, where in chosen.json["detail"]) == (409, True), chosen.text


def test_a_superseded_load_whose_lots_are_in_none_says_so(crew, loads):
    old, new = loads
    crew.patch(f"/loads/{new}", {"state": "refused", "refusal_reason": "It smells."})
    refused = crew.patch(f"/loads/{old}", {"state": "delivered"}, status=409)
    assert "its lots are in no load now" in refused["detail"]


def test_a_superseded_load_is_not_weighed(crew, loads):
    old, new = loads
    ticket = {"weighed_net": {"value": 20, "unit": "kg"}, "weigh_ticket": "W-1"}
    refused = crew.patch(f"/loads/{old}", ticket, status=409)
    assert LEADS.format(new) in refused["detail"]

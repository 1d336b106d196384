"""The owner's evening: sums, what is open, what nobody knows, and keys that end."""

import csv
import io
import re

import pytest

from service.api.books import crews
from service.core.callers.access import Role
from tests.screens import OURS, joined


@pytest.fixture
def owner(world, yard):
    return joined(world, yard, "owner")


def deliver(yard, **more):
    load = f"/loads/{yard.ids['loads']}"
    change = {"state": "delivered", **more}
    answer = yard.client.patch(load, json=change, headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.text
    return answer.json


def test_the_evening_adds_up_what_stayed_and_names_what_is_open_and_unknown(world, yard, owner):
    assert "No load has ended on this day" in owner.get("/screens/evening").text
    deliver(yard)
    page = owner.get("/screens/evening").text
    assert re.search(r"<strong>Bed</strong>: 1 load,", page)
    # What is to be done later is no open item; when its time is over, it is one.
    unended = "planned or on the way, with no end on record"
    assert unended not in page
    assert re.search(r"Still to come, as planned: \d+ loads? to tip.", page)
    world.clock.move(hours=12)
    late = owner.get("/screens/evening?day=2026-05-24").text
    assert unended in late
    assert "Still to come" not in late
    assert "What 1 of 1 tipped loads weighed" in page
    assert "What clients say to 1 note: nobody has answered." in page
    assert "Polski" in page
    assert "a machine wrote it, no speaker read it" in page


def test_a_weight_stands_beside_the_estimate(yard, owner):
    weighed = {"value": 12, "unit": "kg"}
    deliver(yard, weighed_net=weighed, weigh_ticket="W-1")
    page = owner.get("/screens/evening").text
    assert "1 weighed, together" in page
    assert "estimated" in page


def test_a_weight_that_was_set_aside_is_in_no_sum(yard, owner):
    weighed = {"weighed_net": {"value": 12, "unit": "kg"}, "weigh_ticket": "W-1"}
    deliver(yard, **weighed, ticket_review="set_aside")
    page = owner.get("/screens/evening").text
    assert "weighed, together" not in page
    assert "What 1 of 1 tipped loads weighed" in page


def test_the_table_is_read_by_a_spreadsheet_and_holds_no_formula(yard, owner):
    deliver(yard, weighed_net={"value": 12, "unit": "kg"}, weigh_ticket="=1+1")
    answer = owner.get("/screens/evening.csv")
    assert answer.mimetype == "text/csv"
    rows = list(csv.DictReader(io.StringIO(answer.text.lstrip("\ufeff"))))
    (row,) = [one for one in rows if one["state"] == "delivered"]
    assert (row["weighed_net_kg"], row["weigh_ticket"]) == ("12.0", "'=1+1")
    assert float(row["mass_low_kg"]) <= float(row["mass_likely_kg"]) <= float(row["mass_high_kg"])


def test_the_table_names_vehicle_and_place_also_where_the_plan_moved_on(yard, owner):
    deliver(yard)
    other = {**crews.VEHICLES.example, "depot_id": yard.ids["depots"], "registration": "ZZ99 ZZZ"}
    vehicle = yard.client.post("/vehicles", json=other).json["id"]
    bed = yard.client.get(f"/loads/{yard.ids['loads']}").json["destination_id"]
    mown = yard.job(lawn_id=yard.another_lawn(), vehicle_id=vehicle)
    job = yard.client.post("/jobs", json=mown).json["id"]
    tip = {
        "parts": [{"job_id": job, "share": 1}],
        "vehicle_id": vehicle,
        "destination_kind": "bed",
        "destination_id": bed,
        "done_at": "2026-05-24T11:00:00Z",
    }
    kept = yard.client.post("/loads", json=tip, headers={"Change-Reason": "It lies there."})
    assert kept.status_code == 201, kept.text
    text = owner.get("/screens/evening.csv").text
    rows = list(csv.DictReader(io.StringIO(text.lstrip("\ufeff"))))
    (row,) = [one for one in rows if one["load_id"] == kept.json["id"]]
    assert (row["vehicle"], row["vehicle_id"]) == ("ZZ99 ZZZ", vehicle)
    assert (row["destination_id"], bool(row["destination"])) == (bed, True)
    assert all(one["vehicle"] and one["destination"] for one in rows)


def test_somebody_who_is_called_what_they_are_is_named_once(yard, owner):
    yard.client.post("/sessions", json={"seat": "owner", "name": "Owner"})
    page = owner.get("/screens/people").text
    assert "<strong>Owner</strong>:" in page
    assert "<strong>Dana</strong>, owner" in page


def test_an_owner_ends_a_key_and_nobody_else_sees_them(world, yard, owner):
    with world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
    program = world.client(firm.id, Role.INTEGRATOR)
    assert program.get("/crews").status_code == 200
    with world.open_unit_of_work() as unit:
        key = next(
            one
            for one in unit.api_keys.all(firm.id)
            if one.name == "test" and one.role is Role.INTEGRATOR
        )
    address = f"/screens/evening/keys/{key.id}/end"
    office = joined(world, yard, "dispatcher")
    assert office.post(address, headers=OURS).status_code == 403
    assert office.get("/screens/evening").status_code == 403
    assert owner.post(address, headers=OURS).status_code == 303
    assert program.get("/crews").status_code == 401
    assert "; ended on" in owner.get("/screens/evening").text

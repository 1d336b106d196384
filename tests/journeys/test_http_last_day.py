"""A vehicle that was sold and a crew that left: in no plan, no list and no job of later days."""

import pytest

from tests.crews import DAY, another_crew
from tests.holds import Yard
from tests.outages import warnings

NEXT_DAY = "2026-05-25"


@pytest.fixture
def yard():
    yard = Yard()
    yard.spare = another_crew(yard)
    return yard


def faults(answer):
    assert answer.status_code == 422, answer.text
    return {(one["pointer"], one["code"]) for one in answer.json["errors"]}


def job(yard, at, **fields):
    return yard.client.post("/jobs", json=yard.yard.job(lawn_id=yard.lawn(at), **fields))


def planned(at):
    return {"state": "planned", "planned_at": at, "cut_at": None}


def test_no_job_of_a_later_day_names_what_is_not_the_firms_any_more(yard):
    yard.patch(f"/vehicles/{yard.spare['vehicle_id']}", {"used_until": DAY})
    yard.patch(f"/crews/{yard.spare['crew_id']}", {"used_until": DAY})
    refused = job(yard, "later", **yard.spare, **planned(f"{NEXT_DAY}T11:00:00+01:00"))
    names = {"/vehicle_id", "/crew_id"}
    assert faults(refused) == {(name, "no_longer_used") for name in names}
    last = job(yard, "last", **yard.spare, **planned(f"{DAY}T16:00:00+01:00"))
    assert last.status_code == 201, last.text
    later = {"planned_at": f"{NEXT_DAY}T11:00:00+01:00"}
    patched = yard.client.patch(f"/jobs/{last.json['id']}", json=later, headers={"If-Match": "*"})
    assert faults(patched) == {(name, "no_longer_used") for name in names}


def test_it_has_no_last_day_before_work_that_is_planned_for_it(yard):
    lot = job(yard, "later", **yard.spare, **planned(f"{NEXT_DAY}T11:00:00+01:00")).json["lot_code"]
    for path, code in (
        (f"/vehicles/{yard.spare['vehicle_id']}", "vehicle_has_work"),
        (f"/crews/{yard.spare['crew_id']}", "crew_has_work"),
    ):
        refused = yard.patch(path, {"used_until": DAY}, 409)
        assert (refused["code"], lot in refused["detail"]) == (code, True)
        yard.patch(path, {"used_until": NEXT_DAY})


def test_a_vehicle_with_grass_aboard_was_not_sold_yesterday(yard):
    lot = yard.client.get(f"/jobs/{yard.mow(yard.lawn('Front'), at='11:00')}").json["lot_code"]
    vehicle = f"/vehicles/{yard.ids['vehicles']}"
    assert lot in yard.patch(vehicle, {"used_until": "2026-05-23"}, 409)["detail"]
    yard.patch(vehicle, {"used_until": DAY})


def test_who_could_help_is_no_vehicle_that_was_sold(yard):
    yard.mow(yard.lawn("Front"), at="11:00")
    yard.plan_to_mow(yard.lawn("Back"))
    out = {"vehicle_id": yard.ids["vehicles"], "reason": "Gearbox."}
    yard.post("/vehicle-outages", out | {"out_since": yard.world.clock.now().isoformat()})
    (told,) = warnings(yard.routing(), "nobody_takes_over")
    assert "(Second)" in told["why"]
    yard.patch(f"/crews/{yard.spare['crew_id']}", {"used_until": "2026-05-23"})
    (told,) = warnings(yard.routing(), "nobody_takes_over")
    assert "AB12 CDE" in told["why"]
    assert "(Second)" not in told["why"]
    yard.patch(f"/vehicles/{yard.spare['vehicle_id']}", {"used_until": "2026-05-23"})
    (told,) = warnings(yard.routing(), "nobody_takes_over")
    assert "a vehicle that can" in told["why"]


def test_a_job_for_a_vehicle_that_is_out_by_then_is_answered_so(yard):
    out = {"vehicle_id": yard.spare["vehicle_id"], "reason": "Gearbox."}
    outage = yard.post("/vehicle-outages", out | {"out_since": f"{DAY}T14:00:00+01:00"})
    later = {**yard.spare, **planned(f"{DAY}T16:00:00+01:00")}
    (told,) = job(yard, "later", **later).json["warnings"]
    assert (told["code"], told["facts"]["outage_id"]) == ("vehicle_out", outage["id"])
    assert "Gearbox" in told["sentence"]
    before = job(yard, "before", **yard.spare, **planned(f"{DAY}T13:30:00+01:00")).json
    assert before["warnings"] == []
    at = {"planned_at": f"{DAY}T15:00:00+01:00"}
    amended = yard.patch(f"/jobs/{before['id']}", at)
    assert [one["code"] for one in amended["warnings"]] == ["vehicle_out"]
    yard.patch(f"/vehicle-outages/{outage['id']}", {"back_at": f"{DAY}T15:00:00+01:00"})
    assert yard.patch(f"/jobs/{before['id']}", {"remarks": "Gate."})["warnings"] == []


def test_nobody_asks_whether_a_vehicle_that_was_sold_is_back(yard):
    out = {"vehicle_id": yard.spare["vehicle_id"], "reason": "Scrapped."}
    yard.post("/vehicle-outages", out | {"out_since": yard.world.clock.now().isoformat()})
    yard.world.clock.move(minutes=24 * 60)
    asked = f"/days/{NEXT_DAY}/decisions?depot_id={yard.ids['depots']}"
    codes = [one["code"] for one in yard.client.get(asked).json["decisions"]]
    assert "vehicle_still_out" in codes
    yard.patch(f"/vehicles/{yard.spare['vehicle_id']}", {"used_until": DAY})
    assert yard.client.get(asked).json["decisions"] == []
    late = yard.client.post(
        "/vehicle-outages", json=out | {"out_since": f"{NEXT_DAY}T13:00:00+01:00"}
    )
    assert ("/out_since", "no_longer_used") in faults(late)

"""A vehicle is said to be out: the record, who may keep it, and what it is asked besides."""

import jsonschema

from service.api.work.days.moved_shape import WHAT_IF
from service.core.callers.access import Role
from tests.depots import DAY, NOW, Depot
from tests.holds import DAY as TODAY
from tests.holds import Yard
from tests.outages import (
    at_ten,
    mow,
    report,
    stops,
    told,
)
from tests.worlds import make_world


def test_a_breakdown_and_its_repair_are_the_same_over_both_databases(world):
    depot = Depot(vehicles=3, world=world)
    at_ten(depot)
    mow(depot, depot.jobs[0])
    depot.plan()
    broken = depot.vehicles[0][0]
    place = {"type": "Point", "coordinates": [-1.2, 51.7]}
    outage = report(depot, broken, point=place, remarks="By the bridge.")
    gone = depot.read()
    ((_, pick_up),) = stops(gone, "pick_up")
    assert pick_up["taken_over_from_id"] == broken
    kept = depot.client.get(f"/vehicle-outages/{outage['id']}")
    assert (kept.json, kept.headers["ETag"]) == (outage, '"1"')
    depot.amend(f"/vehicle-outages/{outage['id']}", {"back_at": f"{DAY}T13:00:00+01:00"})
    assert stops(depot.read(), "pick_up") == []
    (change,) = depot.client.get(f"/vehicle-outages/{outage['id']}/history").json["items"]
    assert change["changes"] == {"back_at": {"was": None, "became": f"{DAY}T12:00:00Z"}}


def test_a_record_that_was_a_mistake_is_deleted_and_the_day_is_as_before(depot):
    before = depot.plan()
    outage = report(depot, depot.vehicles[0][0])
    path = f"/vehicle-outages/{outage['id']}"
    assert stops(depot.read(), "job") != stops(before, "job")
    assert depot.client.delete(path).status_code == 428
    assert depot.client.delete(path, headers={"If-Match": '"1"'}).status_code == 204
    assert depot.client.get(path).status_code == 404
    after = depot.plan()
    assert after["cost_cents"] <= before["cost_cents"] + 1000
    assert all(not stop["taken_over_from_id"] for _, stop in stops(after, "job"))


def test_announced_ahead_it_does_what_is_planned_for_before(depot):
    depot.plan()
    report(depot, depot.vehicles[0][0], out_since=f"{DAY}T10:30:00+01:00")
    after = depot.read()
    takers = {stop["job_id"]: vehicle for vehicle, stop in stops(after, "job")}
    assert takers[depot.jobs[0]] == depot.vehicles[0][0] != takers[depot.jobs[1]]
    own = [v for v, _ in stops(after, "drop") if v == depot.vehicles[0][0]]
    assert own
    assert told(after, depot.vehicles[0][0])["out"]["stands"] is False


def test_when_the_hour_it_was_announced_for_comes_its_load_is_fetched(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    depot.plan()
    report(depot, depot.vehicles[0][0], out_since=f"{DAY}T10:30:00+01:00")
    before = depot.read()
    assert stops(before, "pick_up") == []
    assert depot.read()["id"] == before["id"]
    depot.world.clock.move(hours=1)
    after = depot.read()
    assert after["id"] != before["id"]
    assert len(stops(after, "pick_up")) == 1
    assert told(after, depot.vehicles[0][0])["out"]["stands"] is True
    assert depot.read()["id"] == after["id"]


def test_a_lost_vehicle_that_is_supposed_is_answered_like_a_real_one(depot):
    depot.plan()
    broken = depot.vehicles[0][0]
    body = {"depot_id": depot.ids["depots"], "day": DAY, "lost_vehicle_ids": [broken]}
    supposed = depot.client.post("/what-ifs", json=body).json
    jsonschema.Draft202012Validator(WHAT_IF).validate(supposed)
    assert supposed["left_behind_high_kg"] == {"before": 0, "after": 0, "difference": 0}
    moved = {one["job_id"]: one["code"] for one in supposed["moved"]}
    assert all(moved[job] == "vehicle_out" for job in depot.jobs[:2])
    assert depot.client.get("/vehicle-outages").json["items"] == []
    report(depot, broken, out_since=f"{DAY}T00:00:00+01:00")
    assert depot.plan()["cost_cents"] == supposed["cost_cents"]["after"]


def test_supposing_lost_what_is_out_already_changes_nothing_and_tells_it_once(depot):
    broken, second = depot.vehicles[0][0], depot.vehicles[1][0]
    report(depot, broken, out_since=f"{DAY}T06:30:00+01:00")
    report(depot, second, out_since=f"{DAY}T10:30:00+01:00")
    body = {"depot_id": depot.ids["depots"], "day": DAY}

    def outs(*lost):
        supposed = depot.client.post(
            "/what-ifs", json={**body, "lost_vehicle_ids": lost, "with_routing": True}
        ).json
        said = [
            w["why"].partition(" (")[0]
            for w in supposed["routing"]["warnings"]
            if w["code"] == "vehicle_out"
        ]
        return supposed["moved"], sorted(said)

    moved, said = outs(broken)
    assert moved == []
    assert said == ["V00 has been out since 06:30", "V01 is out from 10:30 on"]
    moved, said = outs(broken, second)
    assert {one["job_id"] for one in moved} >= {depot.jobs[2]}
    assert said == ["V00 has been out since 06:30", "V01 has been out since 00:00"]


def test_a_plan_is_found_by_its_own_day(depot):
    asked = {"depot_id": depot.ids["depots"], "day": DAY}
    made = depot.client.post("/day-plans", json=asked).json
    (found,) = depot.client.get(f"/day-plans?day={DAY}").json["items"]
    assert found["id"] == made["id"]


def test_a_retry_keeps_one_record_and_a_second_report_is_refused(depot):
    key = {"Idempotency-Key": "the-phone-rang"}
    vehicle = depot.vehicles[0][0]
    first = report(depot, vehicle, headers=key)
    assert report(depot, vehicle, headers=key)["id"] == first["id"]
    again = report(depot, vehicle, status=422, out_since=f"{DAY}T11:00:00+01:00")
    assert [(f["pointer"], f["code"]) for f in again["errors"]] == [("/out_since", "already_out")]
    listed = depot.client.get(f"/vehicle-outages?day={DAY}&vehicle_id={vehicle}").json["items"]
    assert [one["id"] for one in listed] == [first["id"]]
    depot.amend(f"/vehicle-outages/{first['id']}", {"back_at": f"{DAY}T10:45:00+01:00"})
    report(depot, vehicle, out_since=f"{DAY}T11:00:00+01:00")


def test_a_report_before_one_that_is_kept_is_told_where_they_meet(depot):
    vehicle = depot.vehicles[0][0]
    report(depot, vehicle, out_since=f"{DAY}T11:00:00+01:00")
    open_end = report(depot, vehicle, status=422)
    late = report(depot, vehicle, status=422, back_at=f"{DAY}T11:30:00+01:00")
    for refused in (open_end, late):
        (fault,) = refused["errors"]
        assert (fault["pointer"], fault["code"]) == ("/back_at", "already_out")
        assert "out from 11:00 on" in fault["detail"]
    report(depot, vehicle, back_at=f"{DAY}T10:30:00+01:00")


def test_faulty_input_names_every_field(depot):
    body = {"vehicle_id": depot.ids["depots"], "out_since": "ten", "reason": "", "point": 5}
    answer = depot.client.post("/vehicle-outages", json={**body, "day": DAY})
    assert answer.status_code == 422
    assert {fault["pointer"] for fault in answer.json["errors"]} == {
        "/vehicle_id",
        "/out_since",
        "/reason",
        "/point",
        "/day",
    }
    kept = report(depot, depot.vehicles[1][0])
    wrong = {"vehicle_id": depot.ids["depots"], "reason": "", "day": DAY}
    patched = depot.client.patch(f"/vehicle-outages/{kept['id']}", json=wrong, headers=NOW)
    assert patched.status_code == 422
    assert {fault["pointer"] for fault in patched.json["errors"]} == {
        "/vehicle_id",
        "/reason",
        "/day",
    }
    early = report(depot, depot.vehicles[0][0], status=422, back_at=f"{DAY}T09:00:00+01:00")
    assert [fault["pointer"] for fault in early["errors"]] == ["/back_at"]


def test_whoever_plans_may_say_so_and_a_program_may_read_it():
    world = make_world()
    firm = world.firm()
    crew = world.client(firm, Role.INTEGRATOR)
    assert crew.get("/vehicle-outages").status_code == 200
    assert crew.post("/vehicle-outages", json={}).status_code == 403
    assert world.client(firm, Role.DISPATCHER).post("/vehicle-outages", json={}).status_code == 422


def test_orders_are_proposed_to_those_who_take_nothing_over(depot):
    depot.plan()
    report(depot, depot.vehicles[0][0], out_since=f"{DAY}T06:30:00+01:00")
    takers = {v for v, stop in stops(depot.read(), "job") if stop["taken_over_from_id"]}
    body = {"depot_id": depot.ids["depots"], "day": DAY}
    everybody = [vehicle for vehicle, _ in depot.vehicles]
    answer = depot.client.post("/order-proposals", json={**body, "vehicle_ids": everybody})
    assert answer.status_code == 200, answer.text
    named = {one["vehicle_id"] for one in answer.json["vehicles"]}
    assert named.isdisjoint(takers)


def test_a_vehicle_on_record_as_out_can_not_be_deleted(depot):
    spare = depot.ids["vehicles"]
    depot.client.delete(f"/crews/{depot.ids['crews']}", headers=NOW)
    outage = report(depot, spare)
    refused = depot.client.delete(f"/vehicles/{spare}", headers=NOW)
    assert refused.status_code == 409
    depot.client.delete(f"/vehicle-outages/{outage['id']}", headers=NOW)
    assert depot.client.delete(f"/vehicles/{spare}", headers=NOW).status_code == 204


def test_what_was_to_be_left_on_its_lawn_waits_for_a_word_when_its_vehicle_is_out():
    yard = Yard()
    job = yard.plan_to_mow(yard.lawn("Left"), clippings="left")
    out = {"vehicle_id": yard.ids["vehicles"], "out_since": f"{TODAY}T13:00:00+01:00"}
    yard.post("/vehicle-outages", {**out, "reason": "The clutch is gone."})
    asked = f"/days/{TODAY}/decisions?depot_id={yard.ids['depots']}"
    yard.routing()
    told = yard.client.get(asked)
    assert told.status_code == 200, told.text
    assert job in told.text

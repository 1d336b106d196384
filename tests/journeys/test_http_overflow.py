"""A dispatcher reads how sure the plan is, over HTTP, over both databases."""

import pytest

DAY = "2026-05-24"
ANY_VERSION = {"If-Match": "*"}


def routing(yard):
    return yard.client.get(f"/days/{DAY}/routing?depot_id={yard.ids['depots']}").json["routing"]


def test_a_vehicle_planned_to_the_brim_is_warned_of_and_a_larger_one_is_not(yard):
    client, ids = yard.client, yard.ids
    planned = {"state": "planned", "planned_at": f"{DAY}T14:00:00+01:00", "cut_at": None}
    job = client.post("/jobs", json=yard.job(**planned))
    assert job.status_code == 201, job.text
    (vehicle,) = routing(yard)["vehicles"]
    assert vehicle["payload_overflow_chance"] == 0.0
    high_kg = client.get(f"/jobs/{job.json['id']}").json["estimate"]["mass_kg"]["high"]
    answer = client.patch(
        f"/vehicles/{ids['vehicles']}", json={"payload_kg": high_kg + 1}, headers=ANY_VERSION
    )
    assert answer.status_code == 200, answer.text
    told = routing(yard)
    (vehicle,) = told["vehicles"]
    assert vehicle["payload_overflow_chance"] == pytest.approx(0.1, abs=0.01)
    (warning,) = (w for w in told["warnings"] if w["code"] == "vehicle_may_overflow")
    assert warning["vehicle_id"] == ids["vehicles"]
    assert all(0 <= row["overflow_chance"] <= 1 for row in told["destinations"])
    assert told["overflow"]["warned_above"]["vehicle"] < vehicle["payload_overflow_chance"]


def test_a_supposed_day_tells_its_chances_as_well(yard):
    client, ids = yard.client, yard.ids
    planned = {"state": "planned", "planned_at": f"{DAY}T14:00:00+01:00", "cut_at": None}
    assert client.post("/jobs", json=yard.job(**planned)).status_code == 201
    now = routing(yard)
    supposed = client.post(
        "/what-ifs",
        json={"depot_id": ids["depots"], "day": DAY, "rain": True, "with_routing": True},
    )
    assert supposed.status_code == 200, supposed.text
    then = supposed.json["routing"]
    assert then["overflow"] == now["overflow"]
    before, after = (told["vehicles"][0]["body_overflow_chance"] for told in (now, then))
    assert 0 <= before <= after <= 1

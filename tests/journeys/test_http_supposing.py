"""A dispatcher's telephone rings: what moved, and what if."""

from tests.worlds import furnish, make_world

DAY = "2026-05-24"


def test_a_supposed_closure_and_a_real_change_are_told_lot_by_lot():
    world = make_world()
    yard = furnish(world)
    client, ids = yard.client, yard.ids
    assert client.post("/jobs", json=yard.job()).status_code == 201
    first = client.post("/day-plans", json={"depot_id": ids["depots"], "day": DAY})
    assert first.status_code == 201, first.text
    supposed = client.post(
        "/what-ifs",
        json={
            "depot_id": ids["depots"],
            "day": DAY,
            "closed_site_ids": [ids["compost-sites"]],
            "rain": True,
        },
    )
    assert supposed.status_code == 200, supposed.text
    assert supposed.json["cost_cents"]["before"] == first.json["cost_cents"]
    body = yard.job(lawn_id=yard.another_lawn())
    assert client.post("/jobs", json=body).status_code == 201
    again = client.get(f"/days/{DAY}/routing?depot_id={ids['depots']}").json
    changes = client.get(f"/day-plans/{again['id']}/changes").json
    assert changes["since_id"] == first.json["id"]
    assert "lot_new" in {moved["code"] for moved in changes["moved"]}


def test_supposing_a_stranger_names_it():
    world = make_world()
    yard = furnish(world)
    answer = yard.client.post(
        "/what-ifs",
        json={
            "depot_id": yard.ids["depots"],
            "day": DAY,
            "closed_site_ids": [yard.ids["depots"]],
        },
    )
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json["errors"]] == ["/closed_site_ids/0"]


def test_what_cannot_be_read_hides_no_stranger():
    yard = furnish(make_world())
    stranger = yard.ids["depots"]
    work = {"lawn_id": stranger, "vehicle_id": "z", "planned_at": "x", "height_removed_mm": 20}
    answer = yard.client.post(
        "/what-ifs",
        json={
            "depot_id": yard.ids["depots"],
            "day": DAY,
            "lost_vehicle_ids": ["x", stranger],
            "closed_site_ids": [yard.ids["compost-sites"], stranger],
            "refusing_bed_ids": [stranger],
            "added_bed": {"property_id": stranger, "area_m2": "wide"},
            "added_jobs": [work],
            "hired_vehicles": [{"payload_kg": 1, "body_volume_m3": 2, "job_ids": [stranger]}],
            "rain": "yes",
        },
    )
    assert answer.status_code == 422
    assert sorted(fault["pointer"] for fault in answer.json["errors"]) == [
        "/added_bed/area_m2",
        "/added_bed/property_id",
        "/added_jobs/0/lawn_id",
        "/added_jobs/0/planned_at",
        "/added_jobs/0/vehicle_id",
        "/closed_site_ids/1",
        "/hired_vehicles/0/job_ids/0",
        "/hired_vehicles/0/payload_kg",
        "/lost_vehicle_ids/0",
        "/lost_vehicle_ids/1",
        "/rain",
        "/refusing_bed_ids/0",
    ]


def test_what_cannot_be_read_hides_no_contradiction():
    yard = furnish(make_world())
    job = yard.job(state="planned", planned_at=f"{DAY}T15:00:00+01:00")
    del job["cut_at"]
    job = yard.client.post("/jobs", json=job).json["id"]
    work = {"lawn_id": yard.ids["lawns"], "vehicle_id": yard.ids["vehicles"]}
    late = {**work, "planned_at": "2026-05-26T09:00:00Z", "height_removed_mm": "x"}
    hired = {"payload_kg": 900, "body_volume_m3": 3, "job_ids": [job]}
    answer = yard.client.post(
        "/what-ifs",
        json={
            "depot_id": yard.ids["depots"],
            "day": DAY,
            "added_jobs": [late],
            "hired_vehicles": [hired, hired],
            "shift_ends": "00:01",
            "rain": "yes",
        },
    )
    assert answer.status_code == 422
    assert sorted(fault["pointer"] for fault in answer.json["errors"]) == [
        "/added_jobs/0/height_removed_mm",
        "/added_jobs/0/planned_at",
        "/hired_vehicles/0/job_ids/0",
        "/hired_vehicles/1/job_ids/0",
        "/rain",
        "/shift_ends",
    ]


def test_the_plan_that_stands_is_told_beside_a_day_with_nothing_supposed():
    yard = furnish(make_world())
    body = {"depot_id": yard.ids["depots"], "day": DAY}
    assert yard.client.post("/jobs", json=yard.job()).status_code == 201
    assert yard.client.post("/what-ifs", json=body).json["standing"] is None
    plan = yard.client.post("/day-plans", json=body).json
    told = yard.client.post("/what-ifs", json=body).json
    standing = told["standing"]
    assert (standing["day_plan_id"], standing["revision"]) == (plan["id"], plan["revision"])
    assert standing["cost_cents"] == plan["cost_cents"]
    assert "searched whole" in standing["sentence"]
    assert told["cost_cents"]["difference"] == 0


def test_one_more_bed_and_less_room_at_a_site_are_supposed_with_plain_numbers():
    world = make_world()
    yard = furnish(world)
    client, ids = yard.client, yard.ids
    sunday = {"weekday": 6, "opens": "08:00", "closes": "17:00", "last_load": "16:30"}
    opened = client.patch(
        f"/compost-sites/{ids['compost-sites']}",
        json={"hours": [sunday]},
        headers={"If-Match": '"1"'},
    )
    assert opened.status_code == 200, opened.text
    assert client.post("/jobs", json=yard.job()).status_code == 201
    answer = client.post(
        "/what-ifs",
        json={
            "depot_id": ids["depots"],
            "day": DAY,
            "site_capacities": [{"compost_site_id": ids["compost-sites"], "capacity_kg": 50}],
            "added_bed": {"property_id": ids["properties"], "area_m2": 60.5},
            "with_routing": True,
        },
    )
    assert answer.status_code == 200, answer.text
    rooms = answer.json["routing"]["destinations"]
    assert "supposed bed" in {room["name"] for room in rooms}
    (site,) = (room for room in rooms if room["destination_id"] == ids["compost-sites"])
    assert site["room_high_kg"] <= 50


def test_a_number_written_as_text_is_not_supposed():
    yard = furnish(make_world())
    answer = yard.client.post(
        "/what-ifs",
        json={
            "depot_id": yard.ids["depots"],
            "day": DAY,
            "added_bed": {"property_id": yard.ids["properties"], "area_m2": "60"},
        },
    )
    assert answer.status_code == 422
    assert [fault["pointer"] for fault in answer.json["errors"]] == ["/added_bed/area_m2"]


def test_every_stranger_that_is_supposed_is_named_where_it_was_sent():
    yard = furnish(make_world())
    stranger = yard.ids["depots"]
    answer = yard.client.post(
        "/what-ifs",
        json={
            "depot_id": stranger,
            "day": DAY,
            "closed_site_ids": [stranger],
            "site_capacities": [{"compost_site_id": stranger, "capacity_kg": 50}],
            "lost_vehicle_ids": [stranger],
            "refusing_bed_ids": [stranger],
            "added_bed": {"property_id": stranger, "area_m2": 60},
        },
    )
    assert answer.status_code == 422, answer.text
    assert {fault["pointer"] for fault in answer.json["errors"]} == {
        "/closed_site_ids/0",
        "/site_capacities/0/compost_site_id",
        "/lost_vehicle_ids/0",
        "/refusing_bed_ids/0",
        "/added_bed/property_id",
    }


def test_more_work_a_hired_vehicle_and_longer_hours_are_supposed_and_nothing_is_kept(world):
    yard = furnish(world)
    client, ids = yard.client, yard.ids
    planned = {"state": "planned", "cut_at": None, "planned_at": f"{DAY}T13:00:00+01:00"}
    job = client.post("/jobs", json={k: v for k, v in yard.job(**planned).items() if v})
    assert job.status_code == 201, job.text
    body = {"depot_id": ids["depots"], "day": DAY}
    added = {
        "lawn_id": ids["lawns"],
        "vehicle_id": ids["vehicles"],
        "planned_at": f"{DAY}T15:00:00+01:00",
        "height_removed_mm": 30,
        "treatment_history": "none_recorded",
    }
    hired = {"payload_kg": 900, "body_volume_m3": 5, "job_ids": [job.json["id"]]}
    work = {"added_jobs": [added], "hired_vehicles": [hired], "shift_ends": "20:00"}
    answer = client.post("/what-ifs", json={**body, **work})
    assert answer.status_code == 200, answer.text
    assert answer.json["routing"] is None
    assert answer.json["cost_cents"]["difference"] != 0
    whole = client.post("/what-ifs", json={**body, **work, "with_routing": True}).json["routing"]
    assert "hired 1" in {vehicle["registration"] for vehicle in whole["vehicles"]}
    assert len(whole["lots"]) == 2
    assert len(client.get("/jobs").json["items"]) == 1
    strange = {
        "added_jobs": [{**added, "lawn_id": ids["beds"], "planned_at": "2026-06-01T10:00:00Z"}],
        "hired_vehicles": [{**hired, "job_ids": [ids["beds"]]}],
        "shift_ends": "05:00",
    }
    refused = client.post("/what-ifs", json={**body, **strange})
    assert {fault["pointer"] for fault in refused.json["errors"]} == {
        "/added_jobs/0/lawn_id",
        "/added_jobs/0/planned_at",
        "/hired_vehicles/0/job_ids/0",
        "/shift_ends",
    }

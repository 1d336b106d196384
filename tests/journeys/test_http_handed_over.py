"""The lead of a crew is ill: one request hands its whole day over to another crew."""

from service.core.callers.access import Role
from tests.depots import DAY


def hand_over(depot, first, second, *, status=200, **more):
    said = {"day": DAY, "from_crew_id": first, "to_crew_id": second, **more}
    headers = {"Change-Reason": "The lead is ill."}
    answer = depot.client.post("/jobs/handovers", json=said, headers=headers)
    assert answer.status_code == status, answer.text
    return answer.json


def of_crew(depot, crew):
    items = depot.client.get(f"/jobs?crew_id={crew}&day={DAY}").json["items"]
    return {job["id"]: job["vehicle_id"] for job in items}


def test_all_planned_jobs_of_a_day_go_to_the_other_crew_and_its_vehicle(depot):
    depot.plan()
    (_, ill), (vehicle, well) = depot.vehicles[:2]
    moved = hand_over(depot, ill, well)
    assert set(moved["job_ids"]) == set(depot.jobs[:2])
    assert of_crew(depot, ill) == {}
    assert of_crew(depot, well) == dict.fromkeys(depot.jobs[:4], vehicle)
    (change,) = depot.client.get(f"/jobs/{depot.jobs[0]}/history").json["items"]
    assert change["reason"] == "The lead is ill."
    stops = [
        (told["vehicle_id"], stop["job_id"])
        for told in depot.read()["routing"]["vehicles"]
        for stop in told["stops"]
        if stop["kind"] == "job"
    ]
    assert {job for of, job in stops if of == vehicle} == set(depot.jobs[:4])


def test_the_other_crew_may_come_in_the_vehicle_of_who_is_ill(depot):
    (vehicle, ill), (_, well) = depot.vehicles[:2]
    hand_over(depot, ill, well, to_vehicle_id=vehicle)
    told = of_crew(depot, well)
    assert {told[job] for job in depot.jobs[:2]} == {vehicle}


def test_what_is_mown_stays_with_who_mowed_it(depot):
    (vehicle, ill), (_, well) = depot.vehicles[:2]
    depot.world.clock.move(hours=22)
    cut = {"state": "mown", "cut_at": f"{DAY}T09:30:00+01:00"}
    depot.amend(f"/jobs/{depot.jobs[0]}", cut)
    moved = hand_over(depot, ill, well)
    assert moved["job_ids"] == [depot.jobs[1]]
    assert of_crew(depot, ill) == {depot.jobs[0]: vehicle}


def test_sent_again_it_moves_nothing_more(depot):
    ill, well = depot.vehicles[0][1], depot.vehicles[1][1]
    hand_over(depot, ill, well)
    assert hand_over(depot, ill, well)["job_ids"] == []


def test_whatever_is_wrong_with_it_is_told_at_once_and_moves_nothing(depot):
    ill = depot.vehicles[0][1]
    nobody = "01900000-0000-7000-8000-00000000abcd"
    refused = hand_over(depot, nobody, nobody, status=422, to_vehicle_id=nobody)
    assert {one["pointer"] for one in refused["errors"]} == {
        "/from_crew_id",
        "/to_crew_id",
        "/to_vehicle_id",
    }
    refused = hand_over(depot, ill, ill, status=422)
    assert [one["pointer"] for one in refused["errors"]] == ["/to_crew_id"]
    bare = depot.keep("/crews", {"depot_id": depot.ids["depots"], "name": "On foot"})
    refused = hand_over(depot, ill, bare, status=422)
    assert [one["pointer"] for one in refused["errors"]] == ["/to_vehicle_id"]
    assert len(of_crew(depot, ill)) == 2


def test_a_crew_hands_no_day_over(depot):
    ill, well = depot.vehicles[0][1], depot.vehicles[1][1]
    key = depot.client.post(
        "/keys", json={"role": Role.CREW.value, "name": "Tablet", "crew_id": ill}
    )
    assert key.status_code == 201, key.text
    client = depot.world.app.test_client()
    answer = client.post(
        "/jobs/handovers",
        json={"day": DAY, "from_crew_id": ill, "to_crew_id": well},
        headers={"Authorization": f"Bearer {key.json['secret']}"},
    )
    assert answer.status_code == 403, answer.text

"""A crew has jobs but no order: it is proposed one, takes it, and the day follows."""

import random

import jsonschema
import pytest

from service.api.books import clients, crews
from service.api.desk.order_proposals import PROPOSAL
from tests.worlds import furnish, make_world

DAY = "2026-05-25"  # a Monday; the world's clock stands on the Sunday before
EIGHT = f"{DAY}T08:00:00+01:00"
ONE = f"{DAY}T13:00:00+01:00"


@pytest.fixture
def yard():
    return furnish(make_world())


def lawns(yard, count, *, seed=1):
    """Keep lawns here and there around the depot."""
    chance = random.Random(seed)  # noqa: S311 - repeatable, no secret
    depot = yard.client.get(f"/depots/{yard.ids['depots']}").json["point"]
    longitude, latitude = depot["coordinates"]
    found = []
    for number in range(count):
        place = [longitude + chance.uniform(-0.12, 0.12), latitude + chance.uniform(-0.08, 0.08)]
        point = {"type": "Point", "coordinates": place}
        home = {**clients.PROPERTIES.example, "client_id": yard.ids["clients"], "point": point}
        home = yard.client.post("/properties", json={**home, "name": f"House {number}"})
        assert home.status_code == 201, home.text
        lawn = {**clients.LAWNS.example, "property_id": home.json["id"]}
        found.append(yard.client.post("/lawns", json=lawn).json["id"])
    return found


def post(yard, lawn, planned_at=EIGHT, **fields):
    """Post a planned job and return it."""
    body = yard.job(lawn_id=lawn, state="planned", planned_at=planned_at, **fields)
    del body["cut_at"]
    answer = yard.client.post("/jobs", json=body)
    assert answer.status_code == 201, answer.text
    return answer.json


def propose(yard, **named):
    answer = yard.client.post(
        "/order-proposals", json={"depot_id": yard.ids["depots"], "day": DAY, **named}
    )
    assert answer.status_code == 200, answer.text
    jsonschema.Draft202012Validator(PROPOSAL).validate(answer.json)
    return answer.json


def routing(yard):
    answer = yard.client.get(f"/days/{DAY}/routing?depot_id={yard.ids['depots']}")
    assert answer.status_code == 200, answer.text
    return answer.json


def driven(told, vehicle_id):
    (vehicle,) = (v for v in told["vehicles"] if v["vehicle_id"] == vehicle_id)
    return [(s["job_id"], s["at"]) for s in vehicle["stops"] if s["kind"] == "job"]


def take(yard, proposal):
    """Amend every job that must be, as an app would."""
    for vehicle in proposal["vehicles"]:
        for job in vehicle["jobs"] if vehicle["proposed"] else []:
            if job["amend"]:
                answer = yard.client.patch(
                    f"/jobs/{job['job_id']}",
                    json={"planned_at": job["planned_at"]},
                    headers={"If-Match": f'"{job["version"]}"'},
                )
                assert answer.status_code == 200, answer.text


@pytest.mark.parametrize("planned_before", [False, True])
def test_a_proposal_that_is_taken_becomes_the_routing_at_the_cost_that_was_said(
    yard, planned_before
):
    posted = [post(yard, lawn)["id"] for lawn in lawns(yard, 6)]
    own = routing(yard) if planned_before else None
    proposal = propose(yard)
    (vehicle,) = proposal["vehicles"]
    order = [job["job_id"] for job in vehicle["jobs"]]
    assert proposal["proposed"]
    assert vehicle["proposed"]
    assert not vehicle["has_order"]
    assert sorted(order) == sorted(posted)
    assert proposal["gain_cents"] > 0
    assert vehicle["gain_cents"] == proposal["gain_cents"] == -proposal["cost_cents"]["difference"]
    times = [job["planned_at"] for job in vehicle["jobs"]]
    assert times == sorted(set(times))
    if own is not None:
        assert own["cost_cents"] == proposal["cost_cents"]["before"]
        by_position = sorted(vehicle["jobs"], key=lambda job: job["own_position"])
        told = [job for job, _ in driven(own["routing"], vehicle["vehicle_id"])]
        assert told == [job["job_id"] for job in by_position]
    take(yard, proposal)
    day = routing(yard)
    assert day["cost_cents"] == proposal["cost_cents"]["after"]
    told = [(job["job_id"], job["at"]) for job in vehicle["jobs"]]
    assert driven(day["routing"], vehicle["vehicle_id"]) == told
    assert driven(proposal["routing"], vehicle["vehicle_id"]) == told
    # It has an order now; nobody is left to be proposed one.
    assert propose(yard)["vehicles"] == []


def test_proposing_keeps_nothing(yard):
    for lawn in lawns(yard, 4):
        post(yard, lawn)
    before = routing(yard)
    assert propose(yard)["proposed"]
    assert routing(yard) == before


def test_a_crew_with_times_of_its_own_is_left_alone_unless_it_is_named(yard):
    for number, lawn in enumerate(lawns(yard, 6)):
        post(yard, lawn, planned_at=f"{DAY}T{8 + number:02}:00:00+01:00")
    left = propose(yard)
    assert left["vehicles"] == []
    assert not left["proposed"]
    assert left["gain_cents"] == 0
    by_crew = propose(yard, crew_ids=[yard.ids["crews"]])
    by_vehicle = propose(yard, vehicle_ids=[yard.ids["vehicles"]])
    assert by_crew["vehicles"] == by_vehicle["vehicles"]
    (vehicle,) = by_vehicle["vehicles"]
    assert vehicle["has_order"]
    assert vehicle["proposed"]
    take(yard, by_vehicle)
    assert routing(yard)["cost_cents"] == by_vehicle["cost_cents"]["after"]


def test_only_jobs_of_one_time_change_places_and_none_comes_before_its_time(yard):
    places = lawns(yard, 6, seed=3)
    morning = {post(yard, lawn)["id"] for lawn in places[:3]}
    late = {post(yard, lawn, planned_at=ONE)["id"] for lawn in places[3:]}
    (vehicle,) = propose(yard)["vehicles"]
    jobs = vehicle["jobs"]
    assert {job["job_id"] for job in jobs[:3]} == morning
    assert {job["job_id"] for job in jobs[3:]} == late
    assert all(job["planned_at"] >= ONE for job in jobs[3:])


def test_what_is_mown_stays_and_the_job_under_way_stays_first():
    world = make_world()
    yard = furnish(world)
    first, second, *rest = lawns(yard, 6)
    world.clock.move(hours=20)  # nine o'clock on the day, in London
    mown = yard.job(lawn_id=first, cut_at=f"{DAY}T08:30:00+01:00")
    assert yard.client.post("/jobs", json=mown).status_code == 201
    begun = post(yard, second, planned_at=f"{DAY}T08:45:00+01:00")["id"]
    for lawn in rest:
        post(yard, lawn, planned_at=f"{DAY}T10:00:00+01:00")
    proposal = propose(yard, vehicle_ids=[yard.ids["vehicles"]])
    (vehicle,) = proposal["vehicles"]
    assert vehicle["proposed"]
    assert vehicle["jobs"][0]["job_id"] == begun
    assert not vehicle["jobs"][0]["amend"]
    assert len(vehicle["jobs"]) == 5
    take(yard, proposal)
    assert routing(yard)["cost_cents"] == proposal["cost_cents"]["after"]


def test_two_crews_are_proposed_orders_together(yard):
    other = {**crews.VEHICLES.example, "depot_id": yard.ids["depots"], "registration": "AB13 CDE"}
    other = yard.client.post("/vehicles", json=other).json["id"]
    for number, lawn in enumerate(lawns(yard, 8)):
        post(yard, lawn, vehicle_id=yard.ids["vehicles"] if number % 2 else other)
    proposal = propose(yard)
    assert len(proposal["vehicles"]) == 2
    take(yard, proposal)
    assert routing(yard)["cost_cents"] == proposal["cost_cents"]["after"]


def test_a_lawn_that_spoils_others_is_proposed_last_with_what_that_saves(yard):
    """Clean, weedy, clean: in that order it takes three tips, or the clean ones count as weedy."""
    yard.client.patch(
        f"/depots/{yard.ids['depots']}", json={"crew_minute_cents": 60}, headers={"If-Match": "*"}
    )
    first, weedy, last = lawns(yard, 3)
    clean = {"treatment_history": "none_recorded"}
    post(yard, first, planned_at=f"{DAY}T09:00:00+01:00", **clean)
    spoiling = post(yard, weedy, planned_at=f"{DAY}T10:00:00+01:00", weeds_in_seed=True, **clean)[
        "id"
    ]
    post(yard, last, planned_at=f"{DAY}T11:00:00+01:00", **clean)
    proposal = propose(yard, vehicle_ids=[yard.ids["vehicles"]])
    (vehicle,) = proposal["vehicles"]
    assert vehicle["jobs"][-1]["job_id"] == spoiling
    assert [job["status"] for job in vehicle["jobs"]] == ["clean", "clean", "weedy"]
    assert vehicle["tips"]["difference"] == 0
    assert vehicle["mixed_with_worse_kg"]["before"] > 0
    assert vehicle["mixed_with_worse_kg"]["after"] == 0
    assert vehicle["gain_cents"] > 0
    assert (vehicle["tips"], vehicle["mixed_with_worse_kg"]) == (
        proposal["tips"],
        proposal["mixed_with_worse_kg"],
    )


def test_a_stranger_is_named_and_so_is_a_depot_that_is_not_there(yard):
    stranger = yard.ids["depots"]
    answer = yard.client.post(
        "/order-proposals",
        json={
            "depot_id": yard.ids["depots"],
            "day": DAY,
            "vehicle_ids": [stranger],
            "crew_ids": [yard.ids["crews"], stranger],
        },
    )
    assert answer.status_code == 422
    pointers = [fault["pointer"] for fault in answer.json["errors"]]
    assert pointers == ["/vehicle_ids/0", "/crew_ids/1"]
    nowhere = {"depot_id": yard.ids["crews"], "day": DAY}
    assert yard.client.post("/order-proposals", json=nowhere).status_code == 404


def test_a_crew_with_one_job_or_a_good_order_is_told_why_nothing_is_proposed(yard):
    post(yard, lawns(yard, 1)[0])
    (vehicle,) = propose(yard, vehicle_ids=[yard.ids["vehicles"]])["vehicles"]
    assert (vehicle["proposed"], vehicle["code"]) == (False, "nothing_to_order")
    assert vehicle["gain_cents"] == 0

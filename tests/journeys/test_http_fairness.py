"""A dispatcher spares the bed that is always nearest, over HTTP, over both databases."""

from datetime import timedelta

import pytest
from jsonschema import Draft202012Validator

from service.api.books.clients import BEDS, PROPERTIES
from service.api.work.days.routing_shape import ROUTING
from tests.depots import Depot
from tests.worlds import NOW

PRICE = "fairness_price_cents_per_t_per_kg_per_m2"
ANY_VERSION = {"If-Match": "*"}
AREA = {"value": 400, "unit": "m2"}


@pytest.fixture
def beds(yard):
    """Return the ids of a bed beside the lawn and of one a way off."""
    client, ids = yard.client, yard.ids
    near = client.patch(f"/beds/{ids['beds']}", json={"area": AREA}, headers=ANY_VERSION)
    assert near.status_code == 200, near.text
    at = client.get(f"/properties/{ids['properties']}").json["point"]["coordinates"]
    place = {
        **PROPERTIES.example,
        "client_id": ids["clients"],
        "point": {"type": "Point", "coordinates": [at[0] + 0.004, at[1]]},
    }
    away = client.post("/properties", json=place).json["id"]
    lawful = {"kind": "registered_exemption", "reference": "EX 1", "expires_on": "2027-05-01"}
    body = {**BEDS.example, "property_id": away, "area": AREA, "legal_basis": lawful}
    far = client.post("/beds", json=body)
    assert far.status_code == 201, far.text
    return ids["beds"], far.json["id"]


def week(world, yard, number):
    """Cut, plan and deliver in a week; return the routing, read before the delivery."""
    client = yard.client
    world.clock.at = NOW + timedelta(weeks=number)
    day = world.clock.now().date().isoformat()
    cut_at = (world.clock.now() - timedelta(hours=1)).isoformat()
    posted = client.post("/jobs", json=yard.job(cut_at=cut_at))
    assert posted.status_code == 201, posted.text
    routing = client.get(f"/days/{day}/routing?depot_id={yard.ids['depots']}").json["routing"]
    Draft202012Validator(ROUTING).validate(routing)
    for vehicle in routing["vehicles"]:
        for stop in vehicle["stops"]:
            if stop["kind"] == "drop" and stop["state"] == "planned":
                done = client.patch(
                    f"/loads/{stop['load_id']}", json={"state": "delivered"}, headers=ANY_VERSION
                )
                assert done.status_code == 200, done.text
    return routing


def way(routing):
    (lot,) = (lot for lot in routing["lots"])
    (told,) = lot["goes_to"]
    return told


def explained(routing):
    """Return the explanation of the first drop still to come."""
    return next(
        stop["explanation"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop" and stop["state"] == "planned"
    )


def test_a_price_sends_the_next_load_to_the_other_bed_and_says_so(world, yard, beds):
    near, far = beds
    first = way(week(world, yard, 0))
    assert (first["destination_id"], first["fairness"]) == (near, None)
    second = way(week(world, yard, 1))
    assert second["destination_id"] == near
    answer = yard.client.patch(
        f"/depots/{yard.ids['depots']}", json={PRICE: 20_000}, headers=ANY_VERSION
    )
    assert answer.status_code == 200, answer.text
    assert answer.json[PRICE] == 20_000
    third = week(world, yard, 2)
    assert way(third)["destination_id"] == far
    assert way(third)["fairness"]["laid_kg_per_m2"] == 0
    spared = next(row for row in third["destinations"] if row["destination_id"] == near)
    assert spared["fairness"]["laid_kg_per_m2"] > 0
    told = explained(third)
    assert told["fairness"]["burden_cents"] == 0
    (near_by,) = told["spared_beds"]
    assert (near_by["destination_id"], near_by["code"]) == (near, "fairness_price")
    assert near_by["laid_kg_per_m2"] == spared["fairness"]["laid_kg_per_m2"]
    assert near_by["saving_cents"] > 0
    assert "But for fairness" in near_by["sentence"]
    assert "kg/m2 in 30 days" in near_by["sentence"]
    load = yard.client.get(f"/loads/{way(third)['load_id']}").json
    assert load["explanation"]["fairness"]["sentence"].startswith(
        "This bed has had 0.00 kg/m2 in 30 days; the fairness price is 0 cents a tonne"
    )


def test_what_a_load_counts_more_on_its_bed_is_in_its_explanation(world, yard, beds):
    near, _ = beds
    week(world, yard, 0)
    yard.client.patch(f"/depots/{yard.ids['depots']}", json={PRICE: 100}, headers=ANY_VERSION)
    second = week(world, yard, 1)
    assert way(second)["destination_id"] == near
    told = explained(second)
    assert told["fairness"]["laid_kg_per_m2"] > 0
    # The parts of a cost are told so that they add up: any of them may be a cent from its own.
    assert abs(told["fairness"]["burden_cents"] - second["cost_cents"]["burden"]) <= 1
    assert second["cost_cents"]["burden"] > 0
    assert told["spared_beds"] == []


def test_a_depot_that_wishes_nothing_is_told_nothing_of_it(world, yard):
    told = explained(week(world, yard, 0))
    assert (told["fairness"], told["spared_beds"]) == (None, [])


def test_a_limit_is_kept_over_the_weeks_and_the_refusal_names_it(world, yard, beds):
    near, far = beds
    assert way(week(world, yard, 0))["destination_id"] == near
    laid = yard.client.get("/loads?destination_kind=bed").json["items"][0]["mass_kg"]["high"]
    limit = laid / AREA["value"]
    answer = yard.client.patch(
        f"/depots/{yard.ids['depots']}",
        json={"fairness_limit_kg_per_m2": limit},
        headers=ANY_VERSION,
    )
    assert answer.status_code == 200, answer.text
    second = week(world, yard, 1)
    went = {told["destination_id"] for lot in second["lots"] for told in lot["goes_to"]}
    assert near not in went
    assert far in went
    (near_by,) = explained(second)["spared_beds"]
    assert (near_by["destination_id"], near_by["code"]) == (near, "fairness_limit")
    assert near_by["fairness_limit_kg_per_m2"] == limit
    refusal = second["lots"][0]["elsewhere"]["nearest_refusals"][0]
    assert refusal["code"] == "fairness_limit"
    assert "kg/m2 on a bed in 30 days" in refusal["sentence"]


def test_every_faulty_wish_is_named_at_once(yard):
    answer = yard.client.patch(
        f"/depots/{yard.ids['depots']}",
        json={"fairness_limit_kg_per_m2": 0, PRICE: -1, "shift_ends": "05:00"},
        headers=ANY_VERSION,
    )
    assert answer.status_code == 422
    assert {(fault["pointer"], fault["code"]) for fault in answer.json["errors"]} >= {
        ("/fairness_limit_kg_per_m2", "out_of_range"),
        (f"/{PRICE}", "out_of_range"),
    }


def test_a_wish_is_taken_back_with_null(yard):
    path = f"/depots/{yard.ids['depots']}"
    wished = yard.client.patch(
        path, json={"fairness_limit_kg_per_m2": 2.5, PRICE: 700}, headers=ANY_VERSION
    )
    assert wished.json["fairness_limit_kg_per_m2"] == 2.5
    back = yard.client.patch(
        path, json={"fairness_limit_kg_per_m2": None, PRICE: None}, headers=ANY_VERSION
    )
    assert (back.json["fairness_limit_kg_per_m2"], back.json[PRICE]) == (None, None)


def test_a_bed_that_other_loads_of_the_day_fill_says_how_much_they_bring():
    depot = Depot(vehicles=3)
    for job in depot.jobs:  # more than one bed may have of either
        depot.amend(f"/jobs/{job}", {"area_mowed": {"value": 160, "unit": "m2"}})
    # A bed takes 13 kg here, which spares the bay 3.25: no paid crew would tip there, 20 minutes.
    wishes = {"fairness_limit_kg_per_m2": 1.0, "crew_minute_cents": 0}
    depot.amend(f"/depots/{depot.ids['depots']}", wishes)
    drops = [
        stop
        for vehicle in depot.plan()["routing"]["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop"
    ]
    brought = {drop["destination_id"]: drop["mass_kg"]["high"] for drop in drops}
    told = [
        bed
        for drop in drops
        for bed in drop["explanation"]["spared_beds"]
        if bed["destination_id"] in brought
    ]
    assert told
    for bed in told:
        filled = f"Other loads of the day bring it {brought[bed['destination_id']]} kg."
        assert filled in bed["sentence"]

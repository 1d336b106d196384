"""What happens on a planned day is answered for those it concerns, and nobody else moves."""

import pytest

from service.usecases.planning.local_answer import SMALL_DAY_VEHICLES
from tests.depots import DAY, NOW, VEHICLES, Depot

MM = {"unit": "mm"}
SAID_NO = {"consent": {"state": "withdrawn"}}


@pytest.fixture
def depot():
    return Depot()


def stops(plan):
    """Return every vehicle's stops as its crew sees them."""
    return {
        vehicle["vehicle_id"]: [
            (s.get("job_id"), s.get("load_id"), s.get("destination_id"), s["at"], s.get("mass_kg"))
            for s in vehicle["stops"]
        ]
        for vehicle in plan["routing"]["vehicles"]
    }


def loads(plan, vehicles):
    """Return the loads that some vehicles tip, in order, whatever the time."""
    told = stops(plan)
    return [[load for _, load, *_ in told[vehicle] if load] for vehicle in vehicles]


def moved(before, after):
    was, now = stops(before), stops(after)
    return {vehicle for vehicle in now if now[vehicle] != was.get(vehicle)}


def drops(plan):
    return [s for v in plan["routing"]["vehicles"] for s in v["stops"] if s["kind"] == "drop"]


def going_to(plan, place):
    return {
        vehicle["vehicle_id"]
        for vehicle in plan["routing"]["vehicles"]
        for stop in vehicle["stops"]
        if stop.get("destination_id") == place
    }


def bed_in_use(plan):
    return next(drop for drop in drops(plan) if drop["destination_kind"] == "bed")


def lot(plan, job_id):
    (found,) = (one for one in plan["routing"]["lots"] if one["job_id"] == job_id)
    return found


def is_local(plan, *vehicles):
    """Assert that a plan says that it is an answer for some vehicles, and for which and why."""
    told = plan["routing"]["planning"]
    assert (told["scope"], told["ended_by"]) == ("local", "local")
    assert "whole day" in told["note"]
    assert plan["bound_proven"] is False
    assert plan["routing"]["gap_permille"] is None
    named = {one["vehicle_id"] for one in told["vehicles"]}
    assert set(vehicles) <= named
    assert all(one["why"] for one in told["vehicles"])
    return named


def is_of_the_whole_day(plan):
    told = plan["routing"]["planning"]
    assert told["scope"] == "whole_day"
    assert told["local_answers"] == 0
    assert told["vehicles"] == []
    return told["ended_by"] != "local"


def test_a_bed_that_refuses_moves_only_who_meant_to_go_there(depot):
    before = depot.plan()
    assert is_of_the_whole_day(before)
    assert before["bound_proven"] is True
    bed = bed_in_use(before)["destination_id"]
    concerned = going_to(before, bed)
    depot.amend(f"/beds/{bed}", SAID_NO)
    after = depot.read()
    assert going_to(after, bed) == set()
    assert is_local(after, *concerned) == moved(before, after) == concerned
    name = bed_in_use(before)["destination"]
    assert all(name in one["why"] for one in after["routing"]["planning"]["vehicles"])
    for lot_told in after["routing"]["lots"]:
        assert lot_told["outcome"] == lot(before, lot_told["job_id"])["outcome"]
    changes = depot.client.get(f"/day-plans/{after['id']}/changes").json
    assert {one["code"] for one in changes["moved"]} == {"no_consent"}


def test_every_drop_of_a_local_answer_still_says_why_and_what_is_next_best(depot):
    before = depot.plan()
    depot.amend(f"/beds/{bed_in_use(before)['destination_id']}", SAID_NO)
    after = depot.read()
    is_local(after)
    told = [drop["explanation"] for drop in drops(after)]
    assert all(one is not None for one in told)
    assert any(one["runner_up"]["destinations"] for one in told)


def test_planning_the_day_after_local_answers_proves_a_bound_again(depot):
    before = depot.plan()
    depot.amend(f"/beds/{bed_in_use(before)['destination_id']}", SAID_NO)
    first = depot.read()
    depot.amend(f"/jobs/{depot.jobs[0]}", {"state": "cancelled"})
    second = depot.read()
    counted = [plan["routing"]["planning"]["local_answers"] for plan in (first, second)]
    assert counted == [1, 2]
    again = depot.plan()
    assert is_of_the_whole_day(again)
    assert again["bound_proven"] is True
    assert 0 < again["bound_cents"] <= again["cost_cents"] <= second["cost_cents"]
    assert depot.read()["id"] == again["id"]


def test_the_tips_of_a_cancelled_job_vanish_and_nobody_else_moves(depot):
    before = depot.plan()
    vehicle = depot.vehicles[0][0]
    code = lot(before, depot.jobs[0])["lot_code"]
    assert any(code in drop["lot_codes"] for drop in drops(before))
    depot.amend(f"/jobs/{depot.jobs[0]}", {"state": "cancelled"})
    after = depot.read()
    assert is_local(after) == {vehicle}
    assert not any(code in drop["lot_codes"] for drop in drops(after))
    assert moved(before, after) == {vehicle}


def test_what_concerns_nobody_moves_nobody(depot):
    before = depot.plan()
    bed = bed_in_use(before)["destination_id"]
    depot.amend(f"/beds/{bed}", {"where_to_lay": "Along the hedge."})
    after = depot.read()
    assert after["id"] != before["id"]
    assert is_local(after) == moved(before, after) == set()
    assert after["cost_cents"] == before["cost_cents"]
    assert loads(before, stops(before)) == loads(after, stops(before))


def test_a_new_job_is_taken_up_and_nobody_else_moves(depot):
    before = depot.plan()
    vehicle = depot.vehicles[3][0]
    job = depot.job(3, depot.lawns[0], hour=13)
    after = depot.read()
    assert is_local(after) == {vehicle}
    assert lot(after, job["id"])["outcome"] in {"routed", "hold"}
    assert moved(before, after) == {vehicle}


def test_a_vehicle_that_is_new_on_the_day_is_planned_alone(depot):
    before = depot.plan()
    depot.vehicles.append((depot.ids["vehicles"], depot.ids["crews"]))
    job = depot.job(-1, depot.lawns[0], hour=9)
    after = depot.read()
    assert is_local(after) == moved(before, after) == {depot.ids["vehicles"]}
    assert lot(after, job["id"])["goes_to"]


def test_a_locked_load_survives_what_happens_to_its_vehicle(depot):
    before = depot.plan()
    locked = bed_in_use(before)
    (vehicle,) = going_to(before, locked["destination_id"])
    depot.amend(f"/loads/{locked['load_id']}", {"locked": True})
    number = [known for known, _ in depot.vehicles].index(vehicle)
    depot.job(number, depot.lawns[-1], hour=13)
    depot.job(number, depot.lawns[0], hour=6)
    after = depot.read()
    is_local(after, vehicle)
    (kept,) = (drop for drop in drops(after) if drop["locked"])
    assert kept["destination_id"] == locked["destination_id"]


def test_a_lock_that_can_not_be_kept_is_told_as_before(depot):
    before = depot.plan()
    locked = bed_in_use(before)
    depot.amend(f"/loads/{locked['load_id']}", {"locked": True})
    depot.read()
    depot.amend(f"/beds/{locked['destination_id']}", SAID_NO)
    codes = {warning["code"] for warning in depot.read()["routing"]["warnings"]}
    assert "lock_not_kept" in codes


def test_a_load_turned_away_at_the_gate_goes_elsewhere_and_the_past_stays(depot):
    depot.world.clock.move(hours=20)  # nine o'clock on the Monday
    before = depot.plan()
    vehicle, _ = depot.vehicles[0]
    cut_at = f"{DAY}T09:10:00+01:00"
    depot.world.clock.move(minutes=30)
    for job in depot.jobs[:2]:
        depot.amend(f"/jobs/{job}", {"state": "mown", "cut_at": cut_at})
    first = next(
        s
        for v in depot.read()["routing"]["vehicles"]
        for s in v["stops"]
        if v["vehicle_id"] == vehicle and s["kind"] == "drop"
    )
    no = {"state": "refused", "refusal_reason": "too wet"}
    depot.amend(f"/loads/{first['load_id']}", no)
    after = depot.read()
    is_local(after, vehicle)
    (own,) = (v for v in after["routing"]["vehicles"] if v["vehicle_id"] == vehicle)
    assert own["stops"][0]["done"] is True
    assert [s["load_id"] for s in own["stops"] if s.get("state") == "refused"] == [first["load_id"]]
    ahead = [s for s in own["stops"] if s["kind"] == "drop" and not s["done"]]
    assert ahead
    assert all(s["destination_id"] != first["destination_id"] for s in ahead)
    others = [known for known, _ in depot.vehicles[1:]]
    assert loads(before, others) == loads(after, others)


def test_a_site_that_opens_again_is_offered_to_who_must_hold(depot):
    shut = {"live_status": {"state": "closed", "as_of": f"{DAY}T04:00:00Z"}}
    site = f"/compost-sites/{depot.ids['compost-sites']}"
    depot.world.clock.move(hours=17)
    shown = {"kill": "weed_seed", "reference": "Test 1", "shown_on": "2026-03-01"}
    depot.amend(site, {**shut, "kill_evidence": [shown]})
    much = {"area_mowed": {"value": 450, "unit": "m2"}, "height_removed": {"value": 80} | MM}
    depot.amend(f"/jobs/{depot.jobs[0]}", {"weeds_in_seed": True, **much})
    before = depot.plan()
    assert lot(before, depot.jobs[0])["outcome"] == "hold"
    depot.amend(site, {"live_status": {"state": "open", "as_of": f"{DAY}T04:30:00Z"}})
    after = depot.read()
    named = is_local(after, depot.vehicles[0][0])
    assert lot(after, depot.jobs[0])["outcome"] == "routed"
    assert moved(before, after) == named
    assert all("Hill Farm" in one["why"] for one in after["routing"]["planning"]["vehicles"])


def test_rain_on_most_lots_has_the_whole_day_searched(depot):
    depot.plan()
    for job in depot.jobs[: 2 * (VEHICLES // 2 + 1)]:
        depot.amend(f"/jobs/{job}", {"wetness": "rained_on"})
    assert is_of_the_whole_day(depot.read())


def test_another_shift_has_the_whole_day_searched(depot):
    depot.plan()
    depot.amend(f"/depots/{depot.ids['depots']}", {"shift_ends": "16:00"})
    assert is_of_the_whole_day(depot.read())


@pytest.mark.parametrize("minutes", [0, -5])
def test_an_amendment_counts_whatever_the_clocks_said(depot, minutes):
    """In the same instant as the plan, or by a machine whose clock is behind."""
    before = depot.plan()
    bed = bed_in_use(before)
    depot.world.clock.move(minutes=minutes)
    answer = depot.client.patch(f"/beds/{bed['destination_id']}", json=SAID_NO, headers=NOW)
    assert answer.status_code == 200, answer.text
    after = depot.read()
    is_local(after)
    whys = [one["why"] for one in after["routing"]["planning"]["vehicles"]]
    assert whys
    assert all(f"amended: {bed['destination']}" in why for why in whys)
    shift = {"shift_ends": "16:00"}
    answer = depot.client.patch(f"/depots/{depot.ids['depots']}", json=shift, headers=NOW)
    assert answer.status_code == 200, answer.text
    assert is_of_the_whole_day(depot.read())


def test_a_plan_says_which_versions_it_was_made_from(depot):
    plan = depot.plan()
    assert plan["record_versions"][depot.ids["depots"]] == 1
    bed = bed_in_use(plan)["destination_id"]
    assert plan["record_versions"][bed] == 1
    depot.amend(f"/beds/{bed}", {"where_to_lay": "Along the hedge."})
    assert depot.read()["record_versions"][bed] == 2
    (listed, *_) = depot.client.get("/day-plans").json["items"]
    assert "record_versions" not in listed


def test_a_day_of_few_vehicles_is_always_searched_whole():
    depot = Depot(vehicles=SMALL_DAY_VEHICLES)
    before = depot.plan()
    depot.amend(f"/beds/{bed_in_use(before)['destination_id']}", SAID_NO)
    after = depot.read()
    assert is_of_the_whole_day(after)
    assert after["bound_proven"] is True


def test_a_first_reading_searches_the_whole_day(depot):
    assert is_of_the_whole_day(depot.read())

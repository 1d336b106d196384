"""A vehicle breaks down: others take over its jobs and its load, and what nobody can is told."""

from datetime import datetime
from zoneinfo import ZoneInfo

from service.api.books import clients, crews, sites
from tests.depots import DAY, NOW, Depot
from tests.outages import (
    at_ten,
    changes,
    lots,
    mow,
    report,
    stops,
    told,
    warnings,
    way,
)


def test_before_its_first_job_all_its_jobs_go_to_others_and_the_records_stay(depot):
    before = depot.plan()
    broken = depot.vehicles[0][0]
    report(depot, broken, out_since=f"{DAY}T06:30:00+01:00")
    after = depot.read()
    own = depot.jobs[:2]
    takers = {stop["job_id"]: vehicle for vehicle, stop in stops(after, "job")}
    assert all(takers[job] not in {None, broken} for job in own)
    assert sorted(takers) == sorted(depot.jobs)
    assert told(after, broken)["stops"] == []
    assert told(after, broken)["out"]["reason"] == "Clutch gone."
    moved = changes(depot, after)
    assert {one["code"] for one in moved.values()} <= {"vehicle_out", "takes_over"}
    for job in own:
        lot = lots(after)[job]
        assert (lot["vehicle_id"], lot["taken_over_from_id"]) == (takers[job], broken)
        assert moved[job]["code"] == "vehicle_out"
        assert "V00 has been out since 06:30 (Clutch gone): V0" in moved[job]["why"]
        assert moved[job]["was"]["vehicle_id"] == broken
        assert moved[job]["becomes"]["vehicle_id"] == takers[job]
        assert depot.client.get(f"/jobs/{job}").json["vehicle_id"] == broken
    drops = [drop for _, drop in stops(after, "drop")]
    assert {code for drop in drops for code in drop["lot_codes"]} == {
        lot["lot_code"] for lot in lots(before).values()
    }
    assert after["routing"]["unplaced"] == []


def decisions(depot):
    path = f"/days/{DAY}/decisions?depot_id={depot.ids['depots']}"
    return depot.client.get(path).json["decisions"]


def test_of_what_is_mown_and_aboard_nobody_waits_for_a_cut(depot):
    at_ten(depot)
    for job in depot.jobs[:2]:
        mow(depot, job)
    report(depot, depot.vehicles[0][0])
    (out,) = warnings(depot.read(), "vehicle_out")
    assert "Others take over 2 of its lots" in out["why"]
    assert "reports them mown" not in out["why"]


def at_depot(moment):
    return datetime.fromisoformat(moment).astimezone(ZoneInfo("Europe/London"))


def test_a_load_aboard_is_fetched_by_another_where_it_stands_with_the_caution(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    before = depot.plan()
    broken = depot.vehicles[0][0]
    aboard = told(before, broken)["aboard_now"]["mass_high_kg"]
    assert aboard > 0
    place = {"type": "Point", "coordinates": [-1.2, 51.7]}
    report(depot, broken, point=place)
    after = depot.read()
    ((taker, pick_up),) = stops(after, "pick_up")
    assert taker != broken
    assert pick_up["mass_high_kg"] == aboard == told(after, broken)["aboard_now"]["mass_high_kg"]
    assert (pick_up["longitude"], pick_up["latitude"]) == (-1.2, 51.7)
    assert "closed body" in pick_up["caution"]
    code = lots(after)[depot.jobs[0]]["lot_code"]
    assert pick_up["lot_codes"] == [code]
    brought = [one for one in stops(after, "drop") if code in one[1]["lot_codes"]]
    assert {vehicle for vehicle, _ in brought} == {taker}
    crew = dict(depot.vehicles)[taker]
    for _, drop in brought:
        assert drop["at"] > pick_up["at"]
        assert depot.client.get(f"/loads/{drop['load_id']}").json["crew_id"] == crew
    (out,) = warnings(after, "vehicle_out")
    assert "until the other crew reports them mown" in out["why"]
    assert "what is cut lies in it until a crew reports that it was given" in out["why"]
    (stands,) = warnings(after, "load_stands")
    assert stands["vehicle_id"] == broken
    (way,) = [one["ways"] for one in decisions(depot) if one["code"] == "load_stands"]
    assert {(one["method"], one["href"]) for one in way} >= {("POST", "/reports")}
    look_by, sour_at = (at_depot(stands[name]) for name in ("look_by", "keeps_until"))
    assert look_by < sour_at
    assert f"have them out by {look_by:%H:%M}; after {sour_at:%H:%M} they" in stands["why"]
    done = [stop["job_id"] for stop in told(after, broken)["stops"]]
    assert done == [depot.jobs[0]]


def test_a_load_that_is_fetched_too_late_says_so_and_what_to_do_sooner(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    report(depot, depot.vehicles[0][0])
    (in_time,) = warnings(depot.read(), "load_stands")
    assert "too late" not in in_time["why"]
    depot.world.clock.move(hours=6)
    plan = depot.plan()
    ((_, pick_up),) = stops(plan, "pick_up")
    (late,) = warnings(plan, "load_stands")
    assert late["fetched_at"] == pick_up["at"]
    assert at_depot(late["look_by"]) < at_depot(pick_up["at"])
    assert f"is fetched at {at_depot(pick_up['at']):%H:%M}: too late. Hire" in late["why"]


def test_of_a_load_that_stands_in_a_vehicle_nothing_is_said_to_be_left_on_a_lawn():
    depot = Depot(vehicles=2)
    # Of all places one bed is left, and the load is more than that has room for.
    _, *beds = [bed["id"] for bed in depot.client.get("/beds").json["items"]]
    gone = [f"/{name}/{depot.ids[name]}" for name in ("compost-sites", "hold-bays")]
    for path in (*gone, *(f"/beds/{bed}" for bed in beds)):
        assert depot.client.delete(path, headers=NOW).status_code == 204
    at_ten(depot)
    depot.amend(f"/jobs/{depot.jobs[0]}", {"area_mowed": {"value": 440, "unit": "m2"}})
    mow(depot, depot.jobs[0])
    depot.plan()
    report(depot, depot.vehicles[0][0])
    plan = depot.read()
    assert stops(plan, "pick_up")
    lot = lots(plan)[depot.jobs[0]]
    need = lot["needs_attention"]
    assert need["code"] == "no_room_for_what_is_aboard"
    assert "V00 where it stands" in need["sentence"]
    assert need["facts"]["mass_high_kg"] > 0
    assert "lawn" not in changes(depot, plan)[depot.jobs[0]]["why"]
    on_lawns = [code for one in warnings(plan, "leave_on_lawn") for code in one["lot_codes"]]
    assert lot["lot_code"] not in on_lawns


def test_the_fetched_load_is_delivered_without_touching_the_job(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    report(depot, depot.vehicles[0][0])
    code = depot.client.get(f"/jobs/{depot.jobs[0]}").json["lot_code"]
    (drop,) = [one for _, one in stops(depot.read(), "drop") if code in one["lot_codes"]]
    for job in depot.jobs:
        if depot.client.get(f"/jobs/{job}").json["lot_code"] in drop["lot_codes"]:
            mow(depot, job)
    again = [one for _, one in stops(depot.read(), "drop") if code in one["lot_codes"]]
    depot.amend(f"/loads/{again[0]['load_id']}", {"state": "delivered"})
    after = depot.read()
    assert stops(after, "pick_up") == []
    assert lots(after)[depot.jobs[0]]["outcome"] == "routed"


def test_a_load_on_its_way_when_the_vehicle_broke_down_is_aboard_again(depot):
    at_ten(depot)
    for job in depot.jobs[:2]:
        mow(depot, job)
    broken = depot.vehicles[0][0]
    under_way = next(drop for vehicle, drop in stops(depot.plan(), "drop") if vehicle == broken)
    depot.amend(f"/loads/{under_way['load_id']}", {"state": "under_way"})
    before = told(depot.read(), broken)["aboard_now"]["mass_high_kg"]
    report(depot, broken)
    after = depot.read()
    ((taker, pick_up),) = stops(after, "pick_up")
    assert taker != broken
    assert pick_up["mass_high_kg"] == before > 0
    assert set(under_way["lot_codes"]) <= set(pick_up["lot_codes"])
    assert depot.client.get(f"/loads/{under_way['load_id']}").json["state"] == "superseded"


def test_word_that_a_load_was_tipped_before_the_breakdown_counts_though_it_comes_late(depot):
    at_ten(depot)
    depot.amend(f"/jobs/{depot.jobs[0]}", {"weeds_in_seed": True})
    depot.amend(f"/jobs/{depot.jobs[1]}", {"state": "cancelled"})
    mow(depot, depot.jobs[0])
    broken = depot.vehicles[0][0]
    (tipped,) = [drop for vehicle, drop in stops(depot.plan(), "drop") if vehicle == broken]
    assert tipped["destination_kind"] == "hold_bay"
    depot.world.clock.move(minutes=30)
    report(depot, broken, out_since=f"{DAY}T10:20:00+01:00")
    path = f"/loads/{tipped['load_id']}"
    assert stops(depot.read(), "pick_up")
    assert depot.client.get(path).json["state"] == "superseded"

    def say(**fields):
        return depot.client.patch(path, json={"state": "delivered", **fields}, headers=NOW)

    for time in ({}, {"done_at": f"{DAY}T10:25:00+01:00"}):
        refused = say(**time)
        assert refused.status_code == 422
        (fault,) = refused.json["errors"]
        assert fault["pointer"] == "/done_at"
        assert "has been out since 10:20 on" in fault["detail"]
    assert say(state="under_way").status_code == 409
    assert say(done_at=f"{DAY}T10:15:00+01:00").status_code == 200
    after = depot.read()
    assert stops(after, "pick_up") == []
    ((vehicle, done),) = stops(after, "drop", ahead=False)
    assert (vehicle, done["load_id"]) == (broken, tipped["load_id"])
    held = depot.client.get("/hold-entries").json["items"]
    assert {e["load_id"]: e["state"] for e in held}[tipped["load_id"]] == "in_bay"


def test_a_load_that_another_tipped_meanwhile_is_not_tipped_twice(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    broken = depot.vehicles[0][0]
    depot.amend(f"/jobs/{depot.jobs[1]}", {"state": "cancelled"})
    ((_, tipped),) = [one for one in stops(depot.plan(), "drop") if one[0] == broken]
    report(depot, broken)
    (code,) = tipped["lot_codes"]
    ((taker, _),) = stops(depot.read(), "pick_up")
    for job, lot in lots(depot.read()).items():
        if lot["vehicle_id"] == taker and lot["state"] == "planned":
            mow(depot, job)
    drops = [one for _, one in stops(depot.read(), "drop") if code in one["lot_codes"]]
    depot.amend(f"/loads/{drops[0]['load_id']}", {"state": "delivered"})
    late = {"state": "delivered", "done_at": f"{DAY}T09:50:00+01:00"}
    refused = depot.client.patch(f"/loads/{tipped['load_id']}", json=late, headers=NOW)
    assert refused.status_code == 409
    assert "superseded cannot become delivered" in refused.json["detail"]


def test_whoever_is_not_asked_keeps_every_load_and_locked_ones_too():
    depot = Depot()
    before = depot.plan()
    ((vehicle, locked), *_) = [
        one for one in stops(before, "drop") if one[0] != depot.vehicles[0][0]
    ]
    depot.amend(f"/loads/{locked['load_id']}", {"locked": True})
    before = depot.read()
    report(depot, depot.vehicles[0][0])
    after = depot.read()
    planning = after["routing"]["planning"]
    assert planning["scope"] == "local"
    named = {one["vehicle_id"]: one["why"] for one in planning["vehicles"]}
    takers = {taker for taker, stop in stops(after, "job") if stop["taken_over_from_id"]}
    assert {depot.vehicles[0][0], *takers} <= set(named)
    assert all("V00 is out from 10:00 on" in named[taker] for taker in takers)
    for known, _ in depot.vehicles:
        if known not in named:
            assert way(after, known) == way(before, known)
    kept = [one for one in stops(after, "drop") if one[1]["locked"]]
    assert [(v, d["destination_id"]) for v, d in kept] == [(vehicle, locked["destination_id"])]


def test_whole_day_plans_and_later_readings_keep_who_took_over(depot):
    depot.plan()
    report(depot, depot.vehicles[0][0], out_since=f"{DAY}T06:30:00+01:00")

    def takers(plan):
        return {
            stop["job_id"]: vehicle
            for vehicle, stop in stops(plan, "job")
            if stop["taken_over_from_id"]
        }

    first = takers(depot.read())
    assert set(first) == set(depot.jobs[:2])
    assert takers(depot.plan()) == first
    depot.job(1, depot.lawns[5], hour=13)
    assert takers(depot.read()) == first


def test_where_no_other_vehicle_works_nothing_vanishes_and_everything_is_told():
    depot = Depot(vehicles=1)
    at_ten(depot)
    mow(depot, depot.jobs[0])
    depot.plan()
    broken = depot.vehicles[0][0]
    report(depot, broken)
    after = depot.read()
    assert stops(after, "drop") == []
    for job in depot.jobs:
        lot = lots(after)[job]
        assert lot["outcome"] == "unplaced"
        assert lot["needs_attention"]["code"] == "vehicle_out"
        assert "no other vehicle of the depot works" in lot["needs_attention"]["sentence"]
    (unplaced,) = after["routing"]["unplaced"]
    assert unplaced["vehicle_id"] == broken
    assert unplaced["mass_high_kg"] > told(after, broken)["aboard_now"]["mass_high_kg"] > 0
    (nobody,) = warnings(after, "nobody_takes_over")
    assert set(nobody["job_ids"]) == set(depot.jobs)
    (out,) = warnings(after, "vehicle_out")
    assert out["idle_vehicle_ids"] == [depot.ids["vehicles"]]
    assert out["why"] == nobody["why"]
    assert {one["code"] for one in changes(depot, after).values()} == {"vehicle_out"}


def test_a_lot_too_large_for_every_other_body_is_left_and_told(depot):
    big = {**crews.VEHICLES.example, "depot_id": depot.ids["depots"], "registration": "BIG"}
    big |= {"payload_kg": 30_000, "body_volume_m3": 110, "gross_limit_kg": 44_000}
    big |= {"tare_kg": 12_000}
    vehicle = depot.keep("/vehicles", big)
    crew = {**crews.CREWS.example, "depot_id": depot.ids["depots"], "vehicle_id": vehicle}
    depot.vehicles.append((vehicle, depot.keep("/crews", crew)))
    area = {"value": 80_000, "unit": "m2"}
    lawn = {**clients.LAWNS.example, "property_id": depot.ids["properties"], "area": area}
    huge = depot.job(-1, depot.keep("/lawns", lawn), hour=9, area_mowed=area)["id"]
    small = depot.job(-1, depot.lawns[1], hour=11)["id"]
    assert lots(depot.read())[huge]["needs_attention"] is None
    report(depot, vehicle, out_since=f"{DAY}T07:00:00+01:00")
    after = depot.read()
    assert "too much for every other" in lots(after)[huge]["needs_attention"]["sentence"]
    assert lots(after)[small]["needs_attention"] is None
    assert lots(after)[small]["vehicle_id"] != vehicle


def test_a_lock_on_a_tip_after_a_job_that_another_does_says_so(depot):
    broken = depot.vehicles[0][0]
    (*_, last) = [drop for vehicle, drop in stops(depot.plan(), "drop") if vehicle == broken]
    depot.amend(f"/loads/{last['load_id']}", {"locked": True})
    report(depot, broken, out_since=f"{DAY}T10:30:00+01:00")
    (lost,) = warnings(depot.read(), "lock_not_kept")
    assert lost["why"] == ["V00 is out from 10:30 on: it does not do the job before this tip."]


def test_another_depots_vehicle_moves_nobody_here(depot):
    before = depot.plan()
    other = depot.keep("/depots", {**sites.DEPOTS.example, "name": "Other"})
    theirs = {**crews.VEHICLES.example, "depot_id": other, "registration": "OTHER"}
    report(depot, depot.keep("/vehicles", theirs))
    after = depot.read()
    for vehicle, _ in depot.vehicles:
        assert way(after, vehicle) == way(before, vehicle)
    assert warnings(after, "vehicle_out") == []


def test_two_out_of_three_leave_all_to_the_third():
    depot = Depot(vehicles=3)
    depot.plan()
    for vehicle, _ in depot.vehicles[:2]:
        report(depot, vehicle, out_since=f"{DAY}T06:30:00+01:00")
    after = depot.read()
    assert {vehicle for vehicle, _ in stops(after, "job")} == {depot.vehicles[2][0]}
    assert sorted(stop["job_id"] for _, stop in stops(after, "job")) == sorted(depot.jobs)


def test_what_is_mown_by_a_vehicle_that_is_out_is_asked_about(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    broken = depot.vehicles[0][0]
    report(depot, broken)
    depot.world.clock.move(hours=2)
    (before,) = warnings(depot.read(), "vehicle_out")
    assert "recorded as mown" not in before["why"]
    mown = {"state": "mown", "cut_at": f"{DAY}T11:30:00+01:00"}
    depot.amend(f"/jobs/{depot.jobs[1]}", mown)
    code = depot.client.get(f"/jobs/{depot.jobs[1]}").json["lot_code"]
    (asked,) = warnings(depot.read(), "vehicle_out")
    assert f"{code} is recorded as mown by it after that" in asked["why"]
    ((taker, _),) = stops(depot.read(), "pick_up")
    never = {"decision": "never_aboard", "vehicle_id": taker}
    why = {"Change-Reason": "The other crew cut it."}
    said = depot.client.post(f"/jobs/{depot.jobs[1]}/decisions", json=never, headers=why)
    assert said.status_code == 200, said.text
    depot.amend(f"/jobs/{depot.jobs[1]}", {"crew_id": dict(depot.vehicles)[taker]})
    plan = depot.read()
    for about in ("vehicle_out", "load_stands"):  # it never lay in that body
        (after,) = warnings(plan, about)
        assert code not in after["why"]


def test_grass_aboard_that_the_office_gives_to_another_vehicle_is_told_to_both_crews(depot):
    at_ten(depot)
    mow(depot, depot.jobs[0])
    depot.plan()
    (giver, _), (taker, _) = depot.vehicles[:2]
    depot.amend(f"/jobs/{depot.jobs[0]}", {"vehicle_id": taker})
    after = depot.read()
    kg = told(after, taker)["aboard_now"]["mass_high_kg"]
    assert kg > 0
    moved = changes(depot, after)
    why = moved[depot.jobs[0]]["why"]
    assert f"count as aboard V01, no longer V00: up to {kg} kg are aboard V01" in why
    for vehicle in (giver, taker):
        changed = depot.client.get(f"/vehicles/{vehicle}/today").json["changed"]
        assert any(why in line for line in changed)
    others = {one["code"] for job, one in moved.items() if job != depot.jobs[0]}
    assert "cheaper_so" not in others

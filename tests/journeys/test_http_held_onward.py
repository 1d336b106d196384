"""Held grass is brought on: planned, shovelled up, tipped, charged where it goes."""

from datetime import datetime

import pytest

from service.usecases.day.told_routing import LOAD_HELD
from tests.crews import drops
from tests.holds import DAY, SMALL, Yard
from tests.journeys.test_http_unplanned import tip
from tests.outages import stops, warnings

MONDAY = "2026-05-25"


@pytest.fixture
def yard():
    """Return a yard in whose bay an unknown lot waits, and a job still ahead on the same day."""
    yard = Yard()
    yard.job = yard.held(treatment_history="unknown")
    yard.plan_to_mow(yard.lawn("Afternoon"))
    return yard


def answered(yard):
    """Let the client say that nothing was put on the lawn."""
    yard.patch(f"/jobs/{yard.job}", {"treatment_history": "none_recorded"})


def onward(plan):
    """Return the drops that are only of held grass: their lot codes are those of the queue."""
    (held,) = plan["routing"]["held"]
    return [drop for drop in drops(plan) if drop["load_id"] in held["load_ids"]]


def test_what_may_not_leave_is_not_planned(yard):
    plan = yard.routing()
    assert stops(plan, LOAD_HELD) == []
    assert onward(plan) == []


def test_what_may_leave_is_shovelled_up_at_the_depot_and_tipped_on_the_bed(yard):
    answered(yard)
    plan = yard.routing()
    (held,) = plan["routing"]["held"]
    ((_, stop),) = stops(plan, LOAD_HELD)
    assert stop["hold_entry_id"] == held["hold_entry_id"]
    assert stop["lot_codes"] == held["lot_codes"]
    assert "alone" in stop["caution"]
    (drop,) = onward(plan)
    assert drop["destination_kind"] == "bed"
    assert set(held["lot_codes"]) <= set(drop["lot_codes"])
    assert held["stays"] is None
    # It does not wait for want of room: the same plan fetches it.
    (bed,) = [
        place["name"]
        for place in plan["routing"]["destinations"]
        if place["destination_kind"] == "bed"
    ]
    why = {"code": "brought_on", "sentence": f"By the plan it is brought on today: to {bed}."}
    assert held["why"] == yard.entry()["why"] == why


def test_the_plan_stays_as_it_is_while_nothing_happens(yard):
    answered(yard)
    before = onward(yard.routing())[0]["load_id"]
    yard.post("/day-plans", {"depot_id": yard.ids["depots"], "day": DAY})
    assert onward(yard.routing())[0]["load_id"] == before


def test_a_place_that_is_chosen_for_held_grass_is_kept_by_the_plans_to_come(yard):
    answered(yard)
    (job,) = yard.client.get("/jobs?state=planned").json["items"]
    yard.patch(f"/jobs/{job['id']}", {"state": "cancelled"})
    (drop,) = onward(yard.routing())
    yard.post("/place-choices", {name: drop[name] for name in ("load_id", "destination_id")})
    (chosen,) = onward(yard.routing())
    assert (chosen["destination_id"], chosen["locked"]) == (drop["destination_id"], True)


def test_loading_by_hand_takes_its_time(yard):
    answered(yard)
    plan = yard.routing()
    ((_, stop),) = stops(plan, LOAD_HELD)
    assert stop["loading_minutes"] > 0
    (vehicle,) = plan["routing"]["vehicles"]
    at = [one["at"] for one in vehicle["stops"] if not one["done"]]
    assert at == sorted(at)


def test_what_is_delivered_has_left_the_bay_and_lies_on_the_bed(yard):
    answered(yard)
    (drop,) = onward(yard.routing())
    (job,) = yard.client.get("/jobs?state=planned").json["items"]
    yard.world.clock.move(minutes=60)
    if set(drop["lot_codes"]) != set(yard.entry()["lot_codes"]):
        yard.patch(f"/jobs/{job['id']}", {"state": "mown", "cut_at": "2026-05-24T12:30:00+01:00"})
    (entry,) = yard.client.get("/hold-entries?state=in_bay").json["items"]
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    assert yard.queue() == []
    released = yard.client.get(f"/hold-entries/{entry['id']}").json
    assert released["state"] == "released"
    assert released["released_to"] == yard.client.get(yard.bed).json["name"]
    assert released["released_at"] is not None
    sooner = "2026-05-24T12:35:00+01:00"
    yard.patch(f"/loads/{drop['load_id']}", {"done_at": sooner})
    released = yard.client.get(f"/hold-entries/{entry['id']}").json
    assert datetime.fromisoformat(released["released_at"]) == datetime.fromisoformat(sooner)


def test_a_delivery_that_was_a_mistake_lies_in_the_bay_again(yard):
    answered(yard)
    (drop,) = onward(yard.routing())
    (job,) = yard.client.get("/jobs?state=planned").json["items"]
    yard.patch(f"/jobs/{job['id']}", {"state": "cancelled"})
    (drop,) = onward(yard.routing())
    yard.world.clock.move(minutes=30)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    assert yard.queue() == []
    yard.patch(f"/loads/{drop['load_id']}", {"state": "planned"})
    again = yard.entry()
    kept = yard.client.get(f"/hold-entries/{again['hold_entry_id']}").json
    assert (kept["state"], kept["released_to"]) == ("in_bay", None)


def test_what_a_client_turns_away_is_aboard_and_comes_back_to_the_bay(yard):
    answered(yard)
    (drop,) = onward(yard.routing())
    (job,) = yard.client.get("/jobs?state=planned").json["items"]
    yard.patch(f"/jobs/{job['id']}", {"state": "cancelled"})
    (drop,) = onward(yard.routing())
    yard.world.clock.move(minutes=30)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "refused", "refusal_reason": "It smells."})
    assert yard.queue() == []
    plan = yard.routing()
    (warning,) = warnings(plan, "turned_away")
    assert "aboard" in warning["why"]
    (back,) = drops(plan)
    assert back["destination_kind"] == "hold_bay"
    yard.world.clock.move(minutes=30)
    yard.patch(f"/loads/{back['load_id']}", {"state": "delivered"})
    assert yard.entry()["why"]["code"] == "turned_away_today"


def test_what_was_brought_on_weeks_ago_is_not_in_the_bay_again(yard):
    answered(yard)
    (job,) = yard.client.get("/jobs?state=planned").json["items"]
    yard.patch(f"/jobs/{job['id']}", {"state": "cancelled"})
    (drop,) = onward(yard.routing())
    all_of_it = yard.entry()["mass_kg"]["high"]
    yard.world.clock.move(minutes=30)
    refused = {"state": "partly_refused", "refused_share": 0.25, "refusal_reason": "Enough."}
    yard.patch(f"/loads/{drop['load_id']}", refused)
    (back,) = drops(yard.routing())
    yard.world.clock.move(minutes=10)
    yard.patch(f"/loads/{back['load_id']}", {"state": "delivered"})
    rest = yard.entry()["mass_kg"]["high"]
    assert rest == pytest.approx(all_of_it / 4, abs=0.51)
    yard.world.clock.move(days=15)
    assert yard.entry()["mass_kg"]["high"] == rest
    entry = f"/hold-entries/{yard.entry()['hold_entry_id']}"
    yard.patch(
        entry,
        {
            "state": "released",
            "released_to_kind": "compost_site",
            "released_to_id": yard.ids["compost-sites"],
            "released_with_id": yard.ids["vehicles"],
        },
    )
    last = yard.client.get(entry).json["released_load_id"]
    (part,) = yard.client.get(f"/loads/{last}").json["parts"]
    assert part["share"] == pytest.approx(0.25)
    assert yard.queue() == []


def test_two_heaps_of_one_job_that_are_brought_on_together_have_both_left_the_bay():
    yard = Yard()
    job = yard.mow(yard.lawn("Front"), at="10:00", treatment_history="unknown")
    for share in (0.5, 0.25):
        tip(yard, {"job_id": job, "share": share}, kind="hold_bay", at="2026-05-24T11:30:00Z")
    yard.patch(f"/jobs/{job}", {"treatment_history": "none_recorded"})
    queue = yard.routing()["routing"]["held"]
    assert [len(held["load_ids"]) for held in queue] == [1, 1]
    (load,) = {held["load_ids"][0] for held in queue}
    parts = yard.client.get(f"/loads/{load}").json["parts"]
    assert sorted(part["share"] for part in parts if part["hold_entry_id"]) == [0.25, 0.5]
    yard.world.clock.move(minutes=45)
    yard.patch(f"/loads/{load}", {"state": "delivered"})
    assert yard.queue() == []
    found = yard.client.get(f"/mass-balances?lot_id={job}").json["balances"]
    share = {one["place_kind"]: one["share"] for one in found}
    assert "hold_bay" not in share
    assert share["bed"] == pytest.approx(sum(part["share"] for part in parts))


def test_where_no_vehicle_works_it_stays_and_the_reason_is_told(yard):
    answered(yard)
    (job,) = yard.client.get("/jobs?state=planned").json["items"]
    small = {"payload_kg": 1, "body_volume_m3": 0.01}
    yard.patch(f"/vehicles/{yard.ids['vehicles']}", small)
    yard.patch(f"/jobs/{job['id']}", {"clippings": "left"})
    plan = yard.routing()
    (held,) = plan["routing"]["held"]
    assert held["releasable"] is True
    assert "too much" in held["stays"]
    (warning,) = warnings(plan, "held_stays")
    assert warning["hold_entry_id"] == held["hold_entry_id"]
    assert stops(plan, LOAD_HELD) == []


def test_where_the_day_is_over_for_the_vehicle_it_stays_and_the_reason_is_told(yard):
    yard.patch(f"/depots/{yard.ids['depots']}", {"shift_ends": "13:20"})
    answered(yard)
    plan = yard.routing()
    (held,) = plan["routing"]["held"]
    assert held["load_ids"] == []
    assert "time" in held["stays"]
    assert stops(plan, LOAD_HELD) == []


def test_what_soured_goes_to_a_site_on_the_day_after(yard):
    answered(yard)
    yard.world.clock.move(hours=20)
    yard.mow(yard.lawn("Monday"), at="08:00", day=MONDAY)
    plan = yard.routing(MONDAY)
    (held,) = plan["routing"]["held"]
    loads = [yard.client.get(f"/loads/{load}").json for load in held["load_ids"]]
    assert {load["destination_kind"] for load in loads} == {"compost_site"}
    assert held["hold_entry_id"] in {part["hold_entry_id"] for part in loads[0]["parts"]}
    with_it = [drop for _, drop in stops(plan, "drop") if drop["load_id"] in held["load_ids"]]
    card = yard.client.get(f"/vehicles/{yard.ids['vehicles']}/today").json
    assert {one["status"] for one in (*loads, *with_it, card["next_tip"]["show"])} == {"sour"}


def test_a_bay_has_the_room_again_that_was_brought_away(yard):
    bay = f"/hold-bays/{yard.ids['hold-bays']}"
    answered(yard)
    (job,) = yard.client.get("/jobs?state=planned").json["items"]
    yard.patch(f"/jobs/{job['id']}", {"state": "cancelled"})

    def room_m3():
        lot = yard.mow(yard.lawn("Asked"), at="12:30", area_mowed=SMALL)
        said = yard.client.get(f"/jobs/{lot}/verdicts").json["verdicts"]
        yard.patch(f"/jobs/{lot}", {"state": "cancelled"})
        (own,) = [one for one in said if one["destination_id"] == bay.removeprefix("/hold-bays/")]
        return own["facts"]["room_m3"]

    before = room_m3()
    (drop,) = onward(yard.routing())
    yard.world.clock.move(minutes=30)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    assert room_m3() > before

"""Held grass that was loaded is aboard: not in its bay, until it is tipped or comes back."""

from html import unescape
from uuid import uuid4

import pytest

from tests.crews import aboard_kg, another_crew, drops
from tests.holds import DAY
from tests.loading import Loading
from tests.outages import stops, told, warnings
from tests.screens import OURS, joined

LOADED = "Loaded: it is aboard now."


@pytest.fixture
def yard():
    return Loading()


def test_what_is_loaded_is_in_the_body_and_not_in_the_bay(yard):
    whole = yard.entry()["mass_kg"]["high"]
    assert aboard_kg(yard.routing()) == 0
    assert yard.load()["sentence"] == LOADED
    assert yard.at() == {"vehicle": 1.0}
    assert yard.queue() == []
    plan = yard.routing()
    assert aboard_kg(plan) == pytest.approx(whole, abs=1)
    assert stops(plan, "load_held") == []
    (drop,) = drops(plan)
    assert drop["destination_kind"] == "bed"
    (entry,) = yard.entries()
    (loading,) = entry["loadings"]
    assert (loading["share"], loading["load_id"]) == (1.0, None)
    yard.checked()


def test_what_is_loaded_and_tipped_lies_on_the_bed_and_nothing_is_aboard(yard):
    yard.load()
    yard.tip()
    assert yard.at() == {"bed": 1.0}
    assert aboard_kg(yard.routing()) == 0
    (entry,) = yard.entries()
    assert entry["state"] == "released"
    yard.checked()


def test_what_is_left_of_a_tip_is_aboard_and_not_in_the_bay(yard):
    whole = yard.entry()["mass_kg"]["high"]
    yard.load()
    yard.turn_away(0.5)
    assert yard.at() == {"bed": 0.5, "vehicle": 0.5}
    assert yard.queue() == []
    plan = yard.routing()
    assert aboard_kg(plan) == pytest.approx(whole / 2, abs=1)
    (warning,) = warnings(plan, "turned_away")
    assert "aboard" in warning["why"]
    yard.checked()


def test_who_forgot_to_say_that_it_was_loaded_has_all_of_it_aboard_until_it_is_tipped(yard):
    yard.turn_away(0.25)
    (entry,) = yard.entries()
    (loading,) = entry["loadings"]
    assert loading["share"] == 1.0
    assert loading["load_id"] is not None
    assert yard.at() == {"bed": 0.75, "vehicle": 0.25}
    yard.checked()


def test_a_tip_that_never_was_takes_what_it_was_found_to_need_with_it(yard):
    load = yard.tip()
    assert yard.at() == {"bed": 1.0}
    yard.patch(f"/loads/{load}", {"state": "planned"})
    assert yard.at() == {"hold_bay": 1.0}
    (entry,) = yard.entries()
    assert (entry["state"], entry["loadings"]) == ("in_bay", None)
    yard.checked()


def test_a_tip_that_never_was_leaves_aboard_what_was_said_to_be_loaded(yard):
    yard.load()
    load = yard.tip()
    yard.patch(f"/loads/{load}", {"state": "planned"})
    assert yard.at() == {"vehicle": 1.0}
    yard.checked()


def test_what_was_loaded_by_mistake_lies_in_the_bay_again(yard):
    said = yard.load()
    yard.say("undo", undoes=said["id"])
    assert yard.at() == {"hold_bay": 1.0}
    assert yard.entry()["mass_kg"]
    yard.checked()


def test_half_a_heap_is_loaded_and_the_rest_waits(yard):
    likely_kg = yard.whole_kg()["likely"]
    yard.load(mass={"value": likely_kg / 4, "unit": "kg"})
    assert yard.at() == pytest.approx({"hold_bay": 0.75, "vehicle": 0.25}, abs=1e-4)
    problem = yard.say(
        "loaded",
        status=422,
        hold_entry_id=yard.entry_id,
        mass={"value": likely_kg, "unit": "kg"},
    )
    assert [fault["pointer"] for fault in problem["errors"]] == ["/mass"]
    plan = yard.routing()
    assert aboard_kg(plan) == pytest.approx(yard.whole_kg()["high"] / 4, abs=1)
    yard.checked()


def test_the_same_word_of_two_telephones_is_one_loading(yard):
    yard.load()
    again = yard.say("loaded", hold_entry_id=yard.entry_id)
    assert again["sentence"] == "It was on record already."
    assert yard.at() == {"vehicle": 1.0}


def test_what_a_client_turns_away_comes_back_to_the_bay_by_a_tip(yard):
    yard.load()
    yard.turn_away(1.0)
    assert yard.at() == {"vehicle": 1.0}
    drop = yard.drop()
    assert drop["destination_kind"] == "hold_bay"
    yard.world.clock.move(minutes=10)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    assert yard.at() == {"hold_bay": 1.0}
    assert len(yard.queue()) == 1
    yard.checked()


def test_a_tip_that_no_plan_foresaw_is_of_what_was_loaded(yard):
    yard.load()
    site = {"destination_kind": "compost_site", "destination_id": yard.ids["compost-sites"]}
    yard.say("tipped", **site)
    assert yard.at() == {"compost_site": 1.0}
    (entry,) = yard.entries()
    assert entry["state"] == "released"
    yard.checked()


def test_what_is_aboard_overnight_is_told_and_planned_on_the_day_after(yard):
    yard.load()
    yard.turn_away(1.0)
    yard.world.clock.move(hours=20)
    plan = yard.routing("2026-05-25")
    (warning,) = warnings(plan, "aboard_overnight")
    assert warning["vehicle_id"] == yard.ids["vehicles"]
    assert aboard_kg(plan) > 0
    (drop,) = drops(plan)
    assert drop["destination_kind"] in {"compost_site", "hold_bay"}
    yard.checked()


def test_what_broke_down_with_held_grass_aboard_is_forked_over(yard):
    other = another_crew(yard)["vehicle_id"]
    yard.load()
    yard.say("vehicle_out", reason="Clutch gone.")
    plan = yard.routing()
    (warning,) = warnings(plan, "load_stands")
    assert warning["lot_codes"]
    yard.world.clock.move(minutes=5)
    yard.say("given", to_vehicle_id=other)
    assert yard.at() == {"vehicle": 1.0}
    plan = yard.routing()
    assert told(plan, other)["aboard_now"]["mass_high_kg"] > 0
    (drop,) = drops(plan)
    yard.world.clock.move(minutes=5)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    assert yard.at() == {"bed": 1.0}
    yard.checked()


def test_no_heap_is_released_whole_while_some_of_it_is_aboard(yard):
    yard.load(mass={"value": yard.whole_kg()["likely"] / 2, "unit": "kg"})
    elsewhere = {"state": "released", "released_to": "Hill Farm"}
    problem = yard.patch(f"/hold-entries/{yard.entry_id}", elsewhere, status=409)
    assert "aboard" in problem["detail"]


def test_it_was_loaded_before_it_was_tipped(yard):
    yard.load()
    drop = yard.drop()
    sooner = {"state": "delivered", "done_at": f"{DAY}T12:08:00+01:00"}
    problem = yard.patch(f"/loads/{drop['load_id']}", sooner, status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/done_at"]


def test_a_word_that_comes_late_takes_the_place_of_what_was_found_missing(yard):
    at = yard.world.clock.now().isoformat()
    yard.world.clock.move(minutes=10)
    yard.turn_away(0.5)
    yard.say("loaded", hold_entry_id=yard.entry_id, at=at)
    (entry,) = yard.entries()
    (loading,) = entry["loadings"]
    assert (loading["share"], loading["load_id"]) == (1.0, None)
    assert yard.at() == {"bed": 0.5, "vehicle": 0.5}
    yard.checked()


def test_whoever_tips_what_stood_in_another_body_had_it_out_of_that_one(yard):
    other = another_crew(yard)
    theirs = yard.mow(yard.lawn("Theirs"), at="12:20", **other)
    yard.load()
    yard.say("vehicle_out", reason="Clutch gone.")
    plan = yard.routing()
    ((taker, stop),) = stops(plan, "pick_up")
    assert taker == other["vehicle_id"]
    assert stop["mass_high_kg"] == pytest.approx(yard.whole_kg()["high"], abs=2)
    loads = [yard.client.get(f"/loads/{drop['load_id']}").json for drop in drops(plan)]
    (load,) = [one for one in loads if any(part["hold_entry_id"] for part in one["parts"])]
    yard.world.clock.move(minutes=30)
    yard.say("tipped", load_id=load["id"], **other)
    assert yard.at() == pytest.approx({load["destination_kind"]: 1.0})
    assert {part["job_id"] for part in load["parts"]} <= {theirs, yard.job}
    loadings = yard.entries()[-1]["loadings"]
    came_from = {yard.ids["vehicles"]: None, taker: yard.ids["vehicles"]}
    assert {one["vehicle_id"]: one["from_vehicle_id"] for one in loadings} == came_from
    yard.checked()


def test_a_lead_taps_that_it_was_loaded_and_the_next_card_is_the_tip(yard):
    lead = joined(yard.world, yard.yard, "crew", crew_id=yard.ids["crews"])
    page = unescape(lead.get("/screens/round/").text)
    assert 'name="act" value="loaded"' in page
    form = {"key": str(uuid4()), "act": "loaded", "entry": yard.entry_id}
    headers = {**OURS, "Accept": "application/json"}
    for _ in "ab":
        answer = lead.post("/screens/round/reports", data=form, headers=headers)
        assert answer.status_code == 200, answer.text
    assert yard.at() == {"vehicle": 1.0}
    yard.routing()
    assert 'value="loaded"' not in lead.get("/screens/round/").text
    wrong = {**form, "key": str(uuid4()), "loaded_kg": "99999"}
    assert lead.post("/screens/round/reports", data=wrong, headers=headers).status_code == 422


def test_fresh_grass_and_what_was_loaded_on_it_are_tipped_together(yard):
    fresh = yard.mow(yard.lawn("Fresh"), at="12:20")
    yard.routing()
    yard.load()
    plan = yard.routing()
    both = aboard_kg(plan)
    kg = yard.client.get(f"/jobs/{fresh}").json["estimate"]["mass_kg"]["high"]
    assert both == pytest.approx(kg + yard.whole_kg()["high"], abs=2)
    yard.say("tipped", destination_kind="compost_site", destination_id=yard.ids["compost-sites"])
    assert aboard_kg(yard.routing()) == 0
    assert yard.at() == {"compost_site": 1.0}
    yard.checked()


def test_two_heaps_in_one_body_are_mixed_and_the_worst_of_them_counts(yard):
    yard.load()
    bad = yard.mow(yard.lawn("Bad"), at="12:20", litter_seen=True)
    yard.routing()
    drop = yard.drop()
    assert drop["destination_kind"] == "hold_bay"
    assert drop["status"] == "littered"
    lots = yard.client.get(f"/loads/{drop['load_id']}").json["parts"]
    assert {part["job_id"] for part in lots} == {bad, yard.job}


@pytest.mark.parametrize("off", [-0.0005, 0.0, 0.0005])
def test_whoever_says_the_rounded_kilograms_that_are_told_has_all_of_it(yard, off):
    told_kg = yard.entries()[-1]["mass_kg"]["likely"]
    yard.load(mass={"value": told_kg * (1.0 + off), "unit": "kg"})
    assert yard.at() == {"vehicle": 1.0}
    assert yard.queue() == []


def test_the_day_page_has_nothing_lie_in_a_bay_that_is_in_a_body(yard):
    office = joined(yard.world, yard.yard, "dispatcher")
    left, half_kg = "It has left the bay", yard.whole_kg()["likely"] / 2
    yard.load(mass={"value": half_kg, "unit": "kg"})
    yard.routing()
    assert left in office.get("/screens/day").text
    yard.load(mass={"value": half_kg, "unit": "kg"})
    for day in (DAY, "2026-05-25"):
        yard.routing(day)
        page = office.get("/screens/day").text
        assert left not in page
        assert "Nothing is held or left." in page
        yard.world.clock.move(hours=20)


def test_a_day_is_planned_though_what_was_loaded_the_day_before_is_in_a_vehicle_that_stands():
    yard = Loading()
    yard.load()
    out = {"vehicle_id": yard.ids["vehicles"], "reason": "Clutch gone."}
    yard.post("/vehicle-outages", {**out, "out_since": yard.world.clock.now().isoformat()})
    yard.world.clock.move(days=1)
    yard.routing("2026-05-25")


def test_a_bay_took_no_less_of_a_load_than_was_brought_on_from_it():
    yard = Loading()
    (first,) = yard.client.get("/loads?destination_kind=hold_bay&state=delivered").json["items"]
    yard.load()
    brought = yard.tip()
    said = {"state": "partly_refused", "refused_share": 0.5, "refusal_reason": "Too wet."}
    refused = yard.patch(f"/loads/{first['id']}", said, status=409)
    assert refused["code"] == "more_than_there_is"
    assert f"/loads/{brought}" in refused["detail"]
    assert yard.at() == {"bed": 1.0}
    yard.checked()

"""What is measured in a heap acts: a hot one goes to no bed, and one that may burn nowhere."""

from datetime import datetime, timedelta
from html import unescape

import pytest

from service.destinations.heaps import FIRE_ACTIONS, HOT_LEVELS, KEPT_AWAY
from service.usecases.day.told_routing import LOAD_HELD
from service.usecases.telling.held.steps import HEAT_STEPS
from tests.holds import Yard, drops
from tests.outages import stops, warnings
from tests.screens import joined


@pytest.fixture
def yard():
    """Return a yard in whose bay clean clippings wait that the bed would take by now."""
    yard = Yard()
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.held()
    yard.patch(yard.bed, {"consent": {"state": "given"}})
    yard.plan_to_mow(yard.lawn("Afternoon"))
    yard.world.clock.move(minutes=30)
    return yard


def measured(yard, temperature_c, *, minutes=0, status=201, **fields):
    yard.world.clock.move(minutes=minutes)
    reading = {
        "depth_mm": 400,
        "temperature_c": temperature_c,
        "at": yard.world.clock.now().isoformat(),
        "measured_by": "Sam, yard",
        **fields,
    }
    items = yard.client.get("/hold-entries").json["items"]
    (entry,) = [one for one in items if one["state"] != "expected"]
    reading["hold_entry_id"] = entry["id"]
    answer = yard.client.post("/heap-temperatures", json=reading)
    assert answer.status_code == status, answer.text
    return answer.json


def test_a_reading_is_kept_with_its_depth_its_time_and_who_took_it(yard):
    kept = measured(yard, 52.5)
    (reading,) = kept["temperatures"]
    assert (reading["temperature_c"], reading["depth_mm"]) == (52.5, 400)
    assert reading["measured_by"] == "Sam, yard"
    heat = yard.entry()["heat"]
    assert heat["level"] == "warm"  # the thermophilic stage is 40 to 60 C [cwmi-physics]
    assert any("spread it out" in step for step in heat["steps"])


def test_a_hot_heap_is_brought_to_no_bed_until_it_has_cooled(yard):
    assert stops(yard.routing(), LOAD_HELD)
    measured(yard, 61)
    hot = yard.entry()
    assert (hot["releasable"], hot["why"]["code"]) == (False, "held_hot")
    plan = yard.routing()
    assert stops(plan, LOAD_HELD) == []
    (warning,) = warnings(plan, "held_hot")
    assert "alone" in warning["why"]
    measured(yard, 35, minutes=60)
    assert yard.entry()["releasable"] is True
    assert stops(yard.routing(), LOAD_HELD)


@pytest.mark.parametrize("temperature_c", [62, 68, 74, 82])
def test_nobody_is_told_to_turn_for_its_age_what_is_too_hot_to_stand_by(yard, temperature_c):
    yard.world.clock.move(hours=30)
    decisions = yard.client.get(
        "/days/2026-05-25/decisions", query_string={"depot_id": yard.ids["depots"]}
    )
    assert [
        one["code"] for one in decisions.json["decisions"] if one["code"].startswith("held_")
    ] == ["held_red"]
    measured(yard, temperature_c)
    held = yard.entry()
    assert held["escalation"]["level"] == "red"
    told = [
        *held["escalation"]["steps"],
        *(step for step in held["heat"]["steps"] if temperature_c > 71.1),
    ]
    assert not [step for step in told if "pread it out" in step or step.startswith("Turn it")]
    decisions = yard.client.get(
        "/days/2026-05-25/decisions", query_string={"depot_id": yard.ids["depots"]}
    )
    (one,) = [one for one in decisions.json["decisions"] if one["code"].startswith("held_")]
    assert one["code"] == "held_hot"
    assert "has counted as sour since" in one["sentence"]


@pytest.mark.parametrize(("temperature_c", "is_hot"), [(45, False), (62, True), (81, True)])
def test_whoever_loads_of_a_hot_heap_all_the_same_reads_what_to_do_at_once(
    yard, temperature_c, is_hot
):
    entry = yard.entry()["hold_entry_id"]
    measured(yard, temperature_c)
    for language in ("en", "pl"):
        yard.world.clock.move(minutes=1)
        report = {
            "id": f"01900000-0000-7000-8000-0000000f00{'01' if language == 'en' else '02'}",
            "kind": "loaded",
            "at": yard.world.clock.now().isoformat(),
            "hold_entry_id": entry,
        }
        batch = {
            "device": "telephone",
            "sent_at": yard.world.clock.now().isoformat(),
            "crew_id": yard.ids["crews"],
            "vehicle_id": yard.ids["vehicles"],
            "reports": [report],
        }
        told = {"Accept-Language": language}
        (row,) = yard.client.post("/reports", json=batch, headers=told).json["reports"]
        assert row["status"] in {200, 201}, row
        if language == "en":
            assert [one["code"] for one in row["warnings"]] == ["loaded_hot"] * is_hot
            assert ("fire service" in row["sentence"]) is is_hot
            where = f"depot_id={yard.ids['depots']}"
            listed = yard.client.get(f"/days/2026-05-24/decisions?{where}").json["decisions"]
            hot = [one for one in listed if one["code"] == "loaded_hot"]
            assert [one["urgency"] for one in hot] == ["now"] * is_hot


def test_the_levels_at_which_nobody_is_sent_are_those_at_which_people_are_kept_away():
    said = {level for level, steps in HEAT_STEPS.items() if any("people" in step for step in steps)}
    assert said == KEPT_AWAY


@pytest.fixture
def monday(yard):
    """Return the same on a Monday, when a site is open that takes hot heaps."""
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    yard.world.clock.move(hours=19)
    yard.plan_to_mow(yard.lawn("Monday"), planned_at="2026-05-25T15:00:00+01:00")
    assert stops(yard.routing("2026-05-25"), LOAD_HELD)
    return yard


def test_nobody_is_sent_to_load_of_a_heap_that_people_keep_away_from(monday):
    for temperature_c in (60, 72):
        measured(monday, temperature_c, minutes=60)
        assert stops(monday.routing("2026-05-25"), LOAD_HELD) == []
        waits = monday.entry()
        assert (waits["releasable"], waits["why"]["code"]) == (False, "held_hot")
        assert f"{temperature_c} C at " in waits["why"]["sentence"]
        assert waits["offers"] == []
        assert any("Keep people" in step for step in waits["heat"]["steps"])
    assert "72 C at 10:" in waits["stays"]
    assert "below 60 C" in waits["stays"]
    plan = monday.routing("2026-05-25")
    (held,) = plan["routing"]["held"]
    assert held["stays"] == waits["stays"]
    (warning,) = warnings(plan, "held_hot")
    assert waits["stays"] in warning["why"]
    where = f"depot_id={monday.ids['depots']}"
    listed = monday.client.get(f"/days/2026-05-25/decisions?{where}").json["decisions"]
    (decision,) = [one for one in listed if one["code"] in {"held_hot", "held_stays"}]
    assert waits["stays"] in decision["sentence"]


@pytest.mark.parametrize(
    ("temperature_c", "code"), [(61, "held_hot"), (74, "held_hot"), (80, "held_fire_danger")]
)
def test_why_a_heap_is_left_is_its_heat_whatever_else_is_the_matter_with_it(temperature_c, code):
    yard = Yard()
    yard.held(treatment_history="unknown")
    assert yard.entry()["why"]["code"] == "lot_unknown"
    measured(yard, temperature_c, minutes=30)
    waits = yard.entry()
    assert (waits["releasable"], waits["why"]["code"]) == (False, code)
    assert f"{temperature_c} C at 13:35" in waits["why"]["sentence"]
    yard.routing()
    office = joined(yard.world, yard.yard, "dispatcher")
    assert waits["why"]["sentence"] in unescape(office.get("/screens/day").text)


@pytest.mark.parametrize(
    ("temperature_c", "place", "with_a_reason"),
    [(52, "site", 200), (61, "site", 200), (74, None, 200), (80, "site", 409), (80, None, 200)],
)
def test_of_a_heap_that_people_keep_away_from_nothing_is_released_without_a_reason(
    monday, temperature_c, place, with_a_reason
):
    measured(monday, temperature_c)
    went = {"released_as": "elsewhere", "released_to": "the fire service's ground"}
    if place is not None:
        went = {
            "released_to_kind": "compost_site",
            "released_to_id": monday.ids["compost-sites"],
            "released_with_id": monday.ids["vehicles"],
        }
    path = f"/hold-entries/{monday.entry()['hold_entry_id']}"
    body = {"state": "released", **went}
    said = monday.client.patch(path, json=body, headers={"If-Match": "*"})
    assert said.status_code == (200 if temperature_c < 60 else 409), said.text
    if said.status_code == 409:
        assert said.json["code"] == "release_refused"
        assert f"{temperature_c} C" in said.json["detail"]
        headers = {"If-Match": "*", "Change-Reason": "The fire service was there."}
        again = monday.client.patch(path, json=body, headers=headers)
        assert again.status_code == with_a_reason, again.text


def test_who_is_sent_to_a_warm_heap_is_told_its_temperature(monday):
    measured(monday, 72)
    measured(monday, 52.4, minutes=60)
    assert monday.entry()["stays"] is None
    ((_, stop),) = stops(monday.routing("2026-05-25"), LOAD_HELD)
    assert stop["temperature_c"] == 52.4
    assert "52.4 C" in stop["caution"]
    today = monday.client.get(f"/vehicles/{monday.ids['vehicles']}/today").json
    (loads,) = [one for one in today["stops"] if one["kind"] == LOAD_HELD]
    assert "52" in loads["caution"]
    lead = joined(monday.world, monday.yard, "crew", crew_id=monday.ids["crews"])
    assert "zmierzono 52" in unescape(lead.get("/screens/round/").text)


def test_what_was_planned_before_it_was_hot_is_neither_sent_off_nor_delivered_to_a_bed(yard):
    (job,) = yard.client.get("/jobs?state=planned").json["items"]
    yard.patch(f"/jobs/{job['id']}", {"state": "cancelled"})
    (load,) = yard.entry()["load_ids"] or yard.routing()["routing"]["held"][0]["load_ids"]
    assert yard.client.get(f"/loads/{load}").json["destination_kind"] == "bed"
    measured(yard, 61)
    for state in ("under_way", "delivered"):
        problem = yard.patch(f"/loads/{load}", {"state": state}, status=409)
        assert problem["code"] == "not_for_this_place"
        assert "61" in problem["detail"]
    assert yard.client.post(f"/loads/{load}/delivery-notes").status_code == 409
    measured(yard, 35, minutes=60)
    yard.patch(f"/loads/{load}", {"state": "under_way"})


def test_the_hottest_spot_of_one_round_counts(yard):
    measured(yard, 61)
    measured(yard, 35, minutes=5, depth_mm=100)
    assert yard.entry()["heat"]["temperature_c"] == 61


@pytest.mark.parametrize(
    ("temperature_c", "level"),
    [
        # Printed in F: 150, 160, 175, 190 and 200 [purdue-hay].
        # At 150 hay is looked at twice a day; what is fresh is looked at more often from 60 C on.
        (65.6, "hot"),
        (71.1, "check_every_two_hours"),
        (79.4, "alert_fire_service"),
        (87.8, "move_only_with_fire_service"),
        (93.3, "fire_imminent"),
    ],
)
def test_the_steps_follow_the_tables_of_hay(yard, temperature_c, level):
    measured(yard, temperature_c)
    heat = yard.entry()["heat"]
    assert heat["level"] == level
    called = any("fire service" in step for step in heat["steps"])
    assert called is (temperature_c >= 79)
    assert "fire service" in heat["caution"]


def test_what_may_burn_is_moved_by_nobody(yard):
    yard.world.clock.move(hours=19)  # Monday: the site is open
    measured(yard, 80)
    waits = yard.entry()
    assert (waits["takers"], waits["why"]["code"]) == ([], "held_fire_danger")
    body = {
        "state": "released",
        "released_to_kind": "compost_site",
        "released_to_id": yard.ids["compost-sites"],
        "released_with_id": yard.ids["vehicles"],
    }
    answer = yard.client.patch(
        f"/hold-entries/{waits['hold_entry_id']}",
        json=body,
        headers={"If-Match": "*", "Change-Reason": "It has to go."},
    )
    assert (answer.status_code, answer.json["code"]) == (409, "release_refused")


def test_a_reading_that_cannot_be_is_refused_with_every_fault(yard):
    problem = measured(yard, 500, status=422, depth_mm=1, measured_by="")
    pointers = {fault["pointer"] for fault in problem["errors"]}
    assert pointers == {"/temperature_c", "/depth_mm", "/measured_by"}
    problem = measured(yard, 40, status=422, at="2026-05-24T05:00:00Z")
    assert [fault["pointer"] for fault in problem["errors"]] == ["/at"]


def test_a_reading_that_is_sent_twice_is_kept_once(yard):
    measured(yard, 41)
    assert len(measured(yard, 41)["temperatures"]) == 1


def test_what_has_left_the_bay_is_not_measured(yard):
    (entry,) = yard.client.get("/hold-entries").json["items"]
    gone = {"state": "released", "released_to": "Hill Farm"}
    yard.patch(f"/hold-entries/{entry['id']}", gone)
    assert measured(yard, 41, status=409)["code"] == "state_not_reachable"


def hot_decision(yard):
    listed = yard.client.get(f"/days/2026-05-24/decisions?depot_id={yard.ids['depots']}").json
    (told,) = [one for one in listed["decisions"] if one["code"] == "held_hot"]
    return told


def test_what_rose_and_to_what_is_told_with_the_hour_of_the_next_look(yard):
    measured(yard, 55)
    measured(yard, 68, minutes=90)
    heat = yard.entry()["heat"]
    assert "It rose from 55 C" in heat["sentence"]
    assert "from warm to hot" in heat["sentence"]
    told = hot_decision(yard)
    assert heat["sentence"] in told["sentence"]
    at, until = map(datetime.fromisoformat, (heat["at"], told["deadline"]))
    assert until - at == timedelta(hours=2)
    assert told["ways"][0]["href"] == "/heap-temperatures"
    measured(yard, 63, minutes=90)
    assert "It fell from 68 C" in yard.entry()["heat"]["sentence"]


def test_nobody_is_asked_to_probe_a_heap_that_may_burn_and_it_is_first(yard):
    measured(yard, 68)
    measured(yard, 80, minutes=90)
    assert "from hot to likely to have hot spots" in yard.entry()["heat"]["sentence"]
    told = hot_decision(yard)
    assert told["deadline"] is None
    assert "/heap-temperatures" not in [way["href"] for way in told["ways"]]


def test_a_hotter_heap_is_never_looked_at_less_often():
    fresh_to_fire = [*HOT_LEVELS[1:], *FIRE_ACTIONS]
    said = [HEAT_STEPS[level] for level in fresh_to_fire]
    assert all(
        any("within two hours" in step or "fire service" in step for step in steps)
        for steps in said
    )


def test_nothing_is_tipped_on_or_beside_a_heap_that_people_keep_away_from(yard):
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    job = yard.mow(yard.lawn("Later"), at="13:20")

    def of_bay():
        (said,) = [
            one
            for one in yard.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
            if one["destination_kind"] == "hold_bay"
        ]
        return said["accepted_kg"] > 0, said["code"]

    assert of_bay() == (True, "bay_volume")
    measured(yard, 66)
    assert of_bay() == (False, "bay_hot")
    plan = yard.routing()
    assert [drop for drop in drops(plan) if drop["destination_kind"] == "hold_bay"] == []
    measured(yard, 45, minutes=120)
    assert of_bay() == (True, "bay_volume")

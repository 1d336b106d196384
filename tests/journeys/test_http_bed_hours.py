"""A client's hours and days at a bed bind whoever comes: verdict, plan, choice, release, tip."""

import pytest

from tests.holds import DAY, Yard

OTHERS = ("es", "fr", "pl", "pt", "ro")
WHY = {"Change-Reason": "The client was there and wanted it."}
SUNDAY = 6


def span(opens, closes, weekday=SUNDAY):
    return {"weekday": weekday, "opens": opens, "closes": closes, "last_load": closes}


@pytest.fixture
def yard():
    """Return a yard at one in the afternoon of a Sunday, with grass aboard."""
    yard = Yard()
    yard.job = yard.mow(yard.lawn("Noon"), at="12:30")
    return yard


def verdict(yard, **headers):
    told = yard.client.get(f"/jobs/{yard.job}/verdicts", headers=headers).json["verdicts"]
    return next(one for one in told if one["destination_kind"] == "bed")


def bed_drops(yard):
    return [
        stop
        for vehicle in yard.routing()["routing"]["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop" and stop["destination_kind"] == "bed"
    ]


def tipped(yard, at, *, headers=None, status=201):
    tip = {
        "vehicle_id": yard.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": yard.ids["beds"],
        "done_at": f"{DAY}T{at}:00+01:00",
        "parts": [{"job_id": yard.job}],
    }
    answer = yard.client.post("/loads", json=tip, headers=headers or {})
    assert answer.status_code == status, answer.text
    return answer.json


NEVER = {
    "never on Sundays": {"hours": [span("00:00", "23:59", day) for day in range(6)]},
    "not on this day": {"closed_on": [DAY]},
}


@pytest.mark.parametrize("said", NEVER.values(), ids=NEVER)
def test_on_a_day_that_the_client_does_not_want_nothing_is_planned_or_chosen(yard, said):
    assert bed_drops(yard)
    yard.patch(yard.bed, said)
    refused = verdict(yard)
    assert (refused["accepted_kg"], refused["code"]) == (0, "bed_closed_day")
    assert (refused["rule_class"], refused["facts"]) == ("client", {"day": DAY})
    assert bed_drops(yard) == []
    wish = {"job_id": yard.job, "destination_id": yard.ids["beds"]}
    problem = yard.client.post("/place-choices", json=wish, headers=WHY).json
    assert problem["code"] == "place_refused"
    assert "Only the client" in problem["detail"]


def test_a_plan_comes_within_the_clients_hours_and_tells_the_crew_of_them(yard):
    yard.patch(f"/crews/{yard.ids['crews']}", {"language": "pl"})
    yard.patch(yard.bed, {"hours": [span("08:00", "09:30"), span("15:00", "16:00")]})
    (drop,) = bed_drops(yard)
    (bed,) = [
        one for one in yard.routing()["routing"]["destinations"] if one["destination_kind"] == "bed"
    ]
    assert bed["last_arrival_at"] == f"{DAY}T16:00:00+01:00"
    assert drop["at"] == f"{DAY}T15:00:00+01:00"
    (word,) = [one for one in drop["cautions"] if one["code"] == "only_between"]
    assert word["facts"] == {"between": "08:00-09:30, 15:00-16:00"}
    assert word["sentence"] == (
        "The client wants deliveries here only at these hours: 08:00-09:30, 15:00-16:00."
    )
    assert (word["language"], "15:00-16:00" in word["for_crew"]) == ("pl", True)
    assert word["for_crew"] != word["sentence"]


@pytest.mark.parametrize(("minutes", "begins"), [(120, "09:"), (330, "14:00"), (450, "14:3")])
def test_both_spans_of_a_day_are_planned_and_who_comes_between_them_waits(minutes, begins):
    yard, monday = Yard(), "2026-05-25"
    hours = [span("08:00", "12:00", weekday=0), span("14:00", "16:00", weekday=0)]
    yard.patch(yard.bed, {"hours": hours})
    planned = {"state": "planned", "planned_at": f"{monday}T07:00:00+01:00", "cut_at": None}
    small = {"area_mowed": {"value": 60, "unit": "m2"}, "minutes_on_site": minutes}
    yard.post("/jobs", yard.yard.job(lawn_id=yard.lawn("Long"), **planned, **small))
    vehicles = yard.routing(monday)["routing"]["vehicles"]
    (drop,) = [s for v in vehicles for s in v["stops"] if s["kind"] == "drop"]
    assert drop["destination_kind"] == "bed"
    assert drop["at"][11:].startswith(begins)


def test_when_the_clients_hours_are_over_nobody_is_sent_there_that_day(yard):
    yard.patch(yard.bed, {"hours": [span("08:00", "12:00")]})
    refused = verdict(yard)
    assert refused["code"] == "bed_closed_hour"
    assert refused["facts"] == {"day": DAY, "between": ["08:00-12:00"], "at_clock": "13:00"}
    said = {verdict(yard, **{"Accept-Language": code})["sentence"] for code in OTHERS}
    assert len(said - {refused["sentence"]}) == len(OTHERS)
    assert bed_drops(yard) == []


def test_a_tip_outside_the_clients_hours_is_kept_only_with_a_reason(yard):
    yard.patch(yard.bed, {"hours": [span("08:00", "12:00"), span("12:50", "16:00")]})
    problem = tipped(yard, "12:40", status=409)
    assert problem["code"] == "outside_hours"
    assert "12:50-16:00" in problem["detail"]
    assert yard.client.get("/loads?state=delivered").json["items"] == []
    load = tipped(yard, "12:40", headers=WHY)
    assert load["state"] == "delivered"
    (item,) = yard.client.get(f"/mass-movements?cause_id={load['id']}").json["items"]
    assert item["reason"] == WHY["Change-Reason"]


def test_a_planned_load_that_is_tipped_late_is_kept_only_with_a_reason(yard):
    yard.patch(yard.bed, {"hours": [span("08:00", "13:30")]})
    (drop,) = bed_drops(yard)
    load = f"/loads/{drop['load_id']}"
    yard.world.clock.move(minutes=45)
    late = {"state": "delivered", "done_at": f"{DAY}T13:40:00+01:00"}
    assert yard.patch(load, late, status=409)["code"] == "outside_hours"
    in_time = {"state": "delivered", "done_at": f"{DAY}T13:20:00+01:00"}
    assert yard.patch(load, in_time)["state"] == "delivered"


def test_held_grass_is_released_within_the_clients_hours_alone(yard):
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    (drop,) = [
        stop
        for vehicle in yard.routing()["routing"]["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "drop"
    ]
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    yard.patch(yard.bed, {"consent": {"state": "given"}, "hours": [span("08:00", "13:30")]})
    assert [one["destination_kind"] for one in yard.queue()[0]["takers"]] == ["bed"]
    yard.world.clock.move(minutes=60)
    (row,) = yard.queue()
    assert (row["takers"], row["why"]["code"]) == ([], "bed_closed_hour")
    release = {
        "state": "released",
        "released_to_kind": "bed",
        "released_to_id": yard.ids["beds"],
        "released_with_id": yard.ids["vehicles"],
    }
    path = f"/hold-entries/{row['hold_entry_id']}"
    refused = yard.client.patch(path, json=release, headers={"If-Match": "*", **WHY})
    assert (refused.status_code, refused.json["code"]) == (409, "release_refused")
    assert "08:00-13:30" in refused.json["detail"]
    # It was there in time, and is said later.
    release["released_at"] = f"{DAY}T13:15:00+01:00"
    kept = yard.client.patch(path, json=release, headers={"If-Match": "*"})
    assert kept.status_code == 200, kept.text


def test_what_is_wrong_with_hours_and_days_is_named(yard):
    for said, where in (
        ({"hours": [span("12:00", "12:00")]}, "/hours/0"),
        ({"closed_on": [DAY, DAY]}, "/closed_on"),
    ):
        problem = yard.client.patch(yard.bed, json=said, headers={"If-Match": "*"}).json
        assert [fault["pointer"] for fault in problem["errors"]] == [where]
    kept = yard.client.get(yard.bed).json
    assert (kept["hours"], kept["closed_on"]) == ([], [])


def test_a_gate_that_opens_long_after_the_shift_is_told_and_not_only_priced(yard):
    much = {"value": 800, "unit": "m2"}
    yard.mow(yard.lawn("Park"), at="12:45", area_mowed=much)
    yard.patch(yard.bed, {"consent": {"state": "refused"}})
    night = {"weekday": SUNDAY, "opens": "22:00", "closes": "06:00", "last_load": "05:30"}
    yard.patch(f"/compost-sites/{yard.ids['compost-sites']}", {"hours": [night]})
    bay = f"/hold-bays/{yard.ids['hold-bays']}"
    assert yard.client.delete(bay, headers={"If-Match": "*"}).status_code == 204
    plan = yard.routing()["routing"]
    (drop,) = [s for v in plan["vehicles"] for s in v["stops"] if s["kind"] == "drop"]
    told = yard.client.get(f"/jobs/{yard.job}/verdicts").json["verdicts"]
    assert "last load 24:00" in " ".join(one["sentence"] for one in told)
    assert drop["at"][11:16] == "22:00"
    (late,) = [one for one in plan["warnings"] if one["code"] == "long_after_shift"]
    assert "The shift ends at" in late["why"]
    assert f"at {drop['destination']} at 22:00" in late["why"]
    decided = yard.client.get(f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}").json
    assert [one["ways"][0]["href"] for one in decided["decisions"] if one["code"] == late["code"]]

"""What is aboard is aboard until it is out, however long, and somebody must act."""

import pytest

from tests.crews import SMALL, Crew, drops
from tests.outages import lots, warnings

MONDAY = "2026-05-18"  # six days before the day on which the world's clock stands


def routing(crew, day, status=200):
    answer = crew.client.get(f"/days/{day}/routing?depot_id={crew.ids['depots']}")
    assert answer.status_code == status, answer.text
    return answer.json


@pytest.fixture
def crew():
    return Crew(bay=True)


@pytest.fixture
def monday(crew):
    """Return the job of a lot that was cut on Monday and reported then, and is still aboard."""
    crew.world.clock.move(days=-6)
    job = crew.mow(crew.lawn("Monday"), day=MONDAY, at="10:00")
    routing(crew, MONDAY)
    return job


@pytest.mark.parametrize("days", [1, 4, 6, 60])
def test_grass_is_aboard_until_it_is_out_on_days_on_which_nobody_works(crew, monday, days):
    crew.world.clock.move(days=days)
    today = crew.world.clock.now().date().isoformat()
    plan = routing(crew, today)
    assert lots(plan)[monday]["lot_code"]
    (warning,) = warnings(plan, "aboard_overnight")
    assert (warning["days"], warning["since"]) == (days, MONDAY)
    assert warning["vehicle_id"] == crew.ids["vehicles"]
    assert warning["must_act"] == "dispatcher"
    (vehicle,) = plan["routing"]["vehicles"]
    assert vehicle["aboard_now"]["mass_high_kg"] == warning["mass_high_kg"] > 0
    (drop,) = drops(plan)
    crew.world.clock.move(minutes=5)
    crew.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    after = routing(crew, today)
    assert warnings(after, "aboard_overnight") == []
    assert after["routing"]["vehicles"][0]["aboard_now"]["mass_high_kg"] == 0
    crew.world.clock.move(days=1)
    routing(crew, crew.world.clock.now().date().isoformat(), status=404)


def test_what_would_change_of_a_lot_aboard_overnight_is_read_of_the_plan_that_routes_it(
    crew, monday
):
    crew.world.clock.move(days=1)
    tuesday = crew.world.clock.now().date().isoformat()
    told = crew.client.get(f"/jobs/{monday}/what-would-change")
    assert told.status_code == 200, told.text
    assert told.json["day"] == tuesday
    planned = {drop["load_id"] for drop in drops(routing(crew, tuesday))}
    assert {load["load_id"] for load in told.json["loads"]} == planned != set()


def test_what_every_place_says_of_a_lot_aboard_overnight_is_of_the_day_that_routes_it(crew, monday):
    crew.world.clock.move(days=1)
    told = crew.client.get(f"/jobs/{monday}/verdicts")
    assert told.status_code == 200, told.text
    assert told.json["day"] == crew.world.clock.now().date().isoformat()


def test_grass_that_stood_too_long_is_sour_wherever_it_is_asked_about(crew, monday):
    assert crew.client.get(f"/jobs/{monday}").json["status"] == "clean"
    crew.world.clock.move(days=1)
    tuesday = crew.world.clock.now().date().isoformat()
    asked = [crew.client.get(f"/jobs/{monday}{part}").json for part in ("", "/verdicts", "/why")]
    asked += crew.client.get("/jobs").json["items"]
    assert [told["status"] for told in asked] == ["sour"] * 4
    assert [one["code"] for one in asked[0]["findings"]] == ["stood_too_long"]
    (drop,) = drops(routing(crew, tuesday))
    crew.world.clock.move(minutes=5)
    crew.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    crew.patch(f"/jobs/{monday}", {"disease_seen": True})
    crew.patch(f"/jobs/{monday}", {"disease_seen": False}, reason="It was dew.")
    assert crew.client.get(f"/loads/{drop['load_id']}").json["status"] == "sour"
    assert crew.client.get(f"/jobs/{monday}").json["status"] == "sour"


def jobs(crew, query):
    """Return the jobs of a list, page by page."""
    found, following = [], f"/jobs?{query}"
    while following is not None:
        page = crew.client.get(following).json
        found += [job["id"] for job in page["items"]]
        following = page["next"]
    return found


@pytest.mark.parametrize("tipped", [False, True])
def test_jobs_are_listed_by_the_status_that_they_are_told_with(crew, monday, tipped):
    weedy = crew.mow(crew.lawn("Weedy"), day=MONDAY, at="10:20", weeds_in_seed=True)
    crew.world.clock.move(days=1)
    fresh = [crew.mow(crew.lawn(name), day="2026-05-19", at="10:30") for name in ("New", "Newer")]
    if tipped:
        site = {"destination_kind": "hold_bay", "destination_id": crew.ids["hold-bays"]}
        body = {"vehicle_id": crew.ids["vehicles"], **site, "parts": [{"job_id": monday}]}
        done_at = crew.world.clock.now().isoformat()
        answer = crew.client.post("/loads", json={**body, "done_at": done_at})
        assert answer.status_code == 201, answer.text
    everything = {job["id"]: job["status"] for job in crew.client.get("/jobs").json["items"]}
    told = {monday: "sour", **dict.fromkeys(fresh, "clean"), weedy: "weedy"}
    # Of what lay in one body one lot alone was tipped: the worst counts of each.
    assert everything == (dict.fromkeys(told, "weedy") if tipped else told)
    for page in ("", "&limit=1"):
        for asked in (["sour"], ["clean"], ["weedy"], ["sour", "weedy"], ["sour", "clean"]):
            query = "&".join(f"status={status}" for status in asked)
            listed = sorted(job for job, said in everything.items() if said in asked)
            assert jobs(crew, query + page) == listed


def test_a_load_that_turned_sour_on_its_way_is_sour_at_the_gate(crew, monday):
    (drop,) = drops(routing(crew, MONDAY))
    crew.patch(f"/loads/{drop['load_id']}", {"state": "under_way"})
    assert crew.client.get(f"/loads/{drop['load_id']}").json["status"] == "clean"
    crew.world.clock.move(days=1)
    why = {"Change-Reason": "It lies there.", "If-Match": "*"}
    address = f"/loads/{drop['load_id']}"
    answer = crew.client.patch(address, json={"state": "delivered"}, headers=why)
    assert answer.status_code == 200, answer.text
    assert crew.client.get(f"/loads/{drop['load_id']}").json["status"] == "sour"
    assert crew.client.get(f"/jobs/{monday}").json["status"] == "sour"


def test_fresh_grass_that_was_tipped_does_not_turn_sour_on_record(crew, monday):
    (drop,) = drops(routing(crew, MONDAY))
    crew.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    crew.world.clock.move(days=3)
    asked = [crew.client.get(f"/jobs/{monday}{part}").json for part in ("", "/verdicts", "/why")]
    assert [told["status"] for told in asked] == ["clean"] * 3


def test_a_load_is_as_old_as_its_cut_is_said_to_be_and_fresh_again_where_that_was_a_mistake(
    crew, monday
):
    (drop,) = drops(routing(crew, MONDAY))
    crew.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})

    def statuses():
        told = (f"/loads/{drop['load_id']}", f"/jobs/{monday}")
        return [crew.client.get(address).json["status"] for address in told]

    assert statuses() == ["clean", "clean"]
    crew.patch(f"/jobs/{monday}", {"cut_at": "2026-05-16T10:00:00+01:00"})
    assert statuses() == ["sour", "sour"]
    crew.patch(f"/jobs/{monday}", {"cut_at": f"{MONDAY}T10:00:00+01:00"})
    assert statuses() == ["clean", "clean"]


def test_a_load_is_as_old_as_its_tip_is_said_to_be_and_fresh_again_where_that_was_a_mistake(
    crew, monday
):
    (drop,) = drops(routing(crew, MONDAY))
    load = f"/loads/{drop['load_id']}"
    crew.patch(load, {"state": "delivered"})
    tipped_at = crew.client.get(load).json["done_at"]
    crew.world.clock.move(days=3)
    later = {"done_at": crew.world.clock.now().isoformat()}
    for done_at, status in ((later, "sour"), ({"done_at": tipped_at}, "clean")):
        crew.patch(load, done_at, reason="The crew looked at its clock again.")
        told = [crew.client.get(one).json["status"] for one in (load, f"/jobs/{monday}")]
        assert told == [status, status]


def test_a_day_that_was_planned_before_sees_what_stayed_aboard(crew, monday):
    crew.plan_to_mow(crew.lawn("Later"))
    assert monday not in lots(crew.read())  # by Monday's plan it will be gone
    crew.world.clock.move(days=6)
    plan = crew.read()
    (warning,) = warnings(plan, "aboard_overnight")
    assert (warning["days"], warning["must_act"]) == (6, "crew")
    assert monday in lots(plan)


def test_what_was_cut_long_ago_and_told_today_is_aboard_today(crew):
    crew.plan_to_mow(crew.lawn("Today"))
    crew.read()
    late = crew.mow(crew.lawn("Late"), day="2025-12-30", at="10:00")
    (warning,) = warnings(crew.read(), "aboard_overnight")
    assert warning["since"] == "2025-12-30"
    assert late in lots(crew.read())


@pytest.mark.parametrize(("day", "status"), [("2025-05-24", 201), ("1995-05-24", 422)])
def test_a_cut_of_more_than_a_year_and_a_day_ago_is_no_cut_to_be_routed(crew, day, status):
    cut = {"cut_at": f"{day}T09:00:00+01:00", "lawn_id": crew.lawn("Old"), "area_mowed": SMALL}
    answer = crew.client.post("/jobs", json=crew.yard.job(**cut))
    assert answer.status_code == status, answer.text
    if status == 422:
        (fault,) = answer.json["errors"]
        assert fault["pointer"] == "/cut_at"
        assert "opening balance" in fault["detail"]


@pytest.mark.usefixtures("monday")
def test_half_of_it_that_was_refused_stays_aboard(crew):
    (drop,) = drops(routing(crew, MONDAY))
    crew.world.clock.move(minutes=5)
    half = {"state": "partly_refused", "refused_share": 0.5, "refusal_reason": "Too much."}
    crew.patch(f"/loads/{drop['load_id']}", half)
    whole = crew.client.get(f"/loads/{drop['load_id']}").json["mass_kg"]["high"]
    crew.world.clock.move(days=20)
    (warning,) = warnings(routing(crew, "2026-06-07"), "aboard_overnight")
    assert warning["mass_high_kg"] == pytest.approx(whole / 2, abs=1)


@pytest.mark.usefixtures("monday")
def test_a_load_that_is_under_way_for_weeks_is_not_planned_twice(crew):
    (drop,) = drops(routing(crew, MONDAY))
    crew.world.clock.move(minutes=5)
    crew.patch(f"/loads/{drop['load_id']}", {"state": "under_way"})
    crew.world.clock.move(days=20)
    crew.plan_to_mow(crew.lawn("Today"))
    routing(crew, "2026-06-07", status=404)


@pytest.mark.usefixtures("monday")
def test_the_plan_brings_away_what_lay_aboard_overnight_before_anything_is_bagged_on_top(crew):
    crew.crews_cost(10_000)  # a tip more is never worth it
    crew.world.clock.move(days=1)
    tuesday = crew.world.clock.now().date().isoformat()
    lawn = crew.lawn("Tuesday")
    at = f"{tuesday}T16:00:00+01:00"
    crew.plan_to_mow(lawn, planned_at=at, treatment_history="none_recorded")
    plan = routing(crew, tuesday)
    (vehicle,) = plan["routing"]["vehicles"]
    assert [stop["kind"] for stop in vehicle["stops"]] == ["drop", "job", "drop"]
    (first, second) = drops(plan)
    assert (first["status"], second["status"]) == ("sour", "clean")
    (warning,) = warnings(plan, "aboard_overnight")
    assert first["mass_kg"]["high"] == warning["mass_high_kg"]


@pytest.mark.usefixtures("monday")
def test_a_crew_does_not_wait_with_its_mowing_for_whoever_takes_the_old_grass_later(crew):
    crew.world.clock.move(days=1)
    tuesday = crew.world.clock.now()
    late = {"weekday": tuesday.weekday(), "opens": "16:30", "closes": "17:30", "last_load": "17:00"}
    site = f"/compost-sites/{crew.ids['compost-sites']}"
    crew.patch(site, {"hours": [late], "takes_sour": True})
    said = crew.client.delete(f"/hold-bays/{crew.ids['hold-bays']}", headers={"If-Match": "*"})
    assert said.status_code == 204, said.text
    at = f"{tuesday.date().isoformat()}T15:00:00+01:00"
    crew.plan_to_mow(crew.lawn("Tuesday"), planned_at=at, treatment_history="none_recorded")
    (vehicle,) = routing(crew, tuesday.date().isoformat())["routing"]["vehicles"]
    assert [stop["kind"] for stop in vehicle["stops"]] == ["job", "drop"]


@pytest.mark.usefixtures("monday")
def test_a_vehicle_whose_old_grass_nobody_takes_still_mows(crew):
    crew.world.clock.move(days=1)
    tuesday = crew.world.clock.now().date().isoformat()
    for path in ("hold-bays", "compost-sites"):
        said = crew.client.delete(f"/{path}/{crew.ids[path]}", headers={"If-Match": "*"})
        assert said.status_code == 204, said.text
    at = f"{tuesday}T16:00:00+01:00"
    job = crew.plan_to_mow(crew.lawn("Tuesday"), planned_at=at, treatment_history="none_recorded")
    plan = routing(crew, tuesday)
    assert job in lots(plan)
    assert plan["routing"]["unplaced"]

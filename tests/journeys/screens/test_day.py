"""The dispatcher's screen: it plans nothing by being looked at, and its forms keep what is said."""

import re
from datetime import timedelta

import pytest

from tests.holds import Yard as HoldYard
from tests.screens import OURS, joined
from tests.worlds import furnish


def plans(yard):
    return len(yard.client.get("/day-plans").json["items"])


def mark(device, yard, **headers):
    query = {"depot": yard.ids["depots"], "day": "2026-05-24"}
    return device.get("/screens/day/mark", query_string=query, headers=headers)


def load_of(yard):
    return yard.client.get(f"/loads/{yard.ids['loads']}").json


def say(device, address, **form):
    return device.post(f"/screens/day/{address}", data=form, headers=OURS)


def mow_another(yard):
    where = {"lawn_id": None, "property_id": yard.ids["properties"]}
    body = yard.job(area_mowed={"value": 30, "unit": "m2"}, **where)
    assert yard.client.post("/jobs", json=body).status_code == 201


def test_a_look_plans_nothing_and_says_how_far_behind_it_is(yard, office):
    before = plans(yard)
    assert "Behind:" not in office.get("/screens/day").text
    mow_another(yard)
    assert "1 record came in after this plan" in office.get("/screens/day").text
    assert plans(yard) == before
    answer = say(office, "plan", depot=yard.ids["depots"], day="2026-05-24")
    assert answer.status_code == 303
    assert plans(yard) == before + 1
    assert "Behind:" not in office.get("/screens/day").text


def test_a_day_that_is_over_offers_nothing_that_can_only_be_done_on_a_day_that_is_not(
    world, yard, office
):
    mow_another(yard)
    offered = ("It is out", ">Suppose<", "Plan with it", "Search the whole day again")
    page = office.get("/screens/day?day=2026-05-24").text
    assert [words for words in offered if words not in page] == []
    world.clock.at += timedelta(days=1)
    page = office.get("/screens/day?day=2026-05-24").text
    assert [words for words in offered if words in page] == []
    assert "1 record came in after the last plan of this day." in page
    page = office.get("/screens/day?day=2026-05-20").text
    assert "this day is over, and was not planned" in page
    assert "Plan the day" not in page


def test_a_lawn_that_is_not_mown_yet_has_left_nothing_on_it(yard, office):
    planned = {"state": "planned", "planned_at": "2026-05-24T15:00:00+01:00", "cut_at": None}
    job = yard.client.post("/jobs", json=yard.job(**planned, clippings="left"))
    assert job.status_code == 201, job.text
    say(office, "plan", depot=yard.ids["depots"], day="2026-05-24")
    page = office.get("/screens/day").text
    assert "<strong>To be left on the lawn</strong>" in page
    assert f'id="lot-{job.json["lot_code"]}"' in page
    assert "<strong>to be left on the lawn</strong>" in page
    assert "<strong>Left on the lawn</strong>" not in page
    assert "As the crew recorded it" not in page


def test_the_hours_recorded_of_a_lawn_stand_where_it_is_mown_and_that_the_plan_misses_them(
    yard, office
):
    planned = {"state": "planned", "planned_at": "2026-05-24T15:00:00+01:00", "cut_at": None}
    assert yard.client.post("/jobs", json=yard.job(**planned)).status_code == 201

    def seen(opens, closes):
        span = {"weekday": 6, "opens": opens, "closes": closes, "last_load": closes}
        address, change = f"/lawns/{yard.ids['lawns']}", {"mowing_hours": [span]}
        told = yard.client.patch(address, json=change, headers={"If-Match": "*"})
        assert told.status_code == 200, told.text
        say(office, "plan", depot=yard.ids["depots"], day="2026-05-24")
        return office.get("/screens/day").text

    assert "Mowing begins between 15:30-17:00: the hours recorded of this lawn." in seen(
        "15:30", "17:00"
    )
    assert "By the hours recorded of this lawn, mowing begins between 06:00-06:30" in seen(
        "06:00", "06:30"
    )


def test_news_is_asked_for_cheaply(yard, office):
    first = mark(office, yard)
    tag = first.headers["ETag"]
    again = mark(office, yard, **{"If-None-Match": tag})
    assert (again.status_code, again.data) == (304, b"")
    mow_another(yard)
    assert mark(office, yard, **{"If-None-Match": tag}).status_code == 200


def test_a_load_is_locked_and_told_under_way_as_by_the_interface(yard, office):
    load = load_of(yard)
    assert (
        say(office, f"loads/{load['id']}", act="lock", version=load["version"]).status_code == 303
    )
    assert load_of(yard)["locked"] is True
    page = office.get(f"/screens/day/loads/{load['id']}").text
    assert "Unlock it" in page
    facts = dict(re.findall(r"<dt>([^<]+)</dt><dd[^>]*>(.*?)</dd>", page))
    assert facts["State"].startswith("planned, due ")
    assert (
        facts["Vehicle"] == yard.client.get(f"/vehicles/{load['vehicle_id']}").json["registration"]
    )
    assert "Orchard Street" in facts["Lots"]
    version = load_of(yard)["version"]
    say(office, f"loads/{load['id']}", act="under_way", version=version)
    assert load_of(yard)["state"] == "under_way"
    page = office.get(f"/screens/day/loads/{load['id']}").text
    assert "Take back “on its way”" in page
    form = {"refusal_reason": "Too wet", "refused_percent": "40", "act": "partly_refused"}
    say(office, f"loads/{load['id']}", version=load_of(yard)["version"], **form)
    assert (load_of(yard)["state"], load_of(yard)["refused_share"]) == ("partly_refused", 0.4)


def test_what_somebody_else_changed_meanwhile_is_not_overwritten(yard, office):
    load = load_of(yard)
    say(office, f"loads/{load['id']}", act="lock", version=load["version"])
    answer = say(office, f"loads/{load['id']}", act="unlock", version=load["version"])
    assert answer.status_code == 412
    assert load_of(yard)["locked"] is True


def test_a_form_names_every_fault_and_keeps_nothing(yard, office):
    load = load_of(yard)
    answer = say(office, f"loads/{load['id']}", act="partly_refused", version=load["version"])
    assert answer.status_code == 422
    assert "some text" in answer.text
    assert "a number from 1 to 99" in answer.text
    assert load_of(yard) == load


@pytest.mark.parametrize("day", ["", "tomorrow", "2026-02-30", "0001-01-01", "9999-12-31"])
def test_what_is_no_day_is_said_to_be_none(yard, office, day):
    depot = yard.ids["depots"]
    answer = say(office, "plan", depot=depot, day=day)
    assert answer.status_code == 422
    assert "a day such as 2026-05-24" in answer.text
    for place in ("day/mark", "day", "evening.csv"):
        asked = office.get(f"/screens/{place}?depot={depot}&day={day or 'x'}")
        assert asked.status_code == 422, place


def test_a_vehicle_that_is_out_and_works_again(world, yard, office):
    vehicle = yard.ids["vehicles"]
    say(office, f"vehicles/{vehicle}", act="out", reason="Flat tyre")
    page = office.get("/screens/day").text
    assert "Flat tyre" in page
    outage = re.search(r'name="outage" value="([^"]+)"', page)[1]
    world.clock.move(minutes=40)
    answer = say(office, f"vehicles/{vehicle}", act="works_again", outage=outage)
    assert answer.status_code == 303
    assert yard.client.get(f"/vehicle-outages/{outage}").json["back_at"] is not None


def test_a_vehicle_that_says_nothing_is_due_and_then_late(world, yard, office):
    soon = {"state": "planned", "cut_at": None}
    for clock in ("13:00", "15:00"):
        body = yard.job(**soon, planned_at=f"2026-05-24T{clock}:00+01:00")
        assert yard.client.post("/jobs", json=body).status_code == 201
    say(office, "plan", depot=yard.ids["depots"], day="2026-05-24")
    told = []
    for _ in range(50):
        page = office.get("/screens/day").text
        told.append(
            "late" if "Late:" in page else "due" if "due and not reported" in page else "ahead"
        )
        world.clock.move(minutes=5)
    assert list(dict.fromkeys(told)) == ["ahead", "due", "late"]


def test_a_gate_that_shuts_early_is_kept_with_the_hour_it_was_said(world, yard, office):
    site = yard.ids["compost-sites"]
    form = {"depot": yard.ids["depots"], "state": "open", "shuts": "15:30", "note": "no turner"}
    assert say(office, f"sites/{site}", **form).status_code == 303
    said = yard.client.get(f"/compost-sites/{site}").json["live_status"]
    assert said["note"] == "no turner"
    assert said["as_of"] == world.clock.now().isoformat().replace("+00:00", "Z")


def test_a_site_that_was_said_to_be_shut_can_be_said_to_be_open_again(yard, office):
    site = yard.ids["compost-sites"]
    say(office, f"sites/{site}", state="closed", depot=yard.ids["depots"])
    page = office.get("/screens/day").text
    assert "takes nothing of this day" in page
    assert f"/screens/day/sites/{site}" in page


def test_clippings_leave_the_bay_with_a_word_where_to(yard, office):
    held = yard.client.get("/loads?destination_kind=hold_bay").json["items"][0]
    say(office, f"loads/{held['id']}", act="delivered", version=held["version"])
    entry = yard.client.get(f"/hold-entries?load_id={held['id']}").json["items"][0]
    assert entry["state"] == "in_bay"
    form = {"depot": yard.ids["depots"], "version": entry["version"]}
    assert say(office, f"held/{entry['id']}", **form).status_code == 422
    planned = say(office, "plan", depot=yard.ids["depots"], day="2026-05-25", whole="1")
    assert planned.status_code == 303
    assert entry["lot_codes"][0] in office.get("/screens/day?day=2026-05-25").text
    site = f"compost_site {yard.ids['compost-sites']}"
    there = {"place": site, "vehicle": yard.ids["vehicles"]}
    assert say(office, f"held/{entry['id']}", **there, **form).status_code == 409
    assert say(office, f"held/{entry['id']}", released_to="Hill Farm", **form).status_code == 303
    assert yard.client.get(f"/hold-entries/{entry['id']}").json["state"] == "released"


def test_another_seat_and_another_firm_see_nothing_of_it(world, yard, office):
    crew = joined(world, yard, "crew", crew_id=yard.ids["crews"])
    for address in ("day", "people", f"day/loads/{yard.ids['loads']}"):
        assert crew.get(f"/screens/{address}").status_code == 403
    others = furnish(world)
    theirs = joined(world, others, "dispatcher")
    assert theirs.get(f"/screens/day/loads/{yard.ids['loads']}").status_code == 404
    assert theirs.get(f"/screens/day?depot={yard.ids['depots']}").status_code == 404
    assert say(theirs, f"loads/{yard.ids['loads']}", act="lock", version=1).status_code == 404
    assert office.get("/screens/day").status_code == 200


def test_a_day_without_a_plan_says_so_and_a_firm_without_a_depot_is_set_up_first(world, office):
    assert "nobody has planned this day" in office.get("/screens/day?day=2026-06-01").text
    assert office.get("/screens/day?day=soon").status_code == 422
    bare = furnish(world, without=frozenset({"depots", "hold-bays", "vehicles", "crews"}))
    sent = joined(world, bare, "owner").get("/screens/day")
    assert (sent.status_code, sent.headers["Location"]) == (303, "/screens/setup")


def test_a_person_is_invited_by_a_square_code_and_shown_out(world, yard, office):
    form = {"seat": "crew", "name": "Kasia", "crew_id": yard.ids["crews"]}
    assert office.post("/screens/people", data=form, headers=OURS).status_code == 303
    page = office.get("/screens/people").text
    link = re.search(r'value="http://127.0.0.1:8080(/join/[^"]+)"', page)[1]
    device = world.app.test_client()
    assert device.post(link, headers=OURS).status_code == 303
    session = next(one for one in yard.client.get("/sessions").json["items"] if one["crew_id"])
    office.post(f"/screens/people/{session['id']}/end", headers=OURS)
    assert device.get("/screens").status_code == 401
    wrong = office.post("/screens/people", data={"seat": "owner", "name": "X"}, headers=OURS)
    assert wrong.status_code == 403


HELD_STOP = {
    "kind": "load_held",
    "hold_entry_id": "0192f0c1-2b3c-7def-8123-456789abcdef",
    "lot_codes": ["L-HELD"],
    "mass_high_kg": 40,
    "volume_high_l": 200,
    "loading_minutes": 6,
    "caution": "Two people.",
}
FORKED = {
    "kind": "pick_up",
    "job_id": "0192f0c1-2b3c-7def-8123-456789abcde1",
    "taken_over_from_id": "0192f0c1-2b3c-7def-8123-456789abcde2",
    "from_registration": "AB99 ZZZ",
    "lot_codes": ["L-FORKED"],
    "mass_high_kg": 40,
    "volume_high_l": 200,
    "caution": "Two people.",
}
PLACED = {"at": "2026-05-24T15:00:00+01:00", "done": False, "longitude": -1.3, "latitude": 51.8}


def test_every_kind_of_stop_is_shown_also_one_that_came_later(world, yard, office):
    with world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        plan = unit.day_plans.all(firm.id)[-1]
        vehicle = plan.routing["vehicles"][0]
        for stop in (HELD_STOP, FORKED, {"kind": "drive_home"}):
            vehicle["stops"].append({**stop, **PLACED})
        unit.commit()
    page = office.get("/screens/day").text
    for told in ("Load from the bay", "L-HELD", "Fork over", "L-FORKED", "Drive home"):
        assert told in page
    lead = joined(world, yard, "crew", crew_id=yard.ids["crews"])
    told = lead.get("/screens/round/")
    assert told.status_code == 200
    assert "Drive home" in told.text


def test_a_supposed_day_is_told_as_a_difference_and_nothing_of_it_is_kept(yard, office):
    before = plans(yard)
    page = office.get("/screens/day/suppose").text
    assert "It rains on what is still to be mown" in page
    day = {"depot": yard.ids["depots"], "day": "2026-05-24"}
    site = yard.ids["compost-sites"]
    told = say(office, "suppose", **day, shut=site, rain="1").text
    name = yard.client.get(f"/compost-sites/{site}").json["name"]
    assert f"If {name} is shut and it rains on what is still to be mown" in told
    assert "Cost of the day, GBP" in told
    assert plans(yard) == before
    assert yard.client.get(f"/compost-sites/{site}").json["live_status"]["state"] == "unknown"
    assert "Choose at least one thing to suppose." in say(office, "suppose", **day).text
    assert say(office, "suppose", **day, out="anybody").status_code == 422


def test_what_is_held_and_clean_goes_into_water_as_liquid_feed():
    hold = HoldYard()
    hold.patch(hold.bed, {"consent": {"state": "refused"}})
    hold.held()
    hold.routing()
    office = joined(hold.world, hold, "dispatcher")
    page = office.get("/screens/day").text
    assert "into water, as liquid feed" in page
    assert "do not pour it on leaves that are eaten" in page
    (entry,) = hold.client.get("/hold-entries").json["items"]
    form = {"depot": hold.ids["depots"], "version": entry["version"], "place": "liquid_feed"}
    assert say(office, f"held/{entry['id']}", **form).status_code == 303
    kept = hold.client.get(f"/hold-entries/{entry['id']}").json
    assert (kept["state"], kept["released_as"]) == ("released", "liquid_feed")
    assert "L of water" in kept["released_to"]


def test_a_part_of_what_is_held_goes_to_a_bed_once_and_the_rest_is_shown():
    hold = HoldYard()
    hold.patch(hold.bed, {"consent": {"state": "refused"}})
    hold.held(area_mowed={"value": 240, "unit": "m2"})
    hold.patch(hold.bed, {"consent": {"state": "given"}})
    hold.world.clock.move(minutes=10)
    hold.routing()
    office = joined(hold.world, hold, "dispatcher")
    assert "if not all of it" in office.get("/screens/day").text
    (entry,) = hold.client.get("/hold-entries").json["items"]
    form = {"depot": hold.ids["depots"], "version": entry["version"], "mass_kg": "12"}
    form |= {"vehicle": hold.ids["vehicles"], "released_to": "rang"}
    told = say(office, f"held/{entry['id']}", **form)
    assert (told.status_code, "a bed or a site" in told.text) == (422, True)
    bed = {"place": f"bed {hold.ids['beds']}"}
    assert say(office, f"held/{entry['id']}", **form, **bed).status_code == 303
    assert say(office, f"held/{entry['id']}", **form, **bed).status_code == 412
    (load,) = hold.client.get("/loads?destination_kind=bed&state=delivered").json["items"]
    assert load["mass_kg"]["likely"] == pytest.approx(12)
    (row,) = hold.queue()
    assert row["mass_kg"]["likely"] == round(entry["mass_kg"]["likely"] - 12)


@pytest.mark.parametrize(("word", "state"), [("another_cut", "mown"), ("the_same", "cancelled")])
def test_a_possible_duplicate_is_decided_on_the_day_page(yard, office, word, state):
    again = yard.job(area_mowed={"value": 450, "unit": "m2"}, cut_at="2026-05-24T10:50:00+01:00")
    office.get("/screens/day")
    mark = f"/screens/day/mark?depot={yard.ids['depots']}&day=2026-05-24"
    seen = {"If-None-Match": office.get(mark).headers["ETag"]}
    assert office.get(mark, headers=seen).status_code == 304
    kept = yard.client.post("/jobs", json=again).json
    assert kept["state"] == "possible_duplicate"
    assert office.get(mark, headers=seen).status_code == 200  # an open page looks again
    shown = office.get("/screens/day").text
    assert "Said twice?" in shown
    assert f"/screens/day/jobs/{kept['id']}/decision" in shown
    answer = say(
        office,
        f"jobs/{kept['id']}/decision",
        decision=word,
        depot=yard.ids["depots"],
        day="2026-05-24",
    )
    assert answer.status_code == 303
    assert yard.client.get(f"/jobs/{kept['id']}").json["state"] == state
    assert "Said twice?" not in office.get("/screens/day").text


def test_what_was_said_of_a_load_is_taken_back_on_the_day_page(yard, office):
    job = load_of(yard)["parts"][0]["job_id"]
    said = {"state": "refused", "refusal_reason": "litter"}
    path = f"/loads/{yard.ids['loads']}"
    answer = yard.client.patch(path, json=said, headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.text
    shown = office.get("/screens/day").text
    assert "It counts as littered until" in shown
    form = {"decision": "as_recorded", "depot": yard.ids["depots"], "day": "2026-05-24"}
    assert say(office, f"jobs/{job}/decision", **form).status_code == 422
    answer = say(office, f"jobs/{job}/decision", **form, reason="It was on the ground there.")
    assert answer.status_code == 303
    assert yard.client.get(f"/jobs/{job}").json["status"] == "clean"
    assert "It counts as littered until" not in office.get("/screens/day").text


def test_who_knows_says_on_the_day_page_that_a_cut_is_as_large_as_recorded(yard, office):
    weighed = {"measured_mass": {"value": 6, "unit": "t"}, "cut_at": "2026-05-24T09:10:00+01:00"}
    job = yard.client.post("/jobs", json=yard.job(**weighed)).json["id"]
    assert "Measured so?" in office.get("/screens/day").text
    form = {"decision": "size_is_so", "depot": yard.ids["depots"], "day": "2026-05-24"}
    assert say(office, f"jobs/{job}/decision", **form).status_code == 303
    assert yard.client.get(f"/jobs/{job}").json["size_confirmed"]["said_by"]
    assert "Measured so?" not in office.get("/screens/day").text

"""The gate of a compost site: what comes, what it says, and nothing of anybody's address."""

import re
from datetime import datetime
from html import unescape
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from service.api.books import clients, crews, sites
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from tests.journeys.screens.gate.loads import load_of
from tests.screens import OURS, joined


@pytest.fixture
def gate(world, yard):
    return joined(world, yard, "site", compost_site_id=yard.ids["compost-sites"])


def say(device, load, **form):
    return device.post(f"/screens/gate/loads/{load['id']}", data=form, headers=OURS)


def test_a_gate_sees_what_comes_with_its_range_and_no_address(yard, gate):
    page = gate.get("/screens/gate").text
    load = load_of(yard)
    assert crews.VEHICLES.example["registration"] in page
    assert f'<span class="whole">{load["parts"][0]["lot_code"]}</span>' in page
    assert "Loads: 1. Together" in page
    private = [clients.CLIENTS.example["name"], clients.PROPERTIES.example["address"]]
    assert [word for word in private if word in page] == []


def test_a_load_is_taken_with_its_weight_and_not_twice(world, yard, gate):
    load = load_of(yard)
    assert say(gate, load, act="delivered", seen="planned", weighed_kg="41").status_code == 422
    ticket = {"weighed_kg": "41", "weigh_ticket": "W-9"}
    assert say(gate, load, act="delivered", seen="planned", **ticket).status_code == 303
    kept = load_of(yard)
    assert (kept["state"], kept["weighed_net_kg"]) == ("delivered", 41)
    assert say(gate, load, act="refused", seen="planned", refusal_reason="X").status_code == 409
    estimated = f"{kept['mass_kg']['low']:,.0f} kg to"
    shown = gate.get("/screens/gate").text.replace("\xa0", " ")
    assert "ticket W-9" in shown
    assert shown.index(estimated) < shown.index("41 kg")
    # The office sees both beside each other, too.
    day = joined(world, yard, "dispatcher").get("/screens/day").text.replace("\xa0", " ")
    drop = day.partition(f'id="load-{load["id"]}"')[2]
    assert drop.index(estimated) < drop.index("weighed <") < drop.index("41 kg")


PART = {"act": "partly_refused", "seen": "planned", "refusal_reason": "Full", "refused_percent": 50}


def test_a_part_that_was_taken_has_its_weight_and_ticket(yard, gate):
    load = load_of(yard)
    assert say(gate, load, **PART, weighed_kg="20").status_code == 422
    assert say(gate, load, **PART, weighed_kg="20", weigh_ticket="W-3").status_code == 303
    kept = load_of(yard)
    assert (kept["state"], kept["refused_share"]) == ("partly_refused", 0.5)
    assert (kept["weighed_net_kg"], kept["weigh_ticket"]) == (20, "W-3")


@pytest.mark.parametrize("taken", [PART, {"act": "delivered", "seen": "planned"}])
def test_a_weight_is_said_later_and_mended_by_the_gate(yard, gate, taken):
    load = load_of(yard)
    assert say(gate, load, **taken).status_code == 303
    assert 'name="act" value="weighed"' in gate.get("/screens/gate").text
    seen = {"act": "weighed", "seen": load_of(yard)["state"]}
    assert say(gate, load, **seen, weighed_kg="20").status_code == 422
    for kg in (200, 20):
        ticket = {"weighed_kg": str(kg), "weigh_ticket": "W-3"}
        assert say(gate, load, **seen, **ticket).status_code == 303
        assert load_of(yard)["weighed_net_kg"] == kg
    assert load_of(yard)["state"] == seen["seen"]


def test_what_is_still_ahead_has_no_weight_of_what_came(yard, gate):
    ticket = {"act": "weighed", "weighed_kg": "20", "weigh_ticket": "W-3"}
    assert say(gate, load_of(yard), **ticket, seen="planned").status_code in {409, 422}
    assert load_of(yard)["weighed_net"] is None


@pytest.mark.parametrize("when", ["beside", "later"])
def test_a_weight_of_what_was_sent_away_is_of_all_that_came_and_nothing_stayed(yard, gate, when):
    load = load_of(yard)
    weighed_kg = round(load["mass_kg"]["high"])
    ticket = {"weighed_kg": str(weighed_kg), "weigh_ticket": "W-9"}
    refused = {"act": "refused", "seen": "planned", "refusal_reason": "Full"}
    assert say(gate, load, **refused, weighed_kg="41").status_code == 422
    beside = ticket if when == "beside" else {}
    assert say(gate, load, **refused, **beside).status_code == 303
    if when == "later":
        later = {"act": "weighed", "seen": "refused"}
        assert say(gate, load, **later, **ticket).status_code == 303
    kept = yard.client.get(f"/loads/{load['id']}").json
    assert (kept["state"], kept["weigh_ticket"]) == ("refused", "W-9")
    assert kept["weighed_net_kg"] == weighed_kg
    assert kept["weight_counts"]  # within the estimate of all of it: nobody need look
    assert "ticket W-9" in gate.get("/screens/gate").text
    balances = yard.client.get("/mass-balances").json["balances"]
    there = [row for row in balances if row["place_id"] == yard.ids["compost-sites"]]
    assert sum(row["counted_kg"] for row in there) == 0


def test_who_weighs_the_part_that_stayed_need_not_guess_its_share(yard, gate):
    load = load_of(yard)
    part = {**PART, "refused_percent": ""}
    assert say(gate, load, **part).status_code == 422
    likely_kg = load["mass_kg"]["likely"]
    too_much = {"weighed_kg": f"{likely_kg * 1.1:.0f}", "weigh_ticket": "W-3"}
    assert say(gate, load, **part, **too_much).status_code == 422
    stayed = {"weighed_kg": f"{likely_kg / 4:.2f}", "weigh_ticket": "W-3"}
    assert say(gate, load, **part, **stayed).status_code == 303
    kept = yard.client.get(f"/loads/{load['id']}").json
    assert kept["state"] == "partly_refused"
    assert kept["refused_share"] == pytest.approx(0.75, abs=0.001)


def test_what_was_weighed_as_it_came_and_what_stayed_of_it_say_the_share(yard, gate):
    load = load_of(yard)
    came = {"weighed_net": {"value": 48, "unit": "kg"}, "weigh_ticket": "W-1"}
    came |= {"at_gate_at": "2026-05-24T11:00:00Z"}
    answer = yard.client.patch(f"/loads/{load['id']}", json=came, headers={"If-Match": "*"})
    assert answer.status_code == 200, answer.text
    part = {**PART, "refused_percent": "", "weighed_kg": "12", "weigh_ticket": "W-2"}
    assert say(gate, load, **part).status_code == 303
    kept = yard.client.get(f"/loads/{load['id']}").json
    assert (kept["refused_share"], kept["weighed_net_kg"]) == (0.75, 12)


def test_a_weight_of_all_that_came_is_not_taken_for_that_of_the_part_that_stayed(yard, gate):
    load = load_of(yard)
    came = {"weighed_net": {"value": 48, "unit": "kg"}, "weigh_ticket": "W-1"}
    came |= {"at_gate_at": "2026-05-24T11:00:00Z"}
    yard.client.patch(f"/loads/{load['id']}", json=came, headers={"If-Match": "*"})
    assert say(gate, load, **PART).status_code == 303
    kept = yard.client.get(f"/loads/{load['id']}").json
    assert (kept["weighed_net_kg"], kept["weigh_ticket"]) == (48, "W-1")
    assert not kept["weight_counts"]


def test_a_refusal_has_a_reason_and_the_day_is_planned_around_it(yard, gate):
    load = load_of(yard)
    assert say(gate, load, act="refused", seen="planned").status_code == 422
    refused = {"act": "refused", "seen": "planned", "refusal_reason": "Litter in it"}
    assert say(gate, load, **refused).status_code == 303
    plans = yard.client.get("/day-plans").json["items"]
    assert len(plans) == 2
    assert "Litter in it" in gate.get("/screens/gate").text


def test_a_truck_whose_grass_nobody_recorded_as_mown_is_said_to_be_there_and_the_office_asks(
    world, yard, gate
):
    planned = {"state": "planned", "planned_at": "2026-05-24T15:00:00+01:00"}
    job = {**yard.job(area_mowed={"value": 60, "unit": "m2"}), **planned}
    job.pop("cut_at")
    job = yard.client.post("/jobs", json=job).json
    yard.client.post("/day-plans", json={"depot_id": yard.ids["depots"], "day": "2026-05-24"})

    def load_of_it():
        loads = yard.client.get("/loads?state=planned").json["items"]
        return next(one for one in loads if job["id"] in {p["job_id"] for p in one["parts"]})

    def told():
        query = {"depot_id": yard.ids["depots"]}
        items = yard.client.get("/days/2026-05-24/decisions", query_string=query).json["decisions"]
        return [one for one in items if one["code"] == "at_gate"]

    load = load_of_it()
    page = gate.get("/screens/gate").text
    assert "not on record as mown yet" in page
    assert say(gate, load, act="here", seen="planned").status_code == 303
    kept = load_of_it()
    assert (kept["id"], kept["locked"]) == (load["id"], False)  # nobody locked it
    assert "here since" in gate.get("/screens/gate").text
    office = joined(world, yard, "dispatcher")
    yard.client.post("/day-plans", json={"depot_id": yard.ids["depots"], "day": "2026-05-24"})
    at_clock = datetime.fromisoformat(kept["at_gate_at"]).astimezone(ZoneInfo("Europe/London"))
    assert f"at the gate since {at_clock:%H:%M}" in office.get("/screens/day").text
    (item,) = told()
    assert item["urgency"] == "now"
    assert "record the cut" in item["sentence"]
    assert f"/jobs/{job['id']}" in [way["href"] for way in item["ways"]]

    # Said again it stays as it was; said of what never was planned for a gate it is refused.
    say(gate, load, act="here", seen="planned")
    assert load_of_it()["at_gate_at"] == kept["at_gate_at"]
    ahead = {"at_gate_at": "2026-05-24T23:00:00Z"}
    refused = yard.client.patch(f"/loads/{load['id']}", json=ahead, headers={"If-Match": "*"})
    assert [fault["pointer"] for fault in refused.json["errors"]] == ["/at_gate_at"]
    back = {"at_gate_at": None}
    freed = yard.client.patch(f"/loads/{load['id']}", json=back, headers={"If-Match": "*"})
    assert (freed.json["locked"], told()) == (False, [])


def unmown(yard):
    """Return a job that is planned alone, and its load for the gate."""
    planned = {"state": "planned", "planned_at": "2026-05-24T11:00:00+01:00"}
    job = {**yard.job(area_mowed={"value": 60, "unit": "m2"}), **planned}
    job.pop("cut_at")
    job = yard.client.post("/jobs", json=job).json
    planned_again(yard)
    loads = yard.client.get("/loads?state=planned").json["items"]
    load = next(one for one in loads if job["id"] in {p["job_id"] for p in one["parts"]})
    return job, load


def planned_again(yard):
    yard.client.post("/day-plans", json={"depot_id": yard.ids["depots"], "day": "2026-05-24"})


@pytest.mark.parametrize("act", ["here", "delivered"])
def test_what_a_gate_weighs_before_the_crew_told_of_the_cut_is_of_the_tip_it_tells_later(
    yard, gate, act
):
    job, load = unmown(yard)
    ticket = {"weighed_kg": "41", "weigh_ticket": "W-9"}
    assert say(gate, load, act=act, seen="planned", **ticket).status_code == 303
    planned_again(yard)
    assert "ticket W-9" in gate.get("/screens/gate").text
    query = {"depot_id": yard.ids["depots"]}
    told = yard.client.get("/days/2026-05-24/decisions", query_string=query).json["decisions"]
    (asked,) = (one for one in told if one["code"] == "at_gate")
    assert "Its ticket W-9, 41 kg, is kept" in asked["sentence"]

    site = {"destination_kind": "compost_site", "destination_id": yard.ids["compost-sites"]}
    at = yard.client.get(f"/loads/{load['id']}").json["at_gate_at"]
    mown = {"id": str(uuid4()), "kind": "mown", "at": at, "job_id": job["id"]}
    tip = {"id": str(uuid4()), "kind": "tipped", "at": at, **site}
    body = {"device": "tablet-3", "sent_at": at, "crew_id": yard.ids["crews"]}
    body |= {"vehicle_id": yard.ids["vehicles"], "reports": [mown, tip]}
    rows = yard.client.post("/reports", json=body).json["reports"]
    assert [row["status"] for row in rows] == [200, 200], rows
    kept = yard.client.get(f"/loads/{rows[-1]['load_id']}").json
    assert (kept["state"], kept["weighed_net_kg"], kept["weigh_ticket"]) == ("delivered", 41, "W-9")
    assert kept["ticket_like_id"] is None
    left = yard.client.get("/loads?state=planned").json["items"]
    assert [one["weigh_ticket"] for one in left if one["weigh_ticket"]] == []


@pytest.mark.parametrize("is_planned_between", [True, False])
@pytest.mark.parametrize("named", ["place", "load"])
@pytest.mark.parametrize("order", ["beside_first", "beside_last"])
def test_the_ticket_of_an_early_weighing_follows_where_a_cut_beside_made_another_load_of_it(
    yard, gate, is_planned_between, named, order
):
    job, load = unmown(yard)
    ticket = {"weighed_kg": "41", "weigh_ticket": "W-9"}
    assert say(gate, load, act="here", seen="planned", **ticket).status_code == 303
    at = yard.client.get(f"/loads/{load['id']}").json["at_gate_at"]
    site = {"destination_kind": "compost_site", "destination_id": yard.ids["compost-sites"]}
    lawn = {**clients.LAWNS.example, "property_id": yard.ids["properties"], "name": "Beside"}
    lawn_id = yard.client.post("/lawns", json=lawn).json["id"]

    def report(kind, **fields):
        return {"id": str(uuid4()), "kind": kind, "at": at, **fields}

    def sent(*reports):
        body = {"device": "tablet-3", "sent_at": at, "crew_id": yard.ids["crews"]}
        body |= {"vehicle_id": yard.ids["vehicles"], "reports": list(reports)}
        rows = yard.client.post("/reports", json=body).json["reports"]
        assert [row["status"] for row in rows] == [200] * len(rows), rows
        return rows

    beside = report("mown", lawn_id=lawn_id, area_mowed={"value": 60, "unit": "m2"})
    beside |= {"height_removed": {"value": 30, "unit": "mm"}, "treatment_history": "none_recorded"}
    cuts = [beside, report("mown", job_id=job["id"])]
    for cut in cuts if order == "beside_first" else cuts[::-1]:
        sent(cut)
        if is_planned_between:
            planned_again(yard)
    about = {"load_id": load["id"]} if named == "load" else site
    lots = {"parts": [{"job_id": job["id"]}, {"job_id": beside["id"]}]}
    (row,) = sent(
        report("tipped", **about, **lots) if named == "load" else report("tipped", **site)
    )
    kept = yard.client.get(f"/loads/{row['load_id']}").json
    assert {job["id"], beside["id"]} <= {part["job_id"] for part in kept["parts"]}
    assert (kept["weighed_net_kg"], kept["weigh_ticket"]) == (41, "W-9")
    assert kept["ticket_like_id"] is None
    planned_again(yard)
    query = {"depot_id": yard.ids["depots"]}
    told = yard.client.get("/days/2026-05-24/decisions", query_string=query).json["decisions"]
    assert [one for one in told if one["code"] == "at_gate"] == []


def test_a_gate_that_sends_away_what_nobody_said_is_mown_reads_to_keep_the_slip(yard, gate):
    _, load = unmown(yard)
    refused = {"act": "refused", "seen": "planned", "refusal_reason": "Full"}
    answer = say(gate, load, **refused)
    assert answer.status_code == 409
    assert "keep the slip" in answer.text


@pytest.mark.parametrize("is_locked", [True, False])
def test_what_a_gate_sees_and_takes_back_leaves_the_dispatchers_lock_as_it_was(yard, is_locked):
    load = f"/loads/{load_of(yard)['id']}"
    for change in (
        {"locked": is_locked},
        {"at_gate_at": "2026-05-24T11:00:00Z"},
        {"at_gate_at": None},
    ):
        answer = yard.client.patch(load, json=change, headers={"If-Match": "*"})
        assert answer.status_code == 200, answer.text
        assert answer.json["locked"] is is_locked


def test_what_a_gate_says_of_itself_is_kept_with_its_hour(world, yard, gate):
    form = {"state": "open", "room_kg": "900", "note": "turner is out"}
    assert gate.post("/screens/gate", data=form, headers=OURS).status_code == 303
    said = yard.client.get(f"/compost-sites/{yard.ids['compost-sites']}").json["live_status"]
    assert (said["capacity_left_kg"], said["note"]) == (900, "turner is out")
    assert said["as_of"] == world.clock.now().isoformat().replace("+00:00", "Z")


def test_a_faulty_field_is_named_as_the_form_names_it(gate):
    form = {"state": "open", "room_kg": "plenty", "shuts": "late"}
    answer = gate.post("/screens/gate", data=form, headers={**OURS, "Accept": "text/html"})
    assert answer.status_code == 422
    assert "Only so many kg more: Write a number from 0 to 1,000,000." in answer.text
    assert "Shuts early at: Write an hour" in answer.text
    assert "see errors" not in answer.text


def test_a_gate_has_its_own_site_and_no_other_screen(world, yard, gate):
    other = {**sites.SITES[-1].example, "name": "Other"}
    site_id = yard.client.post("/compost-sites", json=other).json["id"]
    theirs = joined(world, yard, "site", compost_site_id=site_id)
    load = load_of(yard)
    assert say(theirs, load, act="delivered", seen="planned").status_code == 404
    for address in ("day", "people", "round/"):
        refused = gate.get(f"/screens/{address}", headers={"Accept": "text/html"})
        assert refused.status_code == 403
        assert "You joined as gate of a compost site" in refused.text
    assert gate.get("/screens").headers["Location"] == "/screens/gate"


@pytest.mark.parametrize("language", [code for code in LANGUAGES if code != "en"])
def test_a_gate_is_in_the_language_that_was_chosen_on_its_page(yard, gate, language):
    """The browser of a shared computer speaks the office's language, not its reader's."""
    load = load_of(yard)
    english, own = Reader("en"), Reader(language)
    browser = {"Accept-Language": "en"}
    assert "Coming today" in gate.get("/screens/gate", headers=browser).text
    gate.get(f"/screens/gate?language={language}", headers=browser)
    page = gate.get("/screens/gate", headers=browser)  # chosen once, kept on the device
    assert page.headers["Content-Language"] == language
    left = [
        text
        for table in ("gate", "round", "site_state")
        for key, text in english.table(table).items()
        if own.table(table)[key] != text and re.search(f">{re.escape(text)}<", page.text)
    ]
    assert left == []
    assert own.text("gate.coming") in unescape(page.text)
    wrong = {"act": "delivered", "seen": "planned", "weighed_kg": "none"}
    html = {**OURS, **browser, "Accept": "text/html"}
    place = f"/screens/gate/loads/{load['id']}"
    refused = unescape(gate.post(place, data=wrong, headers=html).text)
    assert own.text("screen.not_done") in refused
    assert own.text("asked.weighed_kg") in refused


def test_a_reason_that_is_offered_is_kept_as_the_office_reads_it(yard, gate):
    load = load_of(yard)
    gate.get("/screens/gate?language=pl")
    said = Reader("pl").text("load_reason.litter")
    refused = {"act": "refused", "seen": "planned", "refusal_reason": said}
    assert say(gate, load, **refused).status_code == 303
    kept = yard.client.get(f"/loads/{load['id']}").json
    assert kept["refusal_reason"] == Reader("en").text("load_reason.litter")
    assert said in unescape(gate.get("/screens/gate").text)


def test_what_a_gate_may_not_do_is_said_in_its_language(yard, gate):
    load = load_of(yard)
    gate.get("/screens/gate?language=es")
    ticket = {"act": "delivered", "seen": "planned"}
    assert say(gate, load, **ticket).status_code == 303
    html = {**OURS, "Accept": "text/html"}
    again = {"act": "refused", "seen": "planned", "refusal_reason": "X"}
    answer = gate.post(f"/screens/gate/loads/{load['id']}", data=again, headers=html)
    assert answer.status_code == 409
    assert "Alguien ya dijo algo de esto" in unescape(answer.text)


@pytest.mark.parametrize("way", ["load", "place"])
def test_a_gate_that_weighed_what_its_crew_told_meanwhile_keeps_its_ticket(world, yard, gate, way):
    load = load_of(yard)
    at = world.clock.now().isoformat()
    site = {"destination_kind": "compost_site", "destination_id": yard.ids["compost-sites"]}
    lots = {"parts": [{"job_id": part["job_id"]} for part in load["parts"]]}
    told = {"load_id": load["id"]} if way == "load" else {**site, **lots}
    tip = {"id": str(uuid4()), "kind": "tipped", "at": at, **told}
    body = {"device": "tablet-3", "sent_at": at, "crew_id": yard.ids["crews"]}
    body |= {"vehicle_id": yard.ids["vehicles"], "reports": [tip]}
    (row,) = yard.client.post("/reports", json=body).json["reports"]
    assert row["status"] == 200, row
    planned_again(yard)
    # The gate's page is from before; it says the same, and has the ticket.
    ticket = {"weighed_kg": "12", "weigh_ticket": "W-9"}
    assert say(gate, load, act="delivered", seen="planned", **ticket).status_code == 303
    kept = yard.client.get(f"/loads/{row['load_id']}").json
    assert (kept["state"], kept["weigh_ticket"]) == ("delivered", "W-9")
    other = {"weighed_kg": "13", "weigh_ticket": "W-10"}
    assert say(gate, load, act="delivered", seen="planned", **other).status_code == 409
    refused = {"act": "refused", "seen": "planned", "refusal_reason": "Full"}
    assert say(gate, load, **refused).status_code == 409

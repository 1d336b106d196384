"""What the crew lead reports from its screen: kept once however often it comes."""

import re
from html import unescape
from uuid import uuid4

from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from tests.journeys.screens.round.forms import (
    ASKS_JSON,
    SMALL,
    job_of,
    mown,
    plan,
    report,
    speaks,
    the_load,
)
from tests.screens import OURS


def test_a_mown_lawn_is_on_record_at_the_hour_it_was_mown(yard, lead):
    world_hour = "2026-05-24T11:42:00+00:00"
    answer = mown(lead, yard, at=world_hour, area="72,5", height="30", wetness="rained_on")
    assert answer.status_code == 200, answer.text
    job = job_of(yard)
    assert (job["state"], job["cut_at"]) == ("mown", "2026-05-24T11:42:00Z")
    assert (job["area_mowed"]["value"], job["wetness"]) == (72.5, "rained_on")


def test_a_report_that_comes_twice_is_kept_once(yard, lead):
    form = {"key": str(uuid4()), "act": "mown", "job": yard.ids["jobs"]}
    answers = [lead.post("/screens/round/reports", data=form, headers=ASKS_JSON) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [200, 200]
    assert job_of(yard)["version"] == 2


def test_a_report_over_what_the_office_said_meanwhile_is_not_taken(yard, lead):
    change = {"state": "mown", "planned_at": None, "cut_at": "2026-05-24T10:00:00Z"}
    yard.client.patch(f"/jobs/{yard.ids['jobs']}", json=change, headers={"If-Match": "*"})
    answer = mown(lead, yard)
    assert (answer.status_code, answer.json["code"]) == (409, "already_said")
    assert job_of(yard)["cut_at"] == "2026-05-24T10:00:00Z"


def test_a_load_is_tipped_weighed_and_of_another_only_a_part_is_taken(yard, lead):
    mown(lead, yard, at="2026-05-24T11:42:00+00:00")
    plan(yard)
    load = the_load(yard)
    act = {"load": load["id"], "seen": "planned"}
    assert report(lead, act="delivered", **act, weighed_kg="31").status_code == 422
    ticket = {"weighed_kg": "31", "weigh_ticket": "W-1"}
    answer = report(lead, act="delivered", **act, **ticket, at="2026-05-24T11:55:00+00:00")
    assert answer.status_code == 200, answer.text
    kept = yard.client.get(f"/loads/{load['id']}").json
    assert (kept["state"], kept["weighed_net_kg"]) == ("delivered", 31)
    seen = {**act, "seen": "delivered", "refusal_reason": "Too wet", "refused_percent": "50"}
    assert report(lead, act="partly_refused", **seen).status_code == 200
    assert yard.client.get(f"/loads/{load['id']}").json["refused_share"] == 0.5
    assert report(lead, act="refused", **act, refusal_reason="X").status_code == 409


def test_a_broken_down_vehicle_is_the_offices_to_see_and_works_again(world, yard, lead):
    assert report(lead, act="out").status_code == 422
    assert report(lead, act="out", reason="Gearbox").status_code == 200
    # Said once more, without a script and so without a time, it is out as it was.
    assert report(lead, act="out", reason="Gearbox").status_code == 200
    (outage,) = yard.client.get("/vehicle-outages").json["items"]
    assert (outage["reason"], outage["vehicle_id"]) == ("Gearbox", yard.ids["vehicles"])
    world.clock.move(minutes=30)
    assert report(lead, act="works_again", outage=outage["id"]).status_code == 200
    assert yard.client.get("/vehicle-outages").json["items"][0]["back_at"] is not None


def test_who_stands_by_a_broken_vehicle_with_grass_in_it_is_warned_of_forking_it_over(yard, lead):
    caution = Reader("en").text("warning.pick_up")
    mown(lead, yard, at="2026-05-24T11:42:00+00:00")
    plan(yard)
    assert caution not in unescape(lead.get("/screens/round/").text)
    report(lead, act="out", reason="Gearbox")
    plan(yard)
    assert caution in unescape(lead.get("/screens/round/").text)


def test_without_a_script_a_form_is_kept_planned_and_leads_back(yard, lead):
    before = len(yard.client.get("/day-plans").json["items"])
    page = lead.get("/screens/round/").text
    key = re.search(r'name="key" value="([^"]+-mown)"', page)[1]
    form = {"key": key, "at": "", "act": "mown", "job": yard.ids["jobs"]}
    answer = lead.post("/screens/round/reports", data=form, headers=OURS)
    assert (answer.status_code, answer.headers["Location"]) == (303, "/screens/round/")
    assert len(yard.client.get("/day-plans").json["items"]) == before + 1
    wrong = {**form, "key": "other", "area": "none"}
    refused = lead.post(
        "/screens/round/reports", data=wrong, headers={**OURS, "Accept": "text/html"}
    )
    assert refused.status_code == 422
    assert "a number from" in refused.text


def test_unknown_treatment_stays_unknown_unless_somebody_says_otherwise(world, lead, yard):
    job = yard.job(state="planned", planned_at="2026-05-24T14:30:00Z", area_mowed=SMALL)
    del job["cut_at"]
    job["treatment_history"] = "unknown"
    ids = [yard.client.post("/jobs", json=job).json["id"] for _ in range(2)]
    for job_id, more in zip(ids, ({}, {"not_sprayed": "1"}), strict=True):
        assert report(lead, act="mown", job=job_id, **more).status_code == 200
        world.clock.move(minutes=1)
    told = [yard.client.get(f"/jobs/{job_id}").json["treatment_history"] for job_id in ids]
    assert told == ["unknown", "none_recorded"]


def test_a_form_that_was_mended_is_taken_and_one_that_was_taken_says_what_to_do(lead, yard):
    form = {"key": "one", "act": "mown", "job": yard.ids["jobs"]}
    assert report(lead, **form, area="none").status_code == 422
    assert report(lead, **form, area="50").status_code == 200
    assert job_of(yard)["area_mowed"]["value"] == 50
    for language in LANGUAGES:
        speaks(yard, language)
        told = report(lead, **form, area="55")
        assert told.status_code == 422
        sentence = Reader(language).table("refusal")["idempotency_key_reused"]
        assert told.json["detail"] == sentence
        page = lead.post(
            "/screens/round/reports",
            data={**form, "area": "55"},
            headers={**OURS, "Accept": "text/html"},
        )
        assert sentence in unescape(page.text)
        assert not re.search("key|header|request", unescape(page.text), re.IGNORECASE)
    assert job_of(yard)["area_mowed"]["value"] == 50

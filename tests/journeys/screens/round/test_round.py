"""The crew lead's screen: its own round, where to go next and what must be known there."""

import re
from html import unescape

import pytest

from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from tests import fakes
from tests.journeys.screens.round.forms import SMALL, job_of, mown, plan, report, speaks, the_load
from tests.screens import joined
from tests.worlds import furnish


def test_a_round_says_whether_to_bag_how_much_room_is_left_and_where_next(lead):
    page = lead.get("/screens/round/").text
    assert "May I bag here?" in page
    assert re.search(r'class="big">(Yes, bag it\.|No, leave it|Bag it, and keep)', page)
    assert "Room left:" in page
    assert "Tip at " in page


def big(page):
    """Return the first thing that is said at each lawn of a page, as it is read."""
    found = re.findall(r'class="big">([^<]*)<', unescape(page.text))
    return [text.replace("\u00a0", " ") for text in found]


@pytest.mark.parametrize("history", ["none_recorded", "unknown"])
def test_the_first_sentence_on_the_round_is_that_of_the_question_before_mowing(yard, lead, history):
    change = {"treatment_history": history}
    path = f"/jobs/{yard.ids['jobs']}"
    assert yard.client.patch(path, json=change, headers={"If-Match": "*"}).status_code == 200
    plan(yard)
    query = {"depot_id": yard.ids["depots"]}
    lawn = job_of(yard)["lawn_id"]
    told = yard.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=query).json["what_to_do"]
    assert told["facts"].get("status") == (None if history == "none_recorded" else "unknown")
    assert told["sentence"] in big(lead.get("/screens/round/"))


@pytest.mark.parametrize("language", LANGUAGES)
def test_clean_grass_that_is_tipped_with_unknown_is_not_called_clean_anywhere(yard, lead, language):
    """It was "Yes, bag it. 32 beds or sites would take these clippings", and unknown below."""
    speaks(yard, language)
    unknown = yard.job(area_mowed=SMALL, treatment_history="unknown", lawn_id=yard.another_lawn())
    assert yard.client.post("/jobs", json=unknown).status_code == 201
    plan(yard)
    own = Reader(language)
    status = own.status("unknown")
    for path in ("", f"ask?job={yard.ids['jobs']}"):
        page = lead.get(f"/screens/round/{path}")
        assert status in big(page)[0]
        assert own.text("answer.bag_it") not in unescape(page.text)
        takers = own.text("verdict.may_collect").replace("{takers}", "").strip()
        assert takers not in unescape(page.text)


def test_a_lawn_that_is_on_record_as_mown_is_no_card_though_the_plan_lags(yard, lead):
    card = f'data-about="{yard.ids["jobs"]}"'
    assert card in lead.get("/screens/round/").text
    assert mown(lead, yard).status_code == 200
    assert card not in lead.get("/screens/round/").text


def counted(monkeypatch, kind, name):
    """Return a list that grows with each call of a repository's method."""
    calls, real = [], getattr(kind, name)

    def call(self, *args, **more):
        calls.append(args)
        return real(self, *args, **more)

    monkeypatch.setattr(kind, name, call)
    return calls


def test_whether_a_round_moved_is_told_without_reading_a_plan(yard, lead, monkeypatch):
    before = lead.get("/screens/round/").text
    reads = counted(monkeypatch, fakes.DayPlans, "latest")
    told = lead.get("/screens/round/mark").json
    assert reads == []
    assert f'data-mark="{told["mark"]}"' in before
    yard.client.post("/jobs", json=yard.job(lawn_id=yard.another_lawn(), area_mowed=SMALL))
    assert lead.get("/screens/round/mark").json["mark"] != told["mark"]


def test_a_round_of_several_lawns_reads_its_day_once(yard, lead, monkeypatch):
    for minute in (40, 50):
        planned = yard.job(
            state="planned",
            planned_at=f"2026-05-24T13:{minute}:00Z",
            area_mowed=SMALL,
            lawn_id=yard.another_lawn(),
        )
        del planned["cut_at"]
        assert yard.client.post("/jobs", json=planned).status_code == 201
    plan(yard)
    reads = counted(monkeypatch, fakes.Jobs, "of_day")
    page = lead.get("/screens/round/").text
    assert page.count("May I bag here?") == 3
    assert len(reads) == 1


def test_another_crews_work_and_another_firms_are_not_found(world, yard, lead):
    other = {"name": "Other", "depot_id": yard.ids["depots"]}
    crew_id = yard.client.post("/crews", json=other).json["id"]
    theirs = joined(world, yard, "crew", crew_id=crew_id)
    assert mown(theirs, yard).status_code == 404
    assert "No vehicle is on record" in theirs.get("/screens/round/").text
    elsewhere = furnish(world)
    strangers = joined(world, elsewhere, "crew", crew_id=elsewhere.ids["crews"])
    assert mown(strangers, yard).status_code == 404
    load = the_load(yard)
    said = report(strangers, act="under_way", load=load["id"], seen="planned")
    assert said.status_code == 404
    office = joined(world, yard, "dispatcher")
    assert mown(office, yard).status_code == 403
    assert lead.get("/screens/round/").status_code == 200
    assert job_of(yard)["state"] == "planned"


def test_the_worker_comes_with_a_policy_under_which_it_may_fetch(world):
    worker = world.app.test_client().get("/screens/round/worker.js")
    assert worker.mimetype == "text/javascript"
    assert "connect-src 'self'" in worker.headers["Content-Security-Policy"]
    assert "/screens/assets/round.js?v=" in worker.text


def test_what_the_crew_sees_changes_the_answer_as_it_does_over_the_interface(yard, lead):
    job = job_of(yard)
    asked = {"job": job["id"], "weeds_in_seed": "1", "ground_wet": "1"}
    page = lead.get("/screens/round/ask", query_string=asked)
    assert page.status_code == 200
    query = {"depot_id": yard.ids["depots"], "weeds_in_seed": "true", "ground_wet": "true"}
    told = yard.client.get(f"/lawns/{job['lawn_id']}/pre-mow-check", query_string=query).json
    assert told["sentence"] in unescape(page.text)
    assert lead.get("/screens/round/ask?job=none").status_code == 422
    assert job_of(yard) == job


def test_a_crew_reads_at_the_stop_what_must_be_known_there(yard, lead):
    speaks(yard, "es")
    bed = f"/beds/{yard.ids['beds']}"
    change = {"animals_beside": ["horses"], "grazing_fenced": True}
    yard.client.patch(bed, json=change, headers={"If-Match": "*"})
    plan(yard)
    assert "Hay caballos junto a este" in lead.get("/screens/round/").text


def test_nobody_is_sent_onto_a_lawn_that_people_must_keep_off(yard, lead):
    body = {
        "lawn_id": job_of(yard)["lawn_id"],
        "product": "Verge clear",
        "active_ingredients": ["clopyralid"],
        "applied_on": "2026-05-23",
        "statement_source": "applicator_record",
        "stated_by": "T. Green",
        "people_may_return_at": "2026-05-25T18:00:00Z",
    }
    assert yard.client.post("/treatments", json=body).status_code == 201
    plan(yard)
    page = unescape(lead.get("/screens/round/").text)
    assert "Nobody goes on this lawn before 25\u00a0May\u00a02026, 19:00" in page
    seen = lead.get(f"/screens/round/ask?job={yard.ids['jobs']}")
    assert "Nobody goes on this lawn" in seen.text


def test_a_lawns_card_says_where_its_clippings_go_by_the_plan_as_the_question_does(yard, lead):
    query = {"depot_id": yard.ids["depots"]}
    lawn = job_of(yard)["lawn_id"]
    asked = yard.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=query).json
    (said,) = asked["plan"]["says"]
    assert said["code"] == "tipped_by_plan"
    for path in ("", f"ask?job={yard.ids['jobs']}&ground_wet=1"):
        assert said["sentence"] in unescape(lead.get(f"/screens/round/{path}").text)


def test_the_lot_that_would_spoil_a_lawns_clippings_is_named_by_its_lawn(yard, lead):
    weedy = yard.job(area_mowed=SMALL, weeds_in_seed=True, lawn_id=yard.another_lawn())
    job = yard.client.post("/jobs", json=weedy).json
    plan(yard)
    name = yard.client.get(f"/properties/{job['property_id']}").json["name"]
    answer = lead.get("/screens/round/ask", query_string={"job": yard.ids["jobs"]}).text
    assert job["lot_code"] not in answer
    assert re.search(rf"{re.escape(name)}\W", unescape(answer))

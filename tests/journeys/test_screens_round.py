"""The crew lead's screen: its own round, and reports that are kept once however often they come."""

import re
from html import unescape
from pathlib import Path
from uuid import uuid4

import pytest

import service.pages
from service.api.failures.problems import all_refusals
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from service.pages.refusals import in_words
from service.usecases.day.body_contents import NotForThisPlace
from tests import fakes
from tests.screens import OURS, joined
from tests.worlds import furnish, make_world

ASKS_JSON = {**OURS, "Accept": "application/json"}
SMALL = {"value": 60, "unit": "m2"}
WORDED = Reader("en").table("refusal")


@pytest.fixture
def world():
    return make_world()


@pytest.fixture
def yard(world):
    yard = furnish(world)
    speaks(yard, "en")
    planned = yard.job(state="planned", planned_at="2026-05-24T13:30:00Z", area_mowed=SMALL)
    del planned["cut_at"]
    yard.ids["jobs"] = yard.client.post("/jobs", json=planned).json["id"]
    plan(yard)
    return yard


@pytest.fixture
def lead(world, yard):
    return joined(world, yard, "crew", crew_id=yard.ids["crews"])


def speaks(yard, language):
    change = {"language": language}
    path = f"/crews/{yard.ids['crews']}"
    assert yard.client.patch(path, json=change, headers={"If-Match": "*"}).status_code == 200


def plan(yard):
    body = {"depot_id": yard.ids["depots"], "day": "2026-05-24"}
    assert yard.client.post("/day-plans", json=body).status_code == 201


def report(device, **fields):
    form = {"key": str(uuid4()), **fields}
    return device.post("/screens/round/reports", data=form, headers=ASKS_JSON)


def mown(device, yard, **fields):
    return report(device, act="mown", job=yard.ids["jobs"], **fields)


def job_of(yard):
    return yard.client.get(f"/jobs/{yard.ids['jobs']}").json


def the_load(yard):
    loads = yard.client.get("/loads").json["items"]
    return next(one for one in loads if one["state"] != "superseded")


def test_a_round_says_whether_to_bag_how_much_room_is_left_and_where_next(lead):
    page = lead.get("/screens/round/").text
    assert "May I bag here?" in page
    assert re.search(r'class="big">(Yes, bag it\.|No, leave it|Bag it, and keep)', page)
    assert "Room left:" in page
    assert "Tip at " in page


def test_the_first_answer_on_the_round_is_that_of_the_question_before_mowing(yard, lead):
    query = {"depot_id": yard.ids["depots"]}
    lawn = job_of(yard)["lawn_id"]
    told = yard.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=query).json
    page = lead.get("/screens/round/").text.replace("\u00a0", " ")
    assert told["sentence"].split(";")[0][:40] in page


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


@pytest.mark.parametrize("language", [code for code in LANGUAGES if code != "en"])
def test_a_round_is_in_the_crews_language_whatever_the_browsers_is(yard, lead, language):
    speaks(yard, language)
    pages = [
        lead.get(path, headers={"Accept-Language": "en"})
        for path in ("/screens/round/", f"/screens/round/ask?job={yard.ids['jobs']}&drought=1")
    ]
    english, own = Reader("en"), Reader(language)
    tables = ("round", "answer", "wetness", "load_reason", "verdict", "warning")
    own_tables = {table: own.table(table) for table in tables}
    for page in pages:
        assert page.headers["Content-Language"] == language
        assert f'<html lang="{language}">' in page.text
        left = [
            text
            for table, theirs in own_tables.items()
            for key, text in english.table(table).items()
            if theirs[key] != text and f">{text}<" in page.text
        ]
        assert left == []
    assert own.text("round.may_i_bag") in unescape(pages[0].text)


def test_what_is_wrong_with_a_report_is_said_in_the_crews_language(yard, lead):
    speaks(yard, "pl")
    answer = mown(lead, yard, area="none")
    assert answer.status_code == 422
    assert answer.json["detail"] == "Tego zgłoszenia nie można użyć:"
    (fault,) = answer.json["errors"]
    assert fault["detail"] == "Powierzchnia: Tu ma być liczba od 0,1 do 10\u00a0000\u00a0000."
    assert mown(lead, yard).json == {"said": "Skoszone i zapisane."}
    again = mown(lead, yard, weeds_in_seed="1")
    assert "skoszone" in again.json["detail"]


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


def test_every_word_of_the_script_and_of_the_screen_is_in_the_files_of_languages():
    pages = Path(service.pages.__file__).parent
    script = (pages / "assets" / "round.js").read_text(encoding="utf-8")
    asked = {*re.findall(r"words\.(\w+)", script), *re.findall(r'counted\("(\w+)"', script)}
    assert {key.partition(".")[0] for key in Reader("en").table("offline")} == asked
    told = "".join(path.read_text(encoding="utf-8") for path in pages.rglob("round*.j2"))
    assert {key for key in Reader("en").table("round") if f'"round.{key}"' not in told} <= {
        *("weeds_in_seed", "disease_seen", "litter_seen", "ground_wet", "drought"),
        *("quarter", "half", "three_quarters"),
    }
    said = "".join(
        path.read_text(encoding="utf-8")
        for path in pages.rglob("*")
        if path.suffix in {".py", ".j2"}
    )
    tables = ("gate", "join", "screen")
    keys = {f"{table}.{key}" for table in tables for key in Reader("en").table(table)}
    assert {key for key in keys if f'"{key}"' not in said} == set()


def test_what_may_be_the_same_cut_is_told_in_the_crews_language(yard, lead):
    cut = yard.job(state="mown", cut_at="2026-05-24T10:00:00Z", area_mowed=SMALL)
    jobs = [yard.client.post("/jobs", json={**cut, "crew_id": yard.ids["crews"]}) for _ in "abc"]
    double = jobs[-1].json
    assert double["state"] == "possible_duplicate"
    for language in LANGUAGES:
        speaks(yard, language)
        answer = report(lead, act="mown", job=double["id"], area="9")
        assert (answer.status_code, answer.json["code"]) == (409, "already_said"), language


def test_a_lawns_card_says_where_its_clippings_go_by_the_plan_as_the_question_does(yard, lead):
    query = {"depot_id": yard.ids["depots"]}
    lawn = job_of(yard)["lawn_id"]
    asked = yard.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=query).json
    (said,) = asked["plan"]["says"]
    assert said["code"] == "tipped_by_plan"
    for path in ("", f"ask?job={yard.ids['jobs']}&ground_wet=1"):
        assert said["sentence"] in unescape(lead.get(f"/screens/round/{path}").text)


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


def test_what_is_refused_for_its_place_is_said_with_its_reason_in_the_crews_language():
    facts = {"consent": "refused"}
    refusal = NotForThisPlace(lots="L-1", why="No.", verdict={"code": "no_consent", "facts": facts})
    problem = {"code": refusal.code, "title": "Not for this place", "detail": str(refusal)}
    told = in_words(refusal, problem, Reader("pl"))
    assert "L-1" in told["detail"]
    assert Reader("pl").text("verdict.no_consent.refused") in told["detail"]


@pytest.mark.parametrize("kind", [kind for kind in all_refusals() if kind.code in WORDED])
def test_a_refusal_has_every_fact_that_its_sentence_names(kind):
    gaps = set(re.findall(r"{(\w+)", kind.sentence)) | {"state", "seat"}
    for language in LANGUAGES:
        text = Reader(language).text(f"refusal.{kind.code}")
        assert set(re.findall(r"{(\w+)", text)) <= gaps


def test_the_lot_that_would_spoil_a_lawns_clippings_is_named_by_its_lawn(yard, lead):
    weedy = yard.job(area_mowed=SMALL, weeds_in_seed=True, lawn_id=yard.another_lawn())
    job = yard.client.post("/jobs", json=weedy).json
    plan(yard)
    name = yard.client.get(f"/properties/{job['property_id']}").json["name"]
    answer = lead.get("/screens/round/ask", query_string={"job": yard.ids["jobs"]}).text
    assert job["lot_code"] not in answer
    assert re.search(rf"{re.escape(name)}\W", unescape(answer))

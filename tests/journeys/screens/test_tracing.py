"""A treatment learned late, a complaint and a recall, worked off on the screens alone."""

import json
import re
from html import unescape

import pytest

from tests.holds import Yard, drops
from tests.screens import OURS, joined

SPRAYED = {
    "key": "form-1",
    "product": "Pasture weed control",
    "active_ingredients": "2,4-D; aminopyralid",
    "applied_on": "2026-05-10",
    "statement_source": "applicator_record",
    "stated_by": "T. Green",
}


@pytest.fixture
def yard():
    """Return a yard whose bed got the grass of a lawn."""
    yard = Yard()
    yard.front = yard.lawn("Front")
    yard.job = yard.mow(yard.front, at="10:00")
    (drop,) = drops(yard.routing())
    assert drop["destination_kind"] == "bed"
    yard.world.clock.move(minutes=5)
    yard.patch(f"/loads/{drop['load_id']}", {"state": "delivered"})
    yard.code = yard.client.get(f"/jobs/{yard.job}").json["lot_code"]
    return yard


@pytest.fixture
def office(yard):
    return joined(yard.world, yard, "dispatcher")


def begun(office, **asked):
    form = {"key": "begin-1", "reason": "Beans curl at the client's.", **asked}
    answer = office.post("/screens/recalls", data=form, headers=OURS)
    assert answer.status_code == 303, answer.text
    return answer.location


def test_a_treatment_says_what_it_changes_before_it_is_kept_and_is_kept_once(yard, office):
    form = {**SPRAYED, "lawn": yard.front}
    before = office.post("/screens/treatments", data=form, headers=OURS)
    assert before.status_code == 200
    assert f"<strong>{yard.code}</strong>" in before.text
    assert "clean until now, then <strong>treated</strong>" in before.text
    assert yard.client.get("/treatments").json["items"] == []
    assert yard.client.get(f"/jobs/{yard.job}").json["status"] == "clean"
    assert len(yard.client.get(f"/jobs/{yard.job}/history").json["items"]) == 0
    hidden = dict(re.findall(r'type="hidden" name="([^"]+)" value="([^"]*)"', before.text))
    for _ in range(2):
        kept = office.post("/screens/treatments", data={**hidden, "keep": "1"}, headers=OURS)
        assert kept.status_code == 303, kept.text
    (treatment,) = yard.client.get("/treatments").json["items"]
    assert treatment["active_ingredients"] == ["2,4-D", "aminopyralid"]
    assert yard.client.get(f"/jobs/{yard.job}").json["status"] == "treated"
    told = office.get(kept.location).text
    assert yard.code in told
    assert "the treatment is on record" in told


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"applied_on": "2027-01-01"}, "this day lies ahead"),
        ({"stated_by": "", "product": ""}, "Product: Write some text here."),
    ],
)
def test_what_is_wrong_with_a_treatment_is_told_beside_what_was_filled_in(
    yard, office, change, said
):
    form = {**SPRAYED, "lawn": yard.front, **change}
    answer = office.post("/screens/treatments", data=form, headers=OURS)
    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="2,4-D; aminopyralid"' in answer.text


def test_whoever_asks_by_the_bed_that_curls_finds_the_lots_and_whom_to_call(yard, office):
    place = yard.bed.removeprefix("/beds/")
    told = office.get(f"/screens/trace?place={place}&since=2026-05-01").text
    by_api = yard.client.get(f"/recall?destination_id={place}&since=2026-05-01").json
    (person,) = by_api["people"]
    assert person["phone"] in told
    assert yard.code in told
    for sentence in person["say"]:
        assert sentence in unescape(told)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("lot=L-ZZZZZZZ", "L-ZZZZZZZ"),
        ("lot=L-1&product=lime", "Ask by one of these"),
        ("since=2026-05-10", "Ask by one of these"),
    ],
)
def test_a_question_that_finds_nothing_or_is_two_is_refused_in_words(office, asked, said):
    answer = office.get(f"/screens/trace?{asked}", headers={"Accept": "text/html"})
    assert answer.status_code in {404, 422}
    assert said in answer.text


def test_a_recall_is_begun_once_called_off_ended_and_read_as_a_file(yard, office):
    path = begun(office, lot=yard.code)
    assert begun(office, lot=yard.code) == path
    (recall,) = yard.client.get("/recalls").json["items"]
    page = office.get(path).text
    assert "1 of 1 still to call" in page
    assert path in office.get("/screens/trace").text
    frozen = yard.client.get(f"/jobs/{yard.job}/verdicts").json["verdicts"]
    assert "recalled" in {one["code"] for one in frozen}
    said = {"number": "0", "said": "Leaves it where it lies."}
    assert office.post(f"{path}/calls", data=said, headers=OURS).status_code == 303
    page = office.get(path).text
    assert "Leaves it where it lies." in page
    assert "Nobody is left to call" in page
    file = office.get(f"{path}/evidence.json")
    assert "attachment" in file.headers["Content-Disposition"]
    assert json.loads(file.text) == yard.client.get(f"/recalls/{recall['id']}/evidence").json
    assert office.post(f"{path}/end", headers=OURS).status_code == 303
    assert "Ended" in office.get(path).text
    assert yard.client.get(f"/recalls/{recall['id']}").json["is_open"] is False


def test_the_day_leads_to_a_recall_whose_list_is_not_called_yet(yard, office):
    begun(office, lot=yard.code)
    page = office.get("/screens/day?day=2026-05-24").text
    rows = re.findall(r'<div class="toned matter.*?</div>', page, re.DOTALL)
    (row,) = [one for one in rows if ">Recall" in one]
    assert 'href="/screens/recalls' in row


def test_a_gate_and_a_crew_trace_nothing(yard):
    crew = joined(yard.world, yard, "crew", crew_id=yard.ids["crews"])
    for place in ("treatments", "trace", "recalls"):
        assert crew.get(f"/screens/{place}").status_code == 403

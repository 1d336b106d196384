"""The crew lead's screen in the language of the crew, refusals and the words of the script too."""

import re
from html import unescape
from pathlib import Path

import pytest

import service.pages
from service.api.failures.problems import all_refusals
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from service.pages.refusals import in_words
from service.usecases.day.body_contents import NotForThisPlace
from tests.journeys.screens.round.forms import SMALL, mown, report, speaks

WORDED = Reader("en").table("refusal")


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


def test_every_word_of_the_script_and_of_the_screen_is_in_the_files_of_languages():
    pages = Path(service.pages.__file__).parent
    script = (pages / "assets" / "round.js").read_text(encoding="utf-8")
    asked = {*re.findall(r"words\.(\w+)", script), *re.findall(r'counted\("(\w+)"', script)}
    assert {key.partition(".")[0] for key in Reader("en").table("offline")} == asked
    told = "".join(path.read_text(encoding="utf-8") for path in pages.rglob("round*.j2"))
    assert {key for key in Reader("en").table("round") if f'"round.{key}"' not in told} <= {
        *("weeds_in_seed", "disease_seen", "litter_seen", "leaves_mixed", "ground_wet", "drought"),
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

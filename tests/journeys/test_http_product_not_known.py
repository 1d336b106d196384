"""A product that the rules do not know: what counts meanwhile, whom to ask, what puts it right."""

import pytest

from tests.crews import DAY
from tests.holds import Yard


@pytest.fixture
def yard():
    yard = Yard()
    yard.front = yard.lawn("Front")
    yard.treatment = yard.treated(yard.front, "greenol", product="Lawn Wonder")
    yard.job = yard.mow(yard.front, at="10:00", treatment_history="known")
    return yard


def told(yard):
    yard.routing()
    listed = yard.client.get(f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}").json
    return [one for one in listed["decisions"] if one["code"] == "treatment_not_known"]


def test_the_office_reads_whom_to_ask_and_where_the_answer_is_kept(yard):
    (one,) = told(yard)
    assert "Lawn Wonder" in one["sentence"]
    assert "Front" in one["sentence"]
    assert "T. Green, spray technician" in one["sentence"]
    assert ("PATCH", yard.treatment) in {(way["method"], way["href"]) for way in one["ways"]}
    assert yard.client.get(f"/jobs/{yard.job}").json["status"] == "unknown"


def test_what_the_label_says_ends_it(yard):
    named = {"active_ingredients": ["aminopyralid"]}
    yard.patch(yard.treatment, named, reason="By the label, on the telephone.")
    assert told(yard) == []
    assert yard.client.get(f"/jobs/{yard.job}").json["status"] == "treated"


def test_a_verdict_says_the_same_in_the_language_of_whoever_asks(yard):
    asked = f"/jobs/{yard.job}/verdicts"
    for language, words in (("en", "Ask T. Green, spray technician"), ("pl", "Kto ma etykiet")):
        answer = yard.client.get(asked, headers={"Accept-Language": language})
        assert words in answer.get_data(as_text=True)

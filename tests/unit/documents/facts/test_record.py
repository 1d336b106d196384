import json

import pytest
from hypothesis import given

from service.documents.composition.compose import compose
from service.documents.facts.note import NoteFacts
from service.documents.facts.record import facts_as_json, facts_from_json, fingerprint
from service.documents.facts.refusals import NoteRecordNotReadable
from service.documents.rendering.json_note import render_json
from tests.unit.documents.every_note import notes
from tests.unit.documents.notes import a_hard_note, a_note


@given(notes())
def test_every_note_comes_back_from_its_record_as_it_was_issued(facts: NoteFacts):
    kept = json.loads(json.dumps(facts_as_json(facts)))
    assert facts_from_json(kept) == facts
    assert compose(facts_from_json(kept)) == compose(facts)


def test_a_record_that_is_none_is_refused():
    record = facts_as_json(a_note())
    with pytest.raises(NoteRecordNotReadable):
        facts_from_json({**record, "price": 3})
    with pytest.raises(NoteRecordNotReadable):
        facts_from_json({**record, "working_day": "yesterday"})
    with pytest.raises(NoteRecordNotReadable):
        facts_from_json({})


def test_the_fingerprint_changes_with_any_fact():
    assert fingerprint(a_note()) == fingerprint(a_note())
    assert fingerprint(a_note()) != fingerprint(a_note(number="DN-2026-000999"))
    assert len(fingerprint(a_note())) == 64


def test_the_json_note_holds_facts_sentences_and_words():
    note = json.loads(render_json(compose(a_hard_note()), language="pl"))
    assert note["facts"]["amount"]["weighed"] == {"net_kg": 874, "ticket": "W-20260524-5521"}
    assert note["facts"]["amount"]["estimate_kg"]["likely"] == 690
    assert note["words"]["language"] == "pl"
    assert {answer["question"] for answer in note["answers"]} >= {"what", "food", "animals"}


def test_the_json_note_without_a_language_holds_no_words():
    assert "words" not in json.loads(render_json(compose(a_note())))


def test_half_a_character_does_not_stop_the_json_note():
    broken = a_note(waste_code="20\ud800")
    assert json.loads(render_json(compose(broken), language="en"))

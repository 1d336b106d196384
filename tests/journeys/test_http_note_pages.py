"""The page behind a note's link: its form, what it says to who answers, and when it ends."""

import pytest

from service.documents.rendering.language import LANGUAGES
from tests.deliveries import BROWSER, Delivered, Shown


@pytest.fixture
def crew():
    return Delivered()


def test_a_link_that_was_ended_or_is_too_old_opens_nothing_and_the_firm_keeps_its_note(crew):
    anybody = crew.world.app.test_client()
    assert anybody.get(crew.address).status_code == 200
    ended = crew.client.post(f"/delivery-notes/{crew.note_id}/end-link")
    assert ended.json["link_ended_at"] is not None
    assert crew.client.post(f"/delivery-notes/{crew.note_id}/end-link").json == ended.json
    for path in (crew.address, f"{crew.address}.pdf"):
        assert anybody.get(path).status_code == 410
    assert crew.answers(410, answer="received_and_checked")["code"] == "note_link_ended"
    assert crew.client.get(f"/delivery-notes/{crew.note_id}").status_code == 200


def test_the_end_of_a_notes_link_ends_those_of_all_its_versions(crew):
    crew.patch(f"/jobs/{crew.job}", {"area_mowed": {"value": 40, "unit": "m2"}})
    anybody = crew.world.app.test_client()
    notes = crew.client.get("/delivery-notes").json["items"]
    assert sorted(note["note_version"] for note in notes) == [1, 2]
    newest = max(notes, key=lambda note: note["note_version"])
    newest = crew.client.get(f"/delivery-notes/{newest['id']}").json
    newer = newest["links"]["page"].removeprefix("http://127.0.0.1:8080")
    assert anybody.get(f"{crew.address}.pdf").status_code == 200
    crew.client.post(f"/delivery-notes/{newest['id']}/end-link")
    for path in (newer, crew.address, f"{crew.address}.pdf"):
        assert anybody.get(path).status_code == 410


def test_a_link_ends_by_itself_after_two_years(crew):
    anybody = crew.world.app.test_client()
    crew.world.clock.move(days=729)
    assert anybody.get(crew.address).status_code == 200
    crew.world.clock.move(days=3)
    assert anybody.get(crew.address).status_code == 410


def test_a_form_that_is_not_kept_comes_back_as_it_was_typed_with_what_is_missing(crew):
    typed = {"answer": "refused", "reason": "wet", "remark": "Too <much> & wet", "signed_by": " "}
    shown = crew.sends(422, "?language=pl", **typed)
    assert shown.languages[0] == "pl"
    assert shown.fields["answer"] == "refused"
    assert shown.fields["reason"] == "wet"
    assert "Too &lt;much&gt; &amp; wet</textarea>" in shown.page
    assert (shown.faulty(), shown.focused) == ({"signed_by"}, ["signed_by"])
    assert "Odpowiedź nie jest jeszcze zapisana." in shown.text
    assert 'acknowledgement?language=pl"' in shown.page
    assert crew.state() == ("delivered", 0.0)
    empty = crew.sends(422, answer="", signed_by="")
    assert empty.focused == ["answer"]
    assert "answer-fault" in empty.by_id


def test_a_part_is_said_as_an_amount_in_the_unit_the_reader_reads(crew):
    part = {"answer": "part_accepted", "accepted_unit": "[lb_av]"}
    for amount, said in (
        ("some", "in digits"),
        ("0", "in digits"),
        ("99 999", "not less than the load"),
    ):
        shown = crew.sends(422, "?units=us&language=en", accepted_amount=amount, **part)
        assert (shown.faulty(), shown.focused) == ({"accepted_amount"}, ["accepted_amount"])
        assert said in shown.text
        assert shown.fields["accepted_amount"] == amount
    whole = crew.sends(
        422, "?language=en", answer="refused", accepted_amount="20", accepted_unit="kg"
    )
    assert whole.faulty() == {"accepted_amount"}
    assert "choose “Part of it accepted” above" in whole.text
    assert crew.sends(422, answer="part_accepted").focused == ["accepted_share"]
    assert crew.state() == ("delivered", 0.0)

    asked = crew.sends(422, "?units=us&language=en", answer="part_accepted")
    assert "Or the amount, in lb" in asked.text
    load_kg = crew.facts()["amount"]["estimate_kg"]["likely"]
    shown = crew.sends(303, "?units=us&language=en", accepted_amount="10,5", **part)
    assert "10,5 lb" in shown.text
    state, refused_share = crew.state()
    # International yard and pound agreement, 1959: a pound is 0.453 592 37 kg.
    assert state == "partly_refused"
    assert refused_share == pytest.approx(1 - 10.5 * 0.45359237 / load_kg)


def test_what_is_within_the_estimate_was_there_and_a_share_beside_it_is_not_guessed_away(crew):
    estimate = crew.facts()["amount"]["estimate_kg"]
    part = {"answer": "part_accepted"}
    above = crew.answers(422, **part, accepted_mass_kg=estimate["high"] * 1.2)
    assert [fault["pointer"] for fault in above["errors"]] == ["/accepted_mass_kg"]
    both = crew.answers(422, **part, accepted_mass_kg=1.0, accepted_share=0.5)
    assert {fault["pointer"] for fault in both["errors"]} == {
        "/accepted_mass_kg",
        "/accepted_share",
    }
    shown = crew.sends(
        422, "?language=en", **part, accepted_share="0.5", accepted_amount="1", accepted_unit="kg"
    )
    assert shown.faulty() == {"accepted_share", "accepted_amount"}
    kept = crew.answers(**part, accepted_mass_kg=estimate["high"])
    assert 0.5 < kept["accepted_share"] < 1.0


def test_an_amount_that_can_be_read_in_two_ways_is_asked_back(crew):
    part = {"answer": "part_accepted", "accepted_unit": "kg"}
    for amount, language, asked in (
        ("1,200", "en", "1,200 can be read in two ways. Please write 1200 or 1.2."),
        ("1.234", "pl", "1.234 można odczytać na dwa sposoby. Proszę wpisać 1234 albo 1,23."),
    ):
        shown = crew.sends(422, f"?language={language}", accepted_amount=amount, **part)
        assert shown.faulty() == {"accepted_amount"}
        assert asked in shown.text
    # No group of digits begins with a nought.
    crew.sends(303, accepted_amount="0.500", **part)
    likely_kg = crew.facts()["amount"]["estimate_kg"]["likely"]
    assert crew.state()[1] == pytest.approx(1 - 0.5 / likely_kg)


def test_who_has_answered_is_told_whom_it_reached_what_happens_and_whom_to_call(crew):
    firm = crew.facts()["sender"]
    shown = crew.sends(303, "?language=en", answer="refused", reason="smells")
    assert f"Your answer is with {firm['name']}." in shown.text
    assert f"{firm['name']} looks for another place for it." in shown.text
    assert f"call {firm['name']}: {firm['phone']}." in shown.text
    again = crew.sends(409, "?language=en", answer="received_and_checked")
    assert "that answer stands" in again.text
    assert 'name="answer"' not in again.page


def test_who_answers_a_note_corrected_meanwhile_is_shown_the_newest_with_what_was_typed(
    crew,
):
    weighed = {"weighed_net": {"value": 40, "unit": "[lb_av]"}, "weigh_ticket": "W-1"}
    crew.patch(crew.load, {"state": "delivered", **weighed})
    newest = crew.post(f"{crew.load}/delivery-notes", {})
    assert newest["note_version"] == 2
    shown = crew.sends(409, "?language=en", answer="refused", remark="Wet")
    assert "This note was corrected in the meantime." in shown.text
    assert (shown.fields["answer"], shown.fields["version"]) == ("refused", "2")
    assert f'action="/notes/{newest["id"]}/' in shown.page


def test_a_link_that_shows_nothing_says_why_in_every_language_and_the_firm_only_if_it_is_true(crew):
    firm = crew.facts()["sender"]
    anybody = crew.world.app.test_client()
    every = {code for code in LANGUAGES if "-" not in code}

    def shown(address, status):
        answer = anybody.get(address, headers=BROWSER)
        assert (answer.status_code, answer.mimetype) == (status, "text/html")
        assert "style-src" in answer.headers["Content-Security-Policy"]
        page = Shown(answer.text)
        assert every <= set(page.languages)
        return page

    false = shown(f"{crew.address[:-2]}xA", 404)
    assert "This link opens no note." in false.text
    assert firm["name"] not in false.text
    crew.client.post(f"/delivery-notes/{crew.note_id}/end-link")
    for address in (crew.address, f"{crew.address}.pdf"):
        ended = shown(address, 410)
        assert "The firm has closed this link." in ended.text
        assert firm["name"] in ended.text
        assert firm["phone"] in ended.text
    assert "closed this link" in crew.sends(410, answer="received_and_checked").text

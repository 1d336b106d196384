"""What a client answers, and what a crew corrects, moves the kilograms."""

import pytest

from service.documents.rendering.language import LANGUAGES
from tests.crews import Crew, drops
from tests.deliveries import BROWSER, Delivered, Shown
from tests.outages import lots, warnings


@pytest.fixture
def crew():
    return Delivered()


def test_a_client_who_refuses_what_was_delivered_has_it_taken_elsewhere(crew):
    crew.read()
    crew.answers(answer="refused", reason="smells")
    assert crew.state() == ("refused", 1.0)
    plan = crew.read()
    (warning,) = warnings(plan, "turned_away")
    assert warning["load_id"] in crew.load
    assert "It smells." in warning["why"]
    (drop,) = drops(plan)
    assert drop["destination_kind"] == "hold_bay"
    assert drop["lot_codes"] == [lots(plan)[crew.job]["lot_code"]]


def test_a_client_who_took_a_part_is_asked_how_much(crew):
    problem = crew.answers(answer="part_accepted", accepted="two barrows", status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/accepted_share"]
    assert crew.state() == ("delivered", 0.0)
    kept = crew.answers(answer="part_accepted", accepted_share=0.25, reason="too_much")
    assert kept["accepted_share"] == 0.25
    assert crew.state() == ("partly_refused", 0.75)
    plan = crew.read()
    told = str(warnings(plan, "turned_away"))
    told += crew.client.get(f"/days/2026-05-24/decisions?depot_id={crew.ids['depots']}").text
    assert "Too much" in told
    assert "too_much" not in told  # a person reads words, never a code
    (drop,) = drops(plan)
    assert drop["destination_kind"] == "hold_bay"


def test_no_share_goes_with_an_answer_that_is_not_of_a_part(crew):
    problem = crew.answers(answer="refused", accepted_share=0.25, status=422)
    assert [fault["pointer"] for fault in problem["errors"]] == ["/accepted_share"]


def test_a_bed_is_charged_with_what_stayed_on_it(crew):
    full = crew.room_kg()
    crew.answers(answer="part_accepted", accepted_share=0.5)
    account = crew.client.get(f"{crew.load}").json
    assert account["state"] == "partly_refused"
    crew.patch(crew.load, {"state": "delivered"})
    assert crew.state() == ("delivered", 0.0)
    assert full >= 0


def test_the_page_of_a_note_asks_how_much_was_taken(crew):
    form = {"answer": "part_accepted", "signed_by": "R. Alvarez", "accepted_share": "0.5"}
    anybody = crew.world.app.test_client()
    shown = anybody.get(crew.address, headers={"Accept": "text/html"})
    assert '<a href="#acknowledge">' in shown.text
    assert 'name="accepted_share"' in shown.text
    answer = anybody.post(f"{crew.address}/acknowledgement", data=form)
    assert answer.status_code == 303, answer.text
    assert crew.state() == ("partly_refused", 0.5)
    answered = anybody.get(crew.address, headers={"Accept": "text/html"}).text
    assert "50" in answered
    assert '<a href="#acknowledge">' not in answered


def test_a_delivery_that_was_a_mistake_is_undone(crew):
    undone = crew.patch(crew.load, {"state": "planned"})
    assert (undone["state"], undone["done_at"]) == ("planned", None)
    (drop,) = drops(crew.read())
    assert drop["load_id"] in crew.load
    crew.patch(crew.load, {"state": "delivered"})


def test_a_delivery_becomes_a_refusal_and_back(crew):
    crew.patch(crew.load, {"state": "partly_refused"}, status=422)
    part = {"state": "partly_refused", "refused_share": 0.5, "refusal_reason": "Too much."}
    crew.patch(crew.load, part)
    assert crew.state() == ("partly_refused", 0.5)
    crew.patch(crew.load, {"state": "refused"})
    assert crew.state() == ("refused", 1.0)
    back = crew.patch(crew.load, {"state": "delivered"})
    assert (back["refused_share"], back["refusal_reason"]) == (0.0, None)


def test_what_a_client_signed_for_is_not_undone(crew):
    crew.answers(answer="received_and_checked")
    problem = crew.patch(crew.load, {"state": "planned"}, status=409)
    assert problem["code"] == "answered_by_client"


def test_a_tip_in_the_bay_is_undone_until_it_is_released():
    crew = Crew(bay=True)
    crew.mow_tainted("litter")
    (drop,) = drops(crew.read())
    load = f"/loads/{drop['load_id']}"
    crew.world.clock.move(minutes=5)
    crew.patch(load, {"state": "delivered"})
    (entry,) = crew.client.get("/hold-entries?state=in_bay").json["items"]
    crew.patch(load, {"state": "planned"})
    (again,) = crew.client.get("/hold-entries?state=expected").json["items"]
    assert (again["id"], again["held_since"]) == (entry["id"], None)
    crew.patch(load, {"state": "delivered"})
    released = {"state": "released", "released_to": "Hill Farm"}
    crew.patch(f"/hold-entries/{entry['id']}", released)
    assert crew.patch(load, {"state": "planned"}, status=409)["code"] == "state_not_reachable"


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


@pytest.mark.parametrize("answer", ["received_and_checked", "part_accepted", "nobody_present"])
def test_an_answer_to_what_is_still_to_come_is_refused_with_whom_to_call(crew, answer):
    crew.patch(crew.load, {"state": "planned"})
    crew.read()
    part = {"accepted_share": 0.5} if answer == "part_accepted" else {}
    crew.world.clock.move(minutes=-120)
    if answer == "part_accepted":  # how much of it stayed is known once it is there
        crew.world.clock.move(minutes=400)
    problem = crew.answers(answer=answer, status=409, remark="Leave it at the gate.", **part)
    assert problem["code"] == "not_brought_yet"
    assert "call " in problem["detail"]
    assert crew.state()[0] == "planned"
    assert "aún no ha llegado" in shown_of(crew, answer=answer, **part)


def test_who_takes_nothing_may_say_so_before_it_comes(crew):
    crew.patch(crew.load, {"state": "planned"})
    crew.world.clock.move(minutes=-120)
    crew.answers(answer="refused", reason="changed_mind")
    assert crew.state() == ("refused", 1.0)


def called_off(crew):
    """Plan the delivered load anew without its bed."""
    crew.patch(crew.load, {"state": "planned"})
    crew.patch(f"/beds/{crew.ids['beds']}", {"consent": {"state": "withdrawn"}})
    crew.read()
    assert crew.state()[0] == "superseded"


def written(crew, day="2026-05-24"):
    where = f"depot_id={crew.ids['depots']}"
    listed = crew.client.get(f"/days/{day}/decisions?{where}").json["decisions"]
    return [one for one in listed if one["code"] == "client_wrote"]


def test_nobody_signs_for_a_delivery_that_was_called_off(crew):
    called_off(crew)
    assert crew.answers(answer="received_unchecked", status=409)["code"] == "called_off"
    assert "se canceló" in shown_of(crew, answer="received_unchecked")


def test_a_refusal_of_what_was_called_off_is_kept_and_told(crew):
    called_off(crew)
    crew.answers(answer="refused", reason="litter")
    (told,) = written(crew)
    assert "litter" in told["sentence"].lower()


def brought_elsewhere(crew):
    """Undo the delivery, and tip the grass at a site; nothing was planned since."""
    crew.patch(crew.load, {"state": "planned"})
    tip = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "compost_site",
        "destination_id": crew.ids["compost-sites"],
        "done_at": crew.world.clock.now().isoformat(),
        "parts": [{"job_id": crew.job}],
    }
    return f"/loads/{crew.post('/loads', tip)['id']}"


@pytest.mark.parametrize("planned_since", [False, True])
def test_nobody_signs_for_what_was_undone_and_brought_elsewhere(crew, planned_since):
    brought_elsewhere(crew)
    if planned_since:
        crew.read()
    part = {"answer": "part_accepted", "accepted_share": 0.5}
    for said in ({"answer": "received_and_checked"}, part):
        assert crew.answers(**said, status=409)["code"] == "called_off"
    assert "se canceló" in shown_of(crew, answer="received_unchecked")


def test_a_refusal_of_what_was_brought_elsewhere_brings_nothing_aboard(crew):
    lies = brought_elsewhere(crew)
    crew.answers(answer="refused", reason="changed_mind")
    assert crew.client.get(lies).json["state"] == "delivered"
    plan = crew.read()
    assert drops(plan) == []
    assert crew.state()[0] == "superseded"
    (told,) = written(crew)
    assert told["load_id"] in crew.load


def test_a_refusal_is_of_what_lies_there_though_the_load_of_its_note_was_replanned(crew):
    crew.patch(crew.load, {"state": "planned"})
    second = crew.mow(crew.lawn("Second"), at="10:05")
    tip = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": crew.ids["beds"],
        "done_at": crew.world.clock.now().isoformat(),
        "parts": [{"job_id": crew.job}, {"job_id": second}],
    }
    lies = crew.post("/loads", tip)
    crew.read()
    assert crew.state()[0] == "superseded"
    crew.answers(answer="refused", reason="litter")
    now = crew.client.get(f"/loads/{lies['id']}").json
    assert (now["state"], now["status"]) == ("refused", "littered")


def test_an_old_link_overturns_nothing_that_was_answered_under_the_note_of_what_lies_there(crew):
    crew.patch(crew.load, {"state": "planned"})
    second = crew.mow(crew.lawn("Second"), at="10:05")
    tip = {
        "vehicle_id": crew.ids["vehicles"],
        "destination_kind": "bed",
        "destination_id": crew.ids["beds"],
        "done_at": crew.world.clock.now().isoformat(),
        "parts": [{"job_id": crew.job}, {"job_id": second}],
    }
    lies = crew.post("/loads", tip)
    crew.read()
    note = crew.post(f"/loads/{lies['id']}/delivery-notes", {})
    page = note["links"]["page"].removeprefix("http://127.0.0.1:8080")
    signed = {"answer": "received_and_checked", "signed_by": "R. Alvarez"}
    anybody = crew.world.app.test_client()
    assert anybody.post(f"{page}/acknowledgement", json=signed).status_code == 200
    again = crew.answers(answer="refused", reason="litter", status=409)
    assert again["code"] == "already_acknowledged"
    assert crew.client.get(f"/loads/{lies['id']}").json["state"] == "delivered"


def test_what_a_client_wrote_is_told_to_whoever_works_that_day(crew):
    crew.answers(answer="received_and_checked", remark="A syringe lay in it!")
    for day in ("2026-05-24", "2026-05-25"):
        (told,) = written(crew, day)
        assert "A syringe lay in it!" in told["sentence"]
    for way in told["ways"]:
        assert crew.client.get(way["href"]).status_code == 200
    assert written(crew, "2026-05-26") == []


def shown_of(crew, **answer):
    """Return the page that a form gets back."""
    form = {"signed_by": "R. Alvarez", **{name: str(value) for name, value in answer.items()}}
    anybody = crew.world.app.test_client()
    return anybody.post(f"{crew.address}/acknowledgement", data=form).text


class TestARefusalDaysLater:
    """What was laid is refused by its note two days later: it lies there."""

    DAY = "2026-05-26"

    @pytest.fixture
    def crew(self):
        crew = Delivered()
        crew.read()
        crew.world.clock.move(hours=48)
        return crew

    def told(self, crew):
        where = f"depot_id={crew.ids['depots']}"
        listed = crew.client.get(f"/days/{self.DAY}/decisions?{where}").json["decisions"]
        lot = crew.client.get(f"/jobs/{crew.job}").json["lot_code"]
        return [one for one in listed if lot in one["lot_codes"]]

    def routing(self, crew):
        answer = crew.client.get(f"/days/{self.DAY}/routing?depot_id={crew.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json

    def test_it_lies_on_the_bed_until_somebody_says_that_it_was_taken_up(self, crew):
        crew.answers(answer="refused", reason="changed_mind", remark="We grow beans here now.")
        assert crew.state() == ("delivered", 0.0)
        crew.mow(crew.lawn("Later"), at="10:00", day=self.DAY)
        (drop,) = drops(self.routing(crew))
        assert crew.job not in str(drop)
        (decision,) = self.told(crew)
        assert decision["code"] == "refused_later"
        assert decision["load_id"] in crew.load
        assert "R. Alvarez refused at" in decision["sentence"]
        assert "We grow beans here now." in decision["sentence"]
        assert "until somebody takes it up" in decision["sentence"]
        assert f"/loads/{decision['load_id']}" in {way["href"] for way in decision["ways"]}
        crew.patch(crew.load, {"state": "refused"})
        (warning,) = warnings(self.routing(crew), "aboard_overnight")
        assert warning["lot_codes"] == decision["lot_codes"]
        assert "refused_later" not in [one["code"] for one in self.told(crew)]

    @pytest.mark.parametrize("by_note", [True, False])
    def test_nothing_more_is_laid_on_its_bed_before_it_is_settled_whoever_passes_the_no_on(
        self, crew, by_note
    ):
        crew.world.clock.move(hours=24 * 12)  # its last layer has rested
        self.DAY = "2026-06-07"
        crew.mow(crew.lawn("Later"), at="10:00", day=self.DAY)
        assert [one["destination_kind"] for one in drops(self.routing(crew))] == ["bed"]
        if by_note:
            crew.answers(answer="refused", reason="changed_mind", remark="We grow beans here now.")
        else:
            crew.patch(crew.load, {"refusal_reason": "They grow beans there now."})
        assert "bed" not in [one["destination_kind"] for one in drops(self.routing(crew))]
        (decision,) = self.told(crew)
        assert decision["code"] == "refused_later"
        assert "beans" in decision["sentence"]
        crew.patch(crew.load, {"refusal_reason": None}, reason="They rang: it may stay.")
        assert [one["destination_kind"] for one in drops(self.routing(crew))] == ["bed"]
        assert self.told(crew) == []

    def test_who_tips_more_onto_it_all_the_same_is_told_and_so_is_the_office(self, crew):
        crew.world.clock.move(hours=24 * 12)
        self.DAY = "2026-06-07"
        crew.patch(crew.load, {"refusal_reason": "They grow beans there now."})
        tip = {
            "vehicle_id": crew.ids["vehicles"],
            "destination_kind": "bed",
            "destination_id": crew.ids["beds"],
            "done_at": crew.world.clock.now().isoformat(),
            "parts": [{"job_id": crew.mow(crew.lawn("Later"), at="10:00", day=self.DAY)}],
        }
        (warning,) = crew.post("/loads", tip)["warnings"]
        assert (warning["code"], warning["rule_class"]) == ("tipped_where_refused", "client")
        where = f"depot_id={crew.ids['depots']}"
        listed = crew.client.get(f"/days/{self.DAY}/decisions?{where}").json["decisions"]
        (told,) = [one for one in listed if one["code"] == "tipped_where_refused"]
        assert "They grow beans there now" in told["sentence"]
        assert told["urgency"] == "now"

    def test_it_stays_where_somebody_says_that_it_does(self, crew):
        crew.answers(answer="part_accepted", accepted_share=0.25, reason="too_much")
        (decision,) = self.told(crew)
        assert "took 25%" in decision["sentence"]
        crew.patch(crew.load, {"refusal_reason": None}, reason="They rang: it may stay.")
        assert self.told(crew) == []
        assert crew.state() == ("delivered", 0.0)

    def test_what_was_seen_in_it_counts_at_once_and_nobody_is_told_to_call_who_has_said_it(
        self, crew
    ):
        crew.answers(answer="refused", reason="litter")
        assert crew.client.get(f"/jobs/{crew.job}").json["status"] == "littered"
        (decision,) = self.told(crew)
        assert decision["code"] == "refused_later"

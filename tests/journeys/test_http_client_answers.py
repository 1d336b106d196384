"""What a client answers, and what a crew corrects, moves the kilograms."""

import pytest

from tests.journeys.test_http_taint import Crew, drops
from tests.outages import lots, warnings


class Delivered(Crew):
    """A crew that delivered a clean load to a bed and left its note."""

    def __init__(self):
        super().__init__(bay=True)
        self.job = self.mow(self.lawn("Clean"), at="10:00")
        (drop,) = drops(self.read())
        self.load = f"/loads/{drop['load_id']}"
        note = self.post(f"{self.load}/delivery-notes", {})
        self.note_id = note["id"]
        self.address = note["links"]["page"].removeprefix("http://127.0.0.1:8080")
        self.world.clock.move(minutes=20)
        self.patch(self.load, {"state": "delivered"})
        self.world.clock.move(minutes=20)

    def answers(self, status=200, **said):
        said = {"signed_by": "R. Alvarez", **said}
        answer = self.world.app.test_client().post(f"{self.address}/acknowledgement", json=said)
        assert answer.status_code == status, answer.text
        return answer.json

    def state(self):
        load = self.client.get(self.load).json
        return load["state"], load["refused_share"]

    def room_kg(self):
        """Return what the bed still takes of a lot that was just cut."""
        job = self.mow(self.lawn("Next"), at="10:30")
        said = self.client.get(f"/jobs/{job}/verdicts").json["verdicts"]
        (bed,) = [one for one in said if one["destination_kind"] == "bed"]
        return bed["accepted_kg"]


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
    assert "smells" in warning["why"]
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
    (drop,) = drops(crew.read())
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
    assert 'name="accepted_share"' in shown.text
    answer = anybody.post(f"{crew.address}/acknowledgement", data=form)
    assert answer.status_code == 303, answer.text
    assert crew.state() == ("partly_refused", 0.5)
    assert "50" in anybody.get(crew.address, headers={"Accept": "text/html"}).text


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

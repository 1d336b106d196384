"""What a client answers, and what a crew corrects, moves the kilograms."""

import pytest

from tests.crews import Crew, drops
from tests.deliveries import Delivered
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

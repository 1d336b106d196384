"""What a client answers to what is still to come, was called off or went elsewhere."""

import pytest

from tests.crews import drops
from tests.deliveries import Delivered


@pytest.fixture
def crew():
    return Delivered()


def shown_of(crew, **answer):
    """Return the page that a form gets back."""
    form = {"signed_by": "R. Alvarez", **{name: str(value) for name, value in answer.items()}}
    anybody = crew.world.app.test_client()
    return anybody.post(f"{crew.address}/acknowledgement", data=form).text


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

"""A corrected job moves everything that rests on it: load, bed, book and note."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from tests.deliveries import Delivered
from tests.journeys.test_http_refused_for_cause import decisions
from tests.worlds import work


@pytest.fixture
def crew():
    return Delivered()


def load_of(crew):
    return crew.client.get(crew.load).json


def correct(crew, area_m2, **fields):
    """Amend the delivered job's area, with a reason."""
    answer = crew.client.patch(
        f"/jobs/{crew.job}",
        json={"area_mowed": {"value": area_m2, "unit": "m2"}, **fields},
        headers={"If-Match": "*", "Change-Reason": "A zero too many."},
    )
    assert answer.status_code == 200, answer.text
    return answer.json


def notes_of(crew):
    found = crew.client.get(f"/delivery-notes?load_id={load_of(crew)['id']}").json["items"]
    return sorted(found, key=lambda note: note["note_version"])


def test_a_tenth_of_the_area_is_a_tenth_of_the_load(crew):
    before = load_of(crew)
    correct(crew, 6)
    after = load_of(crew)
    for name in ("mass_kg", "volume_m3", "nitrogen_kg"):
        assert after[name]["high"] == pytest.approx(before[name]["high"] / 10, rel=1e-6)
    assert after["version"] == before["version"] + 1
    assert after["state"] == "delivered"


def test_the_bed_has_more_room_after_the_load_was_corrected_to_a_tenth(crew):
    before = crew.room_kg()
    correct(crew, 6)
    crew.world.clock.move(minutes=1)
    assert crew.room_kg() > before


def test_the_note_gets_its_next_version_by_itself_and_says_what_changed(crew):
    crew.answers(answer="received_and_checked")
    (first,) = notes_of(crew)
    correct(crew, 6)
    signed, corrected = notes_of(crew)
    assert signed == first
    assert corrected["note_version"] == 2
    assert corrected["acknowledgement"] is None
    shown = crew.client.get(f"/delivery-notes/{corrected['id']}?language=en").json["note"]
    assert shown["facts"]["amount"]["estimate_kg"]["likely"] == pytest.approx(
        load_of(crew)["mass_kg"]["likely"], rel=1e-3
    )
    assert shown["changes"]
    # Asked for, it is the one that stands: paper is not multiplied.
    assert crew.post(f"{crew.load}/delivery-notes", {})["id"] == corrected["id"]


def test_a_correction_that_changes_no_amount_makes_no_paper(crew):
    crew.patch(f"/jobs/{crew.job}", {"remarks": "The gate was stiff."})
    assert len(notes_of(crew)) == 1


def test_a_load_that_is_under_way_is_corrected_as_well(crew):
    crew.patch(crew.load, {"state": "planned"})
    crew.patch(crew.load, {"state": "under_way"})
    before = load_of(crew)
    correct(crew, 30)
    # Kilograms are told to the gram.
    half = pytest.approx(before["mass_kg"]["likely"] / 2, abs=0.0011)
    assert load_of(crew)["mass_kg"]["likely"] == half


def test_a_correction_half_a_year_later_reaches_the_load(crew):
    before = load_of(crew)
    crew.world.clock.move(days=250)
    correct(crew, 6)
    assert load_of(crew)["mass_kg"]["high"] == pytest.approx(before["mass_kg"]["high"] / 10)
    assert [note["note_version"] for note in notes_of(crew)] == [1, 2]


def test_a_weight_stays_what_it_was_when_the_estimate_is_corrected(crew):
    net = load_of(crew)["mass_kg"]["likely"]
    ticket = {"weighed_net": {"value": net, "unit": "kg"}, "weigh_ticket": "W-1"}
    crew.patch(crew.load, {**ticket, "ticket_review": "accepted"})
    correct(crew, 40)
    after = load_of(crew)
    assert after["weighed_net"]["value"] == net
    assert after["weight_counts"] is True


def test_a_weight_is_told_by_the_next_version_of_the_note(crew):
    net = load_of(crew)["mass_kg"]["likely"]
    crew.patch(crew.load, {"weighed_net": {"value": net, "unit": "kg"}, "weigh_ticket": "W-1"})
    assert [note["note_version"] for note in notes_of(crew)] == [1, 2]


@pytest.mark.parametrize(
    "change", [{"state": "cancelled"}, {"clippings": "left"}], ids=["cancelled", "left"]
)
def test_a_lot_that_was_delivered_was_cut(crew, change):
    before = load_of(crew)
    problem = crew.patch(f"/jobs/{crew.job}", change, status=409)
    assert problem["code"] == "more_than_there_is"
    assert crew.load in problem["detail"]
    assert load_of(crew) == before
    crew.patch(crew.load, {"state": "refused", "refusal_reason": "It never came."})
    crew.patch(f"/jobs/{crew.job}", change)


def test_a_delivered_lot_that_turns_out_treated_has_a_treated_load(crew):
    lawn = crew.client.get(f"/jobs/{crew.job}").json["lawn_id"]
    crew.treated(lawn)
    assert load_of(crew)["status"] == "treated"
    assert decisions(crew, "recall")
    assert [note["note_version"] for note in notes_of(crew)] == [1, 2]


def test_the_history_of_a_load_tells_why_it_changed(crew):
    correct(crew, 6)
    with crew.world.open_unit_of_work() as unit:
        (firm,) = unit.firms.all()
        (load,) = [one for one in unit.loads.all(firm.id) if str(one.id) in crew.load]
        trail = unit.amendments.of(firm.id, load.id)
    assert "A zero too many." in trail[-1].reason
    assert "mass_kg" in trail[-1].changes


def test_a_planned_load_that_weighs_otherwise_gets_the_next_version_of_its_note(yard):
    yard = work(yard)
    client, ids = yard.client, yard.ids
    before = client.get(f"/delivery-notes/{ids['delivery-notes']}").json
    more = {"area_mowed": {"value": 66, "unit": "m2"}}
    version = client.get(f"/jobs/{ids['jobs']}").headers["ETag"]
    amended = client.patch(f"/jobs/{ids['jobs']}", json=more, headers={"If-Match": version})
    assert amended.status_code == 200, amended.text
    routing = client.get(f"/days/2026-05-24/routing?depot_id={ids['depots']}")
    assert routing.status_code == 200, routing.text
    notes = client.get(f"/delivery-notes?load_id={ids['loads']}").json["items"]
    assert [note["note_version"] for note in notes] == [1, 2]
    assert {note["number"] for note in notes} == {before["number"]}


def test_grass_that_was_tipped_was_not_cut_after_that(crew):
    done_at = load_of(crew)["done_at"]
    cut_at = crew.client.get(f"/jobs/{crew.job}").json["cut_at"]
    after = (datetime.fromisoformat(done_at) + timedelta(minutes=2)).isoformat()
    crew.world.clock.move(minutes=30)
    problem = crew.patch(f"/jobs/{crew.job}", {"cut_at": after}, status=422)
    (fault,) = problem["errors"]
    at = datetime.fromisoformat(done_at).astimezone(ZoneInfo("Europe/London"))
    assert fault["pointer"] == "/cut_at"
    assert f"{at:%H:%M}" in fault["detail"]
    assert crew.load in fault["detail"]
    assert crew.client.get(f"/jobs/{crew.job}").json["cut_at"] == cut_at
    crew.patch(f"/jobs/{crew.job}", {"cut_at": done_at})

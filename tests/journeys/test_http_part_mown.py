"""Of a planned lawn a part was mown: the office is asked about the rest, and plans it again."""

import pytest

from tests.holds import DAY, Yard

CODE = "part_not_mown"
WHOLE = {"value": 1000, "unit": "m2"}


@pytest.fixture
def yard():
    yard = Yard()
    yard.front = yard.lawn("Front")
    yard.patch(f"/lawns/{yard.front}", {"area": {"value": 1200, "unit": "m2"}})
    yard.job = yard.plan_to_mow(yard.front, at="12:30", area_mowed=WHOLE)
    return yard


def mown(yard, m2):
    said = {"lawn_id": yard.front, "area_mowed": {"value": m2, "unit": "m2"}}
    cut = yard.yard.job(cut_at=f"{DAY}T12:40:00+01:00", **said)
    assert yard.post("/jobs", cut)["id"] == yard.job
    yard.world.clock.move(minutes=1)


def told(yard):
    answer = yard.client.get(f"/days/{DAY}/decisions?depot_id={yard.ids['depots']}")
    assert answer.status_code == 200, answer.text
    return [one for one in answer.json["decisions"] if one["code"] == CODE]


def test_the_rest_of_a_lawn_is_asked_about_and_the_close_of_the_day_names_it(yard):
    mown(yard, 400)
    (one,) = told(yard)
    assert "400 m2 of 1,000 m2" in one["sentence"]
    assert "600 m2" in one["sentence"]
    assert one["job_id"] == yard.job
    assert ("POST", "/jobs") in {(way["method"], way["href"]) for way in one["ways"]}
    closing = yard.post(f"/days/{DAY}/closing?depot_id={yard.ids['depots']}", {})
    assert CODE in [item["code"] for item in closing["content"]["still_open"]]


def test_planned_again_it_is_asked_about_no_more(yard):
    mown(yard, 400)
    rest = {"value": 600, "unit": "m2"}
    yard.plan_to_mow(yard.front, planned_at="2026-05-24T16:00:00+01:00", area_mowed=rest)
    assert told(yard) == []


def test_an_area_that_was_a_slip_and_is_put_right_is_no_rest(yard):
    mown(yard, 400)
    yard.patch(f"/jobs/{yard.job}", {"area_mowed": WHOLE})
    assert told(yard) == []


@pytest.mark.parametrize(("m2", "count"), [(790, 1), (810, 0), (1200, 0)])
def test_a_small_difference_is_none(yard, m2, count):
    """A lawn on record and what a crew says of its round are off by a quarter of it."""
    mown(yard, m2)
    assert len(told(yard)) == count


def test_a_cut_that_was_corrected_later_was_not_planned_to_be_larger(yard):
    mown(yard, 1000)
    yard.patch(f"/jobs/{yard.job}", {"area_mowed": {"value": 400, "unit": "m2"}})
    assert told(yard) == []

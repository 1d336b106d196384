"""Lawns that were planned and rained off are on the office's list until somebody says of each."""

import re

import pytest

from tests.crews import DAY
from tests.holds import Yard
from tests.screens import OURS, joined

NEXT_DAY = "2026-05-25"
CODE = "planned_not_reported"


@pytest.fixture
def yard():
    """Return a yard with a lawn that was planned for yesterday, of which nobody said anything."""
    yard = Yard()
    yard.front = yard.lawn("Front")
    yard.job = yard.plan_to_mow(yard.front)
    yard.routing()
    return yard


def told(yard, day=NEXT_DAY):
    answer = yard.client.get(f"/days/{day}/decisions?depot_id={yard.ids['depots']}")
    assert answer.status_code == 200, answer.text
    return [one for one in answer.json["decisions"] if one["code"] == CODE]


def test_on_its_own_day_it_is_in_the_plan_and_no_decision_not_even_on_the_days_ahead(yard):
    assert told(yard, DAY) == []
    assert told(yard) == []


def test_the_next_morning_the_office_is_asked_what_became_of_it(yard):
    yard.world.clock.move(hours=20)
    (one,) = told(yard)
    assert "Front" in one["sentence"]
    assert "24 May" in one["sentence"]
    assert (one["job_id"], one["urgency"]) == (yard.job, "today")
    assert {(way["method"], way["href"]) for way in one["ways"]} == {("PATCH", f"/jobs/{yard.job}")}


def test_several_of_one_day_are_one_matter_and_those_of_another_day_another(yard):
    yard.plan_to_mow(yard.lawn("Back"))
    yard.world.clock.move(hours=20)
    (one,) = told(yard)
    assert one["count"] == 2
    assert "Front" in one["sentence"]
    assert "Back" in one["sentence"]
    yard.plan_to_mow(yard.lawn("Side"), planned_at=f"{NEXT_DAY}T15:00:00+01:00")
    yard.world.clock.move(hours=24)
    assert sorted(one["count"] for one in told(yard, "2026-05-26")) == [1, 2]


@pytest.mark.parametrize(
    "said",
    [
        {"state": "mown", "cut_at": f"{DAY}T15:20:00+01:00"},
        {"planned_at": f"{NEXT_DAY}T15:00:00+01:00"},
        {"state": "cancelled"},
    ],
    ids=["mown", "moved", "not mown"],
)
def test_whatever_is_said_of_it_ends_it(yard, said):
    yard.world.clock.move(hours=20)
    yard.patch(f"/jobs/{yard.job}", said)
    assert told(yard) == []


def test_a_later_cut_of_the_lawn_ends_it(yard):
    yard.world.clock.move(hours=22)
    yard.mow(yard.lawn("Other"), at="10:30", day=NEXT_DAY)
    assert told(yard) != []
    yard.mow(yard.front, at="10:45", day=NEXT_DAY)
    assert told(yard) == []


def test_the_close_of_its_day_and_of_the_day_after_name_it(yard):
    def still_open(day):
        answer = yard.post(f"/days/{day}/closing?depot_id={yard.ids['depots']}", {})
        return {one["code"]: one for one in answer["content"]["still_open"]}

    yard.world.clock.move(hours=20)
    own = yard.client.get(f"/jobs/{yard.job}").json
    home = yard.client.get(f"/properties/{own['property_id']}").json["name"]
    assert home in still_open(DAY)["jobs_open"]["subject"]
    assert "Front" in still_open(NEXT_DAY)[CODE]["sentence"]


def rows(page):
    found = re.findall(r'<div class="toned matter.*?</div>', page, re.DOTALL)
    return [row for row in found if "Not reported" in row]


def test_the_office_says_it_on_the_day_s_page_though_the_day_has_no_plan(yard):
    yard.world.clock.move(hours=20)
    office = joined(yard.world, yard.yard, "dispatcher")
    page = f"/screens/day?depot={yard.ids['depots']}"
    (row,) = rows(office.get(page).text)
    (path,) = set(re.findall(r'action="([^"]*/not-reported)"', row))
    form = {"depot": yard.ids["depots"], "act": "moved", "day": NEXT_DAY}
    said = office.post(path, data=form, headers=OURS)
    assert said.status_code == 303, said.text
    assert rows(office.get(page).text) == []
    kept = yard.client.get(f"/jobs/{yard.job}").json
    assert (kept["state"], kept["planned_at"]) == ("planned", f"{NEXT_DAY}T14:00:00Z")


@pytest.mark.parametrize(
    ("act", "state", "cut_at"),
    [("mown", "mown", f"{DAY}T14:00:00Z"), ("not_mown", "cancelled", None)],
)
def test_the_office_says_that_it_was_or_was_not_mown(yard, act, state, cut_at):
    yard.world.clock.move(hours=20)
    office = joined(yard.world, yard.yard, "dispatcher")
    path = f"/screens/day/jobs/{yard.job}/not-reported"
    form = {"depot": yard.ids["depots"], "act": act, "at": "15:00"}
    said = office.post(path, data=form, headers=OURS)
    assert said.status_code == 303, said.text
    kept = yard.client.get(f"/jobs/{yard.job}").json
    assert (kept["state"], kept["cut_at"]) == (state, cut_at)
    faulty = office.post(path, data={**form, "act": "forgotten"}, headers=OURS)
    assert faulty.status_code == 422

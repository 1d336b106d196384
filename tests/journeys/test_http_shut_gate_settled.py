"""A tip at a gate that was shut waits until somebody settles it, not only until midnight."""

import pytest

from tests.holds import DAY
from tests.journeys.test_http_tipped_at_sites_and_bays import ALWAYS, IN_THE_MORNING, Tipping

NEXT_DAY, LATER = "2026-05-25", "2026-05-29"
CODE = "tipped_where_refused"


@pytest.fixture
def yard():
    """Return a yard whose crew tipped after the last load of the site."""
    yard = Tipping()
    yard.patch(yard.site, {"hours": IN_THE_MORNING, "closed_on": []})
    job = yard.clean()
    yard.load = f"/loads/{yard.tips(job)['load_id']}"
    return yard


def told(yard, day):
    about = f"/days/{day}/decisions?depot_id={yard.ids['depots']}"
    return [one for one in yard.client.get(about).json["decisions"] if one["code"] == CODE]


def test_it_is_told_the_next_day_and_days_later_with_its_own_day(yard):
    assert len(told(yard, DAY)) == 1
    yard.world.clock.move(hours=5 * 24)
    for day in (NEXT_DAY, LATER):
        (one,) = told(yard, day)
        assert f"/loads/{one['load_id']}" == yard.load
        assert "24 May" in one["sentence"]
        assert yard.site_name in one["sentence"]
        assert ("PATCH", yard.load) in {(way["method"], way["href"]) for way in one["ways"]}


@pytest.mark.parametrize("hours", [0, 24])
def test_their_word_that_they_take_it_ends_it_on_its_day_and_for_good(yard, hours):
    yard.world.clock.move(hours=hours)
    settled = yard.patch(yard.load, {"against_gate": "settled"}, reason="They keep it.")
    assert settled["against_gate"] == "settled"
    assert told(yard, DAY) == []
    yard.world.clock.move(hours=24)
    assert told(yard, NEXT_DAY) == []
    assert told(yard, LATER) == []


def test_fetched_back_it_is_told_no_more(yard):
    yard.world.clock.move(hours=24)
    assert len(told(yard, NEXT_DAY)) == 1
    yard.patch(yard.load, {"state": "refused", "refusal_reason": "They were shut."})
    assert told(yard, NEXT_DAY) == []


def test_a_ticket_of_their_scale_shows_that_they_took_it(yard):
    yard.world.clock.move(hours=24)
    yard.patch(yard.load, {"weighed_net": {"value": 20, "unit": "kg"}, "weigh_ticket": "A1"})
    assert told(yard, NEXT_DAY) == []


def test_hours_that_were_wrong_on_record_end_it_once_they_are_put_right_from_then(yard):
    yard.world.clock.move(hours=24)
    yard.patch(yard.site, {"hours": ALWAYS})
    assert len(told(yard, NEXT_DAY)) == 1
    yard.patch(yard.site, {"hours": ALWAYS, "terms_from": "2026-05-01"})
    assert told(yard, NEXT_DAY) == []


def test_what_the_gate_itself_said_of_the_day_is_told_days_later_though_it_says_otherwise_now():
    yard = Tipping()
    yard.patch(yard.site, {"hours": ALWAYS, "closed_on": []})
    yard.says(state="closed")
    yard.tips(yard.clean())
    yard.world.clock.move(hours=24)
    yard.says(state="open")
    (one,) = told(yard, NEXT_DAY)
    assert "closed" in one["sentence"]


def test_nobody_settles_what_nothing_stood_against():
    yard = Tipping()
    yard.patch(yard.site, {"hours": ALWAYS, "closed_on": []})
    load = f"/loads/{yard.tips(yard.clean())['load_id']}"
    assert yard.client.get(load).json["against_gate"] is None
    refused = yard.patch(load, {"against_gate": "settled"}, 422)
    assert [one["pointer"] for one in refused["errors"]] == ["/against_gate"]
    refused = yard.patch(load, {"against_gate": "said_closed"}, 422)
    assert [one["pointer"] for one in refused["errors"]] == ["/against_gate"]

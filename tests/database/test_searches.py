"""What takes the planner seconds, asked for now and fetched later: on both databases, by HTTP."""

from dataclasses import dataclass, replace
from datetime import timedelta

import pytest
from flask import Flask

from service import bootstrap
from service.api.search_runs import search_behind
from service.api.work.days import searches
from service.core.searches import ANSWER_LASTS, LEFT_ALONE, MOST_QUEUED, MOST_TRIES, SearchState
from service.usecases.planning.searches.behind import LEASE, SearchBehind
from service.usecases.planning.searches.keep import KeepSearches
from service.usecases.planning.what_if import WhatIf
from tests import worlds
from tests.worlds import World, Yard

DAY = "2026-05-24"
LATER = {"Prefer": "respond-async"}


@dataclass(frozen=True, kw_only=True)
class Desk:
    """A firm's office, and two planners behind it."""

    world: World
    app: Flask
    yard: Yard
    planners: tuple[SearchBehind, SearchBehind]

    @property
    def day(self):
        return {"depot_id": self.yard.ids["depots"], "day": DAY}

    def at_desk(self, yard):
        """Return a yard whose requests go to the app that leaves searches to planners."""
        client = self.app.test_client()
        name = "HTTP_AUTHORIZATION"
        client.environ_base[name] = yard.client.environ_base[name]
        return replace(yard, client=client)

    def suppose(self, yard=None, **more):
        yard = yard or self.yard
        day = {"depot_id": yard.ids["depots"], "day": DAY, "rain": True, **more}
        return yard.client.post("/what-ifs", json=day, headers=LATER)

    def pass_by(self, time):
        self.world.clock.at += time


@pytest.fixture
def desk(open_unit, open_reading):
    world = worlds.make_world(open_unit, open_reading)
    kept = {"clock": world.clock, "identifiers": world.identifiers}
    use_cases = bootstrap.build_use_cases(
        worlds.SETTINGS, writing=open_unit, reading=open_reading, behind=True, **kept
    )
    app = bootstrap.make_app(worlds.SETTINGS, use_cases)
    keeping = {"open_unit_of_work": open_unit, "open_reading": open_reading, **kept}
    planners = tuple(search_behind(use_cases, **keeping) for _ in "ab")
    made = Desk(world=world, app=app, yard=worlds.furnish(world), planners=planners)
    made = replace(made, yard=made.at_desk(made.yard))
    assert made.yard.client.post("/jobs", json=made.yard.job()).status_code == 201
    return made


def test_who_would_rather_not_wait_hears_where_the_answer_will_be_and_fetches_it(desk):
    asked = desk.suppose()
    assert asked.status_code == 202, asked.text
    assert asked.headers["Preference-Applied"] == "respond-async"
    assert int(asked.headers["Retry-After"]) > 0
    place = asked.headers["Location"]
    assert place == f"/searches/{asked.json['id']}"
    assert (asked.json["state"], asked.json["ahead"]) == ("queued", 0)
    assert [one.search_next() for one in desk.planners] == [True, False]
    found = desk.yard.client.get(place)
    assert (found.status_code, found.json["state"]) == (200, "done"), found.text
    assert "Retry-After" not in found.headers
    waited = desk.yard.client.post("/what-ifs", json={**desk.day, "rain": True})
    assert waited.status_code == 200
    assert found.json["answer"] == waited.json


def test_an_order_and_a_plan_of_the_whole_day_are_searched_so_too(desk):
    client = desk.yard.client
    places = [
        client.post(path, json=desk.day, headers=LATER).headers["Location"]
        for path in ("/order-proposals", "/day-plans")
    ]
    while desk.planners[0].search_next():
        pass
    order, plan = (client.get(place).json for place in places)
    assert (order["kind"], order["state"]) == ("order_proposal", "done"), order
    assert order["answer"]["proposed"] is False
    assert (plan["kind"], plan["state"]) == ("day_plan", "done"), plan
    kept = client.get(f"/day-plans/{plan['answer']['id']}")
    assert kept.json["cost_cents"] == plan["answer"]["cost_cents"]


def test_what_is_not_of_the_day_is_refused_before_it_is_searched_for_and_after_if_it_went(desk):
    stranger = desk.yard.ids["depots"]
    refused = desk.suppose(closed_site_ids=[stranger])
    assert refused.status_code == 422, refused.text
    assert [one["pointer"] for one in refused.json["errors"]] == ["/closed_site_ids/0"]
    nowhere = desk.suppose(depot_id=desk.yard.ids["lawns"])
    assert desk.planners[0].search_next()
    failed = desk.yard.client.get(nowhere.headers["Location"]).json
    assert (failed["state"], failed["answer"]) == ("failed", None)
    assert failed["problem"]["status"] == 404
    assert failed["problem"]["code"] == "record_missing"


def test_a_search_that_was_cancelled_is_not_searched_and_one_under_way_ends(desk, monkeypatch):
    client = desk.yard.client
    place = desk.suppose().headers["Location"]
    cancelled = client.delete(place)
    assert (cancelled.status_code, cancelled.json["state"]) == (200, "cancelled")
    assert client.delete(place).json == cancelled.json
    assert not desk.planners[0].search_next()
    place = desk.suppose().headers["Location"]
    told, made = WhatIf._told, []  # noqa: SLF001 - the moment between two searches

    def then_cancelled(*day, **more):
        made.append(told(*day, **more))
        client.delete(place)
        desk.pass_by(timedelta(seconds=2))
        return made[-1]

    monkeypatch.setattr(WhatIf, "_told", then_cancelled)
    assert desk.planners[0].search_next()
    assert len(made) == 1
    assert client.get(place).json["state"] == "cancelled"


def test_what_nobody_looks_at_is_cancelled_and_an_answer_goes_after_its_time(desk):
    client, planner = desk.yard.client, desk.planners[0]
    left, looked = (desk.suppose().headers["Location"] for _ in "ab")
    for _ in range(3):
        desk.pass_by(LEFT_ALONE / 2)
        assert client.get(looked).json["state"] == "queued"
        planner.tidy()
    why = client.get(left).json
    assert why["state"] == "cancelled"
    assert why["cancelled_because"] == "Nobody looked at it for 2 minutes."
    assert planner.search_next()
    desk.pass_by(ANSWER_LASTS)
    planner.tidy()
    assert client.get(looked).json["state"] == "done"
    desk.pass_by(timedelta(seconds=1))
    planner.tidy()
    assert client.get(looked).status_code == 404


def test_a_planner_that_was_killed_is_followed_by_another_and_stores_nothing_late(desk):
    client, (slow, other) = desk.yard.client, desk.planners
    place = desk.suppose().headers["Location"]
    holder = desk.world.identifiers.next_id()
    search = slow._taken(holder)  # noqa: SLF001 - then it was killed
    assert client.get(place).json["state"] == "running"
    assert not other.search_next()
    desk.pass_by(LEASE + timedelta(seconds=1))
    assert other.search_next()
    found = client.get(place).json
    assert found["state"] == "done"
    with desk.world.open_unit_of_work() as unit:
        state = SearchState.FAILED
        assert not unit.searches.end(search, holder=holder, state=state, now=desk.world.clock.now())


def test_a_search_that_ends_its_planner_each_time_is_given_up(desk):
    place = desk.suppose().headers["Location"]
    for _ in range(MOST_TRIES):
        assert desk.planners[0]._taken(desk.world.identifiers.next_id())  # noqa: SLF001 - then it was killed
        desk.pass_by(LEASE + timedelta(seconds=1))
    assert desk.planners[1].search_next()
    given_up = desk.yard.client.get(place).json
    assert given_up["state"] == "failed"
    assert "a fault of the service" in given_up["problem"]["detail"]


def test_ten_what_ifs_of_one_firm_keep_another_firms_waiting_for_one_of_them(desk):
    other = desk.at_desk(worlds.furnish(desk.world, desk.world.firm("Other")))
    ours = [desk.suppose().headers["Location"] for _ in range(10)]
    desk.pass_by(timedelta(seconds=1))
    theirs = desk.suppose(yard=other)
    assert theirs.json["ahead"] == 1
    planner = desk.planners[0]
    assert planner.search_next()
    assert other.client.get(theirs.headers["Location"]).json["ahead"] == 0
    assert planner.search_next()
    assert other.client.get(theirs.headers["Location"]).json["state"] == "done"
    states = [desk.yard.client.get(place).json["state"] for place in ours]
    assert states == ["done", *["queued"] * 9]
    assert other.client.get(ours[0]).status_code == 404
    assert other.client.delete(ours[1]).status_code == 404


def test_a_firm_has_so_many_searches_under_way_and_no_more(desk):
    for _ in range(MOST_QUEUED):
        assert desk.suppose().status_code == 202
    refused = desk.suppose()
    assert refused.status_code == 429
    assert refused.json["code"] == "too_many_searches"
    assert refused.headers["Retry-After"]


def test_who_waits_is_answered_as_ever_or_after_the_wait_where_to_look(desk, monkeypatch):
    client, day = desk.yard.client, {**desk.day, "rain": True}
    look = KeepSearches.look

    def meanwhile(*asked):
        desk.planners[0].search_next()
        return look(*asked)

    monkeypatch.setattr(searches, "sleep", lambda _s: None)
    monkeypatch.setattr(searches, "monotonic", iter(range(1000)).__next__)
    late = client.post("/what-ifs", json=day, headers={"Prefer": "wait=3"})
    assert (late.status_code, late.headers["Preference-Applied"]) == (202, "wait=3")
    client.delete(late.headers["Location"])
    monkeypatch.setattr(KeepSearches, "look", meanwhile)
    found = client.post("/what-ifs", json=day, headers={"Prefer": "respond-async, wait=9"})
    assert found.status_code == 200, found.text
    assert found.json == client.post("/what-ifs", json=day).json
    plan = client.post("/day-plans", json=desk.day, headers={"Prefer": "wait=9"})
    assert plan.status_code == 201, plan.text
    assert plan.headers["Location"] == f"/day-plans/{plan.json['id']}"

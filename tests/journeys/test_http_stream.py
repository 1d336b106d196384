"""A stream of the day: what moved since the last event, then its end; nobody's thread is held."""

import json

import pytest

from service.core.callers.access import Role
from tests.worlds import furnish, make_world

EVENTS = {"Accept": "text/event-stream"}
DAY = "2026-05-24"


@pytest.fixture
def world():
    return make_world()


@pytest.fixture
def yard(world):
    return furnish(world)


def look(yard, last=None, *, day=DAY):
    headers = EVENTS if last is None else {**EVENTS, "Last-Event-ID": last}
    query = {"depot_id": yard.ids["depots"]}
    return yard.client.get(f"/days/{day}/stream", query_string=query, headers=headers)


def heard(answer):
    """Return what an EventSource makes of an answer: its events, last id and retry [ms].

    As the HTML Living Standard has it, 9.2.6: a block without data is no event, its id counts.
    """
    assert answer.status_code == 200, answer.text
    assert answer.mimetype == "text/event-stream"
    events, last, retry = [], None, None
    for block in answer.text.split("\n\n"):
        fields = [line.partition(": ") for line in block.split("\n") if line]
        said = {name: value for name, _, value in fields if name}
        last, retry = said.get("id", last), said.get("retry", retry)
        if "data" in said:
            events.append((said["event"], json.loads(said["data"])))
    return events, last, int(retry)


def test_who_begins_to_listen_hears_how_far_the_day_is(yard):
    answer = look(yard)
    events, last, retry = heard(answer)
    assert events == [
        (
            "moved",
            {
                "day": DAY,
                "depot_id": yard.ids["depots"],
                "revision": 0,
                "planned_revision": None,
                "plan_id": None,
                "undecided": 0,
            },
        )
    ]
    assert last
    assert retry >= 1000
    assert answer.headers["Cache-Control"] == "no-store"
    assert int(answer.headers["Content-Length"]) == len(answer.data)  # it ends by itself


def test_where_nothing_moved_a_listener_hears_nothing_and_is_not_sent_away(yard):
    _, last, _ = heard(look(yard))
    again = look(yard, last)
    events, same, retry = heard(again)
    assert (events, same) == ([], None)
    assert ": nothing moved" in again.text
    assert retry >= 1000


def test_a_record_and_then_its_plan_are_heard_once_each(yard):
    _, last, _ = heard(look(yard))
    assert yard.client.post("/jobs", json=yard.job()).status_code == 201
    ((name, recorded),), last, _ = heard(look(yard, last))
    assert (name, recorded["revision"] > 0, recorded["plan_id"]) == ("moved", True, None)
    assert heard(look(yard, last))[0] == []  # looking plans nothing
    query = {"depot_id": yard.ids["depots"]}
    plan = yard.client.get(f"/days/{DAY}/routing", query_string=query)
    ((_, planned),), last, _ = heard(look(yard, last))
    assert planned["plan_id"] == plan.json["id"]
    assert planned["planned_revision"] == planned["revision"] == recorded["revision"]
    assert heard(look(yard, last))[0] == []


def test_a_day_that_is_planned_anew_without_a_record_moved_as_well(yard):
    yard.client.post("/jobs", json=yard.job())
    body = {"depot_id": yard.ids["depots"], "day": DAY}
    first = yard.client.post("/day-plans", json=body).json
    _, last, _ = heard(look(yard))
    second = yard.client.post("/day-plans", json=body).json
    ((_, moved),), _, _ = heard(look(yard, last))
    assert (moved["plan_id"], moved["plan_id"] == first["id"]) == (second["id"], False)


@pytest.mark.parametrize("last", ["", "nothing", "9999", "0--1-none-1", "x" * 5000, "\u20ac"])
def test_an_id_that_is_not_the_days_is_answered_with_where_it_is(yard, last):
    events, _, _ = heard(look(yard, last))
    assert len(events) == 1


def test_a_listener_of_today_follows_the_depots_calendar(world, yard):
    assert heard(look(yard, day="today"))[0][0][1]["day"] == DAY
    world.clock.move(days=1)
    assert heard(look(yard, day="today"))[0][0][1]["day"] == "2026-05-25"


def test_only_who_reads_the_firm_may_listen_and_only_to_its_own(world, yard):
    query = {"depot_id": yard.ids["depots"]}
    other = world.client(world.firm("Elsewhere"))
    path = f"/days/{DAY}/stream"
    assert other.get(path, query_string=query, headers=EVENTS).status_code == 404
    with world.open_unit_of_work() as unit:
        firm = next(one for one in unit.firms.all() if one.name != "Elsewhere")
    for role, status in ((Role.CREW, 403), (Role.SITE, 403), (Role.INTEGRATOR, 200)):
        client = world.client(firm.id, role)
        assert client.get(path, query_string=query, headers=EVENTS).status_code == status
    as_json = yard.client.get(path, query_string=query, headers={"Accept": "application/json"})
    assert as_json.status_code == 406
    wrong = yard.client.get("/days/2026-02-30/stream", headers=EVENTS)
    assert [fault["parameter"] for fault in wrong.json["errors"]] == ["day", "depot_id"]

"""Reading a day costs what the reader has not got yet, and a changed day is planned once."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import event

from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.depots import DAY, Depot
from tests.worlds import make_world


@pytest.fixture
def engine(sqlite_url):
    made = make_engine(sqlite_url)
    yield made
    made.dispose()


@pytest.fixture
def depot(engine):
    world = make_world(unit_of_work_opener(engine), reading_opener(engine))
    return Depot(vehicles=2, world=world)


@pytest.fixture
def sent(engine):
    """Return the list that every statement sent to the database is noted in."""
    noted = []

    def note(_connection, _cursor, statement, _parameters, _context, _many):
        noted.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    return noted


def routing(depot, **headers):
    address = f"/days/{DAY}/routing?depot_id={depot.ids['depots']}"
    return depot.client.get(address, headers=headers)


def hour_later(depot):
    """Let the last lawn be mown an hour later."""
    depot.amend(f"/jobs/{depot.jobs[-1]}", {"planned_at": f"{DAY}T12:00:00+01:00"})


def test_who_has_the_plan_already_has_nothing_read_but_that(depot, sent):
    whole = routing(depot)
    del sent[:]
    again = routing(depot, **{"If-None-Match": whole.headers["ETag"]})
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["ETag"] == whole.headers["ETag"]
    assert not any("day_plans" in statement for statement in sent)
    map_of_it = routing(
        depot, Accept="application/geo+json", **{"If-None-Match": whole.headers["ETag"]}
    )
    assert map_of_it.status_code == 200


def test_who_has_the_plan_reads_none_either_while_grass_is_aboard(depot, sent):
    """That is most of a day: a clock may pass, but when is known of a plan that was read once."""
    depot.world.clock.move(hours=22)
    cut = {"state": "mown", "cut_at": f"{DAY}T10:00:00Z"}
    depot.amend(f"/jobs/{depot.jobs[0]}", cut)
    has_it = {"If-None-Match": routing(depot).headers["ETag"]}
    del sent[:]
    assert routing(depot, **has_it).status_code == 304
    assert not any("day_plans" in statement for statement in sent)


def test_what_changed_is_read_whatever_the_reader_has(depot):
    whole = routing(depot)
    hour_later(depot)
    again = routing(depot, **{"If-None-Match": whole.headers["ETag"]})
    assert again.status_code == 200
    assert again.json["id"] != whole.json["id"]


def test_who_would_not_wait_gets_the_newest_plan_and_hears_how_old_it_is(depot):
    whole = routing(depot)
    hour_later(depot)
    at_once = routing(depot, Prefer="wait=0")
    assert at_once.json == whole.json
    assert at_once.headers["Preference-Applied"] == "wait=0"
    assert int(at_once.headers["Day-Revision"]) > at_once.json["revision"]
    planned = routing(depot)
    at_once = routing(depot, Prefer="respond-async, wait=0")
    assert at_once.json == planned.json
    assert int(at_once.headers["Day-Revision"]) == at_once.json["revision"]


def test_who_would_not_wait_for_a_day_without_a_plan_is_told_so(depot):
    answer = routing(depot, Prefer="wait=0")
    assert (answer.status_code, answer.json["code"]) == (404, "not_planned_yet")


def test_eight_readers_of_a_changed_day_get_one_plan_that_was_made_once(depot, sent):
    routing(depot)
    hour_later(depot)
    del sent[:]
    with ThreadPoolExecutor(8) as readers:
        answers = list(readers.map(lambda _: routing(depot), range(8)))
    assert {answer.status_code for answer in answers} == {200}
    assert len({answer.json["id"] for answer in answers}) == 1
    assert sum("INSERT INTO day_plans" in statement for statement in sent) == 1
    # One reads the day to plan it; the others only look whether it was planned.
    assert sum("FROM treatments" in statement for statement in sent) <= 1


def test_no_reader_takes_the_turn_of_a_writer(depot, sent):
    routing(depot)
    job = depot.jobs[0]
    for address in (f"/jobs/{job}", "/jobs", f"/jobs/{job}/history", "/loads", "/hold-entries"):
        del sent[:]
        answer = depot.client.get(address)
        assert answer.status_code == 200, address
        assert not any("IMMEDIATE" in statement for statement in sent), address

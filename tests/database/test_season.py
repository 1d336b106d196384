"""What requests cost after a season: hardly more than after its first weeks, in database steps."""

from collections import Counter

import pytest
from sqlalchemy import event

from tests.bench.season.asked import requests
from tests.bench.season.history import History, lived, today
from tests.bench.season.service import Service

JOBS, VEHICLES = 6, 3
FEW, MANY = 16, 64  # by then pages are full, and the days that a plan looks back on are there
MOST = 3.0  # times as many steps; what reads the whole history makes four times as many
STEPS_AT_ONCE = 50
# The newest 200 weigh tickets, from when on it stays.
GROWS = {"post a job"}


def steps_of(service, steps):
    """Return the steps that SQLite's machine makes for each request, by its name."""
    found = {}
    for name, send, before in requests(service):
        for _ in range(2):  # what is read or made once, is
            if before is not None:
                before()
            steps.clear()
            send()
        found[name] = steps["all"] * STEPS_AT_ONCE
    return found


@pytest.fixture(scope="module")
def grown(tmp_path_factory):
    steps = Counter()

    def count():
        steps["all"] += 1

    service = Service(
        f"sqlite:///{tmp_path_factory.mktemp('season')}/records.db", jobs=JOBS, vehicles=VEHICLES
    )
    service.engine.dispose()
    event.listen(
        service.engine,
        "connect",
        lambda connection, _entry: connection.set_progress_handler(count, STEPS_AT_ONCE),
    )
    lived(service)
    history = History(service.engine)
    today(service)
    history.reach(FEW)
    few = steps_of(service, steps)
    history.reach(MANY)
    yield few, steps_of(service, steps)
    service.engine.dispose()


def test_no_request_reads_more_after_weeks_than_on_the_first_days(grown):
    few, many = grown
    more = {
        name: (few[name], many[name])
        for name in few.keys() - GROWS
        if many[name] > MOST * few[name] + 1000
    }
    assert not more

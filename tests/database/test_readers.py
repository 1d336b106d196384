"""On SQLite one writes at a time: nobody who only reads takes that turn, whatever is read."""

import pytest
from sqlalchemy import event

from service.storage.engine import make_engine
from service.storage.migrations import upgrade
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from tests.contract.operations import OPERATIONS
from tests.screens import joined
from tests.worlds import app_of_all_worlds, furnish, make_world, work

DAY = "2026-05-24"
NEEDED = {"depot_id", "since", "until"}


@pytest.fixture(scope="module")
def engine(tmp_path_factory):
    url = f"sqlite:///{tmp_path_factory.mktemp('readers')}/readers.sqlite"
    upgrade(url)
    made = make_engine(url)
    yield made
    made.dispose()


@pytest.fixture(scope="module")
def world(engine):
    return make_world(unit_of_work_opener(engine), reading_opener(engine))


@pytest.fixture(scope="module")
def yard(world):
    """Return a firm with one record of every kind, its day planned."""
    made = work(furnish(world, world.firm()))
    routing = f"/days/{DAY}/routing?depot_id={made.ids['depots']}"
    assert made.client.get(routing).status_code == 200
    return made


@pytest.fixture
def sent(engine):
    noted = []

    def note(_connection, _cursor, statement, *_rest):
        noted.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    yield noted
    event.remove(engine, "before_cursor_execute", note)


def asked(yard, operation):
    """Return an address of the operation that answers: of what the firm has."""
    book = operation.path.split("/")[1]
    address = operation.address(record_id=yard.ids.get(book), note_id=yard.ids["delivery-notes"])
    names = {one["name"] for one in operation.said.get("parameters", [])}
    said = {"depot_id": yard.ids["depots"], "since": DAY, "until": DAY}
    query = "&".join(f"{name}={said[name]}" for name in sorted(names & NEEDED))
    if operation.path == "/recall":
        query = f"destination_id={yard.ids['beds']}&since={DAY}"
    return f"{address}?{query}"


@pytest.mark.parametrize("operation", [one for one in OPERATIONS if one.method == "get"], ids=str)
def test_no_reader_takes_the_turn_of_a_writer(operation, yard, sent):
    answer = yard.client.get(asked(yard, operation))
    assert answer.status_code < 500, answer.text
    assert not any("IMMEDIATE" in statement for statement in sent), sent


@pytest.fixture(scope="module")
def device(world, yard):
    """Return the owner's device before the screens."""
    return joined(world, yard, "owner")


SCREENS = sorted(
    rule.rule
    for rule in app_of_all_worlds().url_map.iter_rules()
    if "GET" in rule.methods and rule.rule.startswith("/screens") and "<" not in rule.rule
)


@pytest.mark.parametrize("screen", SCREENS)
def test_no_screen_takes_it_either(screen, yard, device, sent):
    answer = device.get(f"{screen}?depot={yard.ids['depots']}&day={DAY}")
    assert answer.status_code < 500, answer.text
    assert not any("IMMEDIATE" in statement for statement in sent), sent


def test_no_connection_reads_now_and_writes_then(yard, sent):
    """It would let go of all statements that it has prepared each time."""
    job = yard.job(lawn_id=yard.another_lawn())
    assert yard.client.post("/jobs", json=job).status_code == 201
    assert yard.client.get("/jobs").status_code == 200
    assert not any("PRAGMA" in statement for statement in sent), sent

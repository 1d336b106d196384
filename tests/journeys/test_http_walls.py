"""What goes wrong beside the service is answered, soon and in few words, and passes by itself."""

import json
import sqlite3
from contextlib import closing
from pathlib import Path
from threading import Event, Thread
from time import sleep

import pytest
from sqlalchemy import create_engine, event, text
from sqlalchemy.exc import OperationalError

from service.api.books import clients
from service.storage import engine as engines
from service.storage import probe
from service.storage.engine import make_engine
from service.storage.probe import Probe
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base.readiness import CheckReady, NotReady
from tests.database.conftest import noted
from tests.worlds import furnish, make_world

LONGEST_REFUSAL_BYTES = 64_000


@pytest.fixture(autouse=True)
def _short(monkeypatch):
    """Let nobody wait for long: a test has no patience."""
    monkeypatch.setattr(engines, "WAITS_S", 1)


def opened(url):
    """Return the engine of a database, and a firm's yard over it."""
    engine = make_engine(url)
    world = make_world(unit_of_work_opener(engine), reading_opener(engine))
    return engine, furnish(world)


@pytest.fixture
def sqlite(sqlite_url):
    engine, yard = opened(sqlite_url)
    yield engine, yard, sqlite_url.removeprefix("sqlite:///")
    engine.dispose()


@pytest.fixture
def postgresql(postgresql_url):
    engine, yard = opened(postgresql_url)
    others = create_engine(postgresql_url, isolation_level="AUTOCOMMIT")
    yield engine, yard, others
    others.dispose()
    engine.dispose()


def post(yard):
    return yard.client.post("/clients", json=clients.CLIENTS.example)


def put_off(answer, code):
    """Assert that a request was put off with a reason and a time to come back."""
    assert (answer.status_code, answer.json["code"]) == (503, code), answer.text
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert int(answer.headers["Retry-After"]) >= 1
    return True


def test_a_disk_that_is_full_keeps_nothing_and_everything_goes_on_when_there_is_room(sqlite):
    engine, yard, _ = sqlite
    engine.dispose()

    @event.listens_for(engine, "connect")
    def fill(connection, _entry):
        connection.execute("PRAGMA max_page_count = 1")  # no more than there are by now

    before = len(yard.client.get("/clients?limit=200").json["items"])
    answers = [post(yard) for _ in range(60)]
    kept = sum(answer.status_code == 201 for answer in answers)
    assert kept < 60
    assert put_off(answers[-1], "records_out_of_reach")
    assert len(yard.client.get("/clients?limit=200").json["items"]) == before + kept
    event.remove(engine, "connect", fill)
    engine.dispose()
    assert post(yard).status_code == 201


def test_a_database_that_somebody_else_writes_in_for_long_puts_off_who_writes(sqlite):
    _, yard, path = sqlite
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    assert put_off(post(yard), "records_busy")
    assert yard.client.get("/clients").status_code == 200
    other.execute("ROLLBACK")
    other.close()
    assert post(yard).status_code == 201


def test_a_file_that_may_not_be_written_can_still_be_read(sqlite):
    engine, yard, path = sqlite
    fixed = make_engine(f"sqlite:///file:{path}?mode=ro&uri=true")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "connect", fixed.connect)
        assert put_off(post(yard), "records_out_of_reach")
        assert yard.client.get("/clients").status_code == 200
    fixed.dispose()
    assert post(yard).status_code == 201


def test_a_database_that_is_no_database_any_more_is_no_bug_and_the_process_says_it_lives(sqlite):
    engine, yard, path = sqlite
    engine.dispose()
    for end in ("", "-wal"):
        Path(path + end).write_bytes(b"not a database" * 1000)
    assert put_off(yard.client.get("/clients"), "records_out_of_reach")
    assert put_off(yard.client.get("/ready"), "not_ready")
    assert yard.client.get("/health").status_code == 200


def told_ready(engine):
    """Return what a supervisor is told of a database: nothing, or what stands against it."""
    check = CheckReady(open_unit_of_work=reading_opener(engine), probe=Probe(engine))
    try:
        check()
    except NotReady as refusal:
        return str(refusal)
    return None


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_a_database_of_another_shape_or_a_full_disk_is_told_to_who_supervises(
    request, kind, monkeypatch
):
    engine = request.getfixturevalue(kind)[0]
    assert told_ready(engine) is None
    monkeypatch.setattr(probe, "LEAST_ROOM_BYTES", 1 << 60)
    assert ("MB left" in (told_ready(engine) or "")) == (kind == "sqlite")
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0001'"))
    assert "run migrate" in told_ready(engine)


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_who_asks_again_at_once_whether_it_is_ready_takes_no_writers_turn(request, kind):
    engine = request.getfixturevalue(kind)[0]
    asking, sent = Probe(engine), noted(engine)
    assert [asking() for _ in range(5)] == [[]] * 5
    assert len([statement for statement in sent if statement.startswith("UPDATE")]) == 1


def test_a_database_that_answered_once_is_not_called_ready_when_it_answers_no_more(
    sqlite, monkeypatch
):
    monkeypatch.setattr(probe, "HOLDS_S", 0.05)
    engine = sqlite[0]
    asking, gone_on, asked = Probe(engine), Event(), Event()
    assert asking() == []
    monkeypatch.setattr(asking, "_found", lambda: asked.set() or (gone_on.wait(10) and []))
    sleep(0.06)
    hangs = Thread(target=asking)
    hangs.start()
    assert asked.wait(10)
    assert "has not answered" in asking()[0]
    gone_on.set()
    hangs.join()

    def fail():
        raise OperationalError("SELECT 1", {}, Exception("gone"))

    monkeypatch.setattr(asking, "_found", fail)
    sleep(0.06)
    for _ in range(2):
        with pytest.raises(OperationalError):
            asking()


def test_a_writer_that_takes_long_is_told_from_a_database_that_is_gone(sqlite, monkeypatch):
    _, _, path = sqlite
    monkeypatch.setattr(engines, "WAITS_S", 0.05)
    impatient = make_engine(f"sqlite:///{path}")
    with closing(sqlite3.connect(path)) as writer:
        writer.execute("BEGIN IMMEDIATE")
        assert "others have been writing" in (told_ready(impatient) or "")
    impatient.dispose()


def test_connections_that_the_server_ended_are_made_anew(postgresql):
    _, yard, others = postgresql
    assert post(yard).status_code == 201
    with others.connect() as connection:
        connection.execute(
            text(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity "
                "WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )
        )
    assert post(yard).status_code == 201


def test_a_table_that_somebody_else_holds_puts_off_who_writes(postgresql):
    _, yard, others = postgresql
    with others.connect().execution_options(isolation_level="READ COMMITTED") as connection:
        connection.execute(text("LOCK TABLE clients IN EXCLUSIVE MODE"))
        assert put_off(post(yard), "records_busy")
        assert yard.client.get("/clients").status_code == 200
    assert post(yard).status_code == 201


def test_a_server_that_is_not_there_is_an_answer(postgresql, postgresql_url):
    engine, yard, _ = postgresql
    nobody_there = make_engine(postgresql_url.replace("127.0.0.1", "127.0.0.9"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "connect", nobody_there.connect)
        assert put_off(post(yard), "records_out_of_reach")
        assert yard.client.get("/health").status_code == 200
    assert post(yard).status_code == 201


def test_what_is_sent_does_not_come_back_many_times_as_long(sqlite):
    _, yard, _ = sqlite
    many = {f"member_{number}": number for number in range(20_000)}
    answer = yard.client.post("/clients", json=many)
    assert answer.status_code == 422
    assert len(answer.data) < LONGEST_REFUSAL_BYTES
    assert len(answer.json["errors"]) == 50
    assert answer.json["errors_in_all"] >= 20_000
    assert str(answer.json["errors_in_all"]) in answer.json["detail"]
    long = yard.client.post("/clients", json={"x" * 500_000: 1, "name": "y" * 500_000})
    assert long.status_code == 422
    assert len(long.data) < LONGEST_REFUSAL_BYTES
    assert "errors_in_all" not in long.json
    address = "/clients?" + "&".join(f"q{number}=1" for number in range(400))
    assert len(json.dumps(yard.client.get(address).json)) < LONGEST_REFUSAL_BYTES

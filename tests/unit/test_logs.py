import io
import json
import logging
import uuid
from contextlib import suppress
from datetime import UTC, datetime

import pytest
import structlog
from flask import Flask

from service import logs


@pytest.fixture
def stream():
    """Yield where to log to; leave the logging as it was found."""
    root = logging.getLogger()
    handlers, level = root.handlers[:], root.level
    yield io.StringIO()
    logging.captureWarnings(capture=False)
    root.handlers[:] = handlers
    root.setLevel(level)
    structlog.reset_defaults()
    structlog.contextvars.clear_contextvars()


@pytest.fixture
def lines(stream):
    """Return a reader of what has been logged."""
    logs.configure(level="info", log_format="json", stream=stream)
    return lambda: [json.loads(line) for line in stream.getvalue().splitlines()]


@pytest.fixture
def client():
    app = Flask("crew")
    logs.log_requests(app)

    @app.get("/notes/<token>")
    def note(token: str) -> str:
        structlog.stdlib.get_logger("service.notes").info("note_read", token=token)
        return "a note"

    @app.get("/broken")
    def broken() -> str:
        raise RuntimeError("no such row\nDETAIL: Key (street)=(5 Elm Street)")

    return app.test_client()


def test_a_line_is_one_object_with_its_time_in_utc(lines):
    structlog.stdlib.get_logger("service.jobs").info("job_recorded", job_id=uuid.UUID(int=7))
    (line,) = lines()
    moment = datetime.fromisoformat(line.pop("time"))
    assert moment.utcoffset() == datetime.now(UTC).utcoffset()
    assert line == {
        "event": "job_recorded",
        "job_id": "00000000-0000-0000-0000-000000000007",
        "level": "info",
        "logger": "service.jobs",
    }


def test_a_library_line_takes_the_same_form(lines):
    logging.getLogger("alembic.runtime").warning("running %s", "0001")
    (line,) = lines()
    assert (line["event"], line["level"], line["logger"]) == (
        "running 0001",
        "warning",
        "alembic.runtime",
    )


def test_a_level_below_the_least_is_not_written(lines):
    structlog.stdlib.get_logger("service.jobs").debug("looked")
    assert lines() == []


def test_an_object_is_logged_by_its_kind_only(lines):
    class Client:
        def __repr__(self) -> str:
            return "Client(street='5 Elm Street')"

    structlog.stdlib.get_logger("service").info("met", client=Client())
    assert lines()[0]["client"] == "<Client>"


@pytest.mark.parametrize("name", ["authorization", "signing_key", "address", "phone", "point"])
def test_secrets_and_addresses_are_withheld_whoever_passes_them(lines, name):
    structlog.stdlib.get_logger("service").info("met", **{name: "5 Elm Street"})
    assert lines()[0][name] == "[withheld]"


def test_every_line_of_a_request_carries_the_id_that_is_sent_back(client, lines):
    response = client.get("/notes/abc")
    sent_back = response.headers["X-Request-Id"]
    assert uuid.UUID(sent_back).version == 7
    assert [line["request_id"] for line in lines()] == [sent_back, sent_back]


def test_two_requests_do_not_share_an_id(client):
    ids = {client.get("/notes/abc").headers["X-Request-Id"] for _ in range(2)}
    assert len(ids) == 2


@pytest.mark.parametrize("path", ["/notes/abc", "/broken", "/nowhere"])
def test_a_line_between_requests_belongs_to_none(client, lines, path):
    client.get(path)
    structlog.stdlib.get_logger("service").info("idle")
    assert "request_id" not in lines()[-1]


def test_a_callers_plain_token_is_taken_as_the_id(client):
    response = client.get("/notes/abc", headers={"X-Request-Id": "crew-app.2026-07-01_0001"})
    assert response.headers["X-Request-Id"] == "crew-app.2026-07-01_0001"


@pytest.mark.parametrize(
    "token", ["short", "x" * 65, "has a space", 'quote"quote', "-leading1", ""]
)
def test_a_callers_odd_token_is_replaced(client, token):
    response = client.get("/notes/abc", headers={"X-Request-Id": token})
    assert uuid.UUID(response.headers["X-Request-Id"]).version == 7


def test_a_route_is_logged_as_its_pattern_and_never_with_its_token(client, lines):
    client.get("/notes/s3cretsignature?also=s3cret")
    answered = lines()[-1]
    assert (answered["route"], answered["method"], answered["status"]) == (
        "/notes/<token>",
        "GET",
        200,
    )
    assert "s3cret" not in json.dumps(lines())


def test_an_unknown_path_is_answered_and_logged_without_the_path(client, lines):
    response = client.get("/5-elm-street")
    assert response.headers["X-Request-Id"]
    assert (lines()[-1]["route"], lines()[-1]["status"]) == ("none", 404)
    assert "elm" not in json.dumps(lines())


def test_a_failure_leaves_its_traceback_but_not_the_row_it_quotes(client, lines):
    response = client.get("/broken")
    assert response.status_code == 500
    failed, answered = lines()
    assert (failed["event"], failed["level"]) == ("request_failed", "error")
    assert failed["exception"][0]["exc_type"] == "RuntimeError"
    assert failed["exception"][0]["exc_value"] == "no such row"
    assert failed["request_id"] == answered["request_id"] == response.headers["X-Request-Id"]
    assert "Elm" not in json.dumps(lines())


def log_a_failure():
    try:
        return 1 / 0
    except ZeroDivisionError:
        structlog.stdlib.get_logger("service").exception("request_failed")
        raise


def test_the_form_for_people_shows_a_failure_with_its_place(stream):
    logs.configure(level="info", log_format="console", stream=stream)
    with suppress(ZeroDivisionError):
        log_a_failure()
    shown = stream.getvalue()
    assert "ZeroDivisionError: division by zero" in shown
    assert "test_logs.py" in shown


def test_gunicorn_takes_the_same_form_and_leaves_out_its_own_access_lines():
    tree = logs.logging_tree(level="info", log_format="json")
    assert tree["loggers"]["gunicorn.error"]["propagate"] is True
    assert tree["loggers"]["gunicorn.access"]["level"] == "WARNING"

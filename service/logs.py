"""Log lines: one JSON object each, facts as fields, the request's id on every line of a request.

A line carries identifiers, never what they stand for: no secrets, no addresses, no bodies. Routes
are written as their pattern, because a signed link holds its signature in the path.
"""

import json
import logging
import logging.config
import re
import sys
import time
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any, Final, TextIO
from uuid import UUID

import structlog
import uuid_utils
from flask import Flask, Response, g, got_request_exception, request
from structlog.contextvars import bind_contextvars, clear_contextvars, merge_contextvars
from structlog.tracebacks import ExceptionDictTransformer
from structlog.typing import EventDict, Processor, WrappedLogger

REQUEST_ID_HEADER: Final = "X-Request-Id"

# What an inbound id may look like: long enough to be one, and nothing that could break a line.
_SANE_REQUEST_ID: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{7,63}", re.ASCII)

# Fields that must not reach a log even if somebody passes them: secrets, and what tells where a
# customer lives or how to reach them.
_WITHHELD: Final = frozenset(
    {
        "address",
        "api_key",
        "authorization",
        "body",
        "cookie",
        "database_url",
        "email",
        "latitude",
        "link",
        "location",
        "longitude",
        "metrics_key",
        "password",
        "phone",
        "point",
        "secret",
        "signature",
        "signing_key",
        "former_signing_keys",
        "street",
        "token",
    }
)

# A database's complaint goes on to quote the row; its first line does not.
_LONGEST_EXCEPTION_TEXT: Final = 200


def configure(*, level: str, log_format: str, stream: TextIO | None = None) -> None:
    """Send every log line of this process, ours and the libraries', through one form.

    Parameters
    ----------
    level
        Least level that is written: ``debug``, ``info``, ``warning`` or ``error``.
    log_format
        ``json`` for one object a line, ``console`` for people.
    stream
        Where lines go; standard error by default, so that commands keep standard output.
    """
    logging.config.dictConfig(logging_tree(level=level, log_format=log_format, stream=stream))
    logging.captureWarnings(capture=True)
    structlog.configure(
        processors=[
            structlog.stdlib.filter_by_level,
            *_shared_processors(),
            structlog.stdlib.ProcessorFormatter.wrap_for_formatter,
        ],
        logger_factory=structlog.stdlib.LoggerFactory(),
        wrapper_class=structlog.stdlib.BoundLogger,
        cache_logger_on_first_use=False,
    )


def logging_tree(*, level: str, log_format: str, stream: TextIO | None = None) -> dict[str, Any]:
    """Return the standard library's logging configuration; gunicorn takes it as it is.

    Parameters
    ----------
    level, log_format, stream
        As for `configure`.

    Returns
    -------
    dict
        For ``logging.config.dictConfig``, or for gunicorn's ``logconfig_dict``.
    """
    out = stream if stream is not None else sys.stderr
    last: list[Processor] = (
        [_traceback_as_text, structlog.dev.ConsoleRenderer(colors=out.isatty())]
        if log_format == "console"
        else [structlog.processors.JSONRenderer(serializer=_as_json)]
    )
    quiet = {"level": "WARNING", "propagate": True, "handlers": []}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "line": {
                "()": structlog.stdlib.ProcessorFormatter,
                "foreign_pre_chain": _shared_processors(),
                "processors": [structlog.stdlib.ProcessorFormatter.remove_processors_meta, *last],
            }
        },
        "handlers": {
            "lines": {"class": "logging.StreamHandler", "formatter": "line", "stream": out}
        },
        "root": {"handlers": ["lines"], "level": level.upper()},
        "loggers": {
            "gunicorn.error": {"level": level.upper(), "propagate": True, "handlers": []},
            # Our own `request_answered` line says the same without the path.
            "gunicorn.access": quiet,
            "waitress": quiet,
            # That requests wait for a thread is no fault; a line each would hide those that are.
            "waitress.queue": {**quiet, "level": "ERROR"},
            # These print addresses with their queries, parameters with their values.
            "urllib3": quiet,
            "sqlalchemy": quiet,
        },
    }


def log_requests(
    app: Flask,
    *,
    new_id: Callable[[], str] = lambda: str(uuid_utils.uuid7()),
    clock: Callable[[], float] = time.perf_counter,
) -> None:
    """Give each request of an app an id, and a line when it is answered or has failed.

    The id is the caller's ``X-Request-Id`` where that is a plain token, else a new one; it is
    bound to every line written while the request lasts, kept as ``g.request_id`` and sent back.

    Parameters
    ----------
    app
        The application; call this before other hooks are registered.
    new_id
        Makes an id; a UUIDv7 by default.
    clock
        Seconds from any start [s].
    """
    log = structlog.stdlib.get_logger("service.requests")

    def begin() -> None:
        clear_contextvars()
        g.request_id = _request_id(request.headers.get(REQUEST_ID_HEADER), new_id)
        g.request_began_s = clock()
        bind_contextvars(request_id=g.request_id)

    def answered(response: Response) -> Response:
        response.headers[REQUEST_ID_HEADER] = g.request_id
        log.info(
            "request_answered",
            method=request.method,
            route=_route(),
            status=response.status_code,
            duration_ms=round((clock() - g.request_began_s) * 1000, 1),
        )
        return response

    def failed(_sender: Flask, *, exception: BaseException, **_extra: object) -> None:
        log.error("request_failed", method=request.method, route=_route(), exc_info=exception)

    def end(_failure: BaseException | None) -> None:
        clear_contextvars()  # what this thread says between requests belongs to none of them

    app.before_request(begin)
    app.after_request(answered)
    app.teardown_request(end)
    got_request_exception.connect(failed, app, weak=False)
    app.logger.addFilter(_said_elsewhere)


def _said_elsewhere(record: logging.LogRecord) -> bool:
    """Drop Flask's own line about a failure; it says the same with the path in it."""
    return not record.exc_info


def _request_id(inbound: str | None, new_id: Callable[[], str]) -> str:
    if inbound is not None and _SANE_REQUEST_ID.fullmatch(inbound):
        return inbound
    return new_id()


def _route() -> str:
    return request.url_rule.rule if request.url_rule is not None else "none"


def _shared_processors() -> list[Processor]:
    return [
        merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.processors.TimeStamper(fmt="iso", utc=True, key="time"),
        structlog.processors.ExceptionRenderer(
            ExceptionDictTransformer(show_locals=False, max_frames=20)
        ),
        _withhold,
    ]


def _withhold(_logger: WrappedLogger, _method: str, event: EventDict) -> EventDict:
    for name in event.keys() & _WITHHELD:
        event[name] = "[withheld]"
    for failure in event.get("exception") or ():
        if isinstance(failure, dict):
            text = str(failure.get("exc_value", ""))
            failure["exc_value"] = text.split("\n", 1)[0][:_LONGEST_EXCEPTION_TEXT]
    return event


def _traceback_as_text(_logger: WrappedLogger, _method: str, event: EventDict) -> EventDict:
    lines = [
        line
        for failure in event.get("exception") or ()
        for line in (
            *(
                f"  {frame['filename']}:{frame['lineno']} {frame['name']}"
                for frame in failure["frames"]
            ),
            f"{failure['exc_type']}: {failure['exc_value']}",
        )
    ]
    if lines:
        event["exception"] = "\n".join(lines)
    return event


def _as_json(event: EventDict, **_options: object) -> str:
    return json.dumps(event, default=_identifier, ensure_ascii=False)


def _identifier(value: object) -> str:
    """Write plain values; of anything else its kind only, since its text may tell too much."""
    if isinstance(value, UUID | uuid_utils.UUID | date | Decimal):
        return str(value)
    return f"<{type(value).__name__}>"

"""Answers that carry a kept record: its ETag, and where it is."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any, Final

from flask import Response, jsonify, request
from marshmallow import Schema

from service.core.jobs import Job
from service.core.records import Record
from service.usecases.records.loads.keep_loads import LoadWithSuccessors

ETAG: Final = {
    "ETag": {
        "description": "The version of the record; send it as If-Match to amend or delete it.",
        "schema": {"type": "string"},
    }
}
CREATED: Final[dict[str, Any]] = {
    **ETAG,
    "Location": {
        "description": "Where the new record is.",
        "schema": {"type": "string", "format": "uri-reference"},
    },
}


def kept_answer(
    schema: Schema, record: Record, *, beside: Mapping[str, object] | None = None
) -> Response:
    """Return a record with its ETag, and what is told beside it; 304 of a version that is known."""
    response = jsonify({**schema.dump(record), **(beside or {})})
    response.set_etag(str(record.version))
    # What a job's grass is hangs on the hour and on its loads, and what took the place of a load
    # on later plans: they change without a new version.
    if request.method == "GET" and not isinstance(record, (Job, LoadWithSuccessors)):
        response.make_conditional(request)
    return response


def created_answer(
    schema: Schema, record: Record, *, path: str, beside: Mapping[str, object] | None = None
) -> Response:
    """Return a record that was just kept, with its place, and what is told beside it."""
    response = kept_answer(schema, record, beside=beside)
    response.status_code = HTTPStatus.CREATED
    response.headers["Location"] = f"/{path}/{record.id}"
    return response

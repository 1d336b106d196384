"""One shape for every failure: problem details (RFC 9457), and the table code -> status."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from http import HTTPStatus
from types import MappingProxyType
from typing import Any, Final

from flask import Response, current_app, g, json, request
from werkzeug.exceptions import (
    HTTPException,
    InternalServerError,
    NotFound,
    RequestEntityTooLarge,
)
from werkzeug.exceptions import MethodNotAllowed as WerkzeugMethodNotAllowed
from werkzeug.routing import RequestRedirect

from service.api.faults import LocatedFault, from_record
from service.api.refusals import (
    BadRequest,
    BodyTooLarge,
    InternalError,
    MethodNotAllowed,
    RequestNotUsable,
    RouteMissing,
)
from service.core.errors import FieldFault, RecordNotUsable, Refusal

PROBLEM_JSON: Final = "application/problem+json"

STATUS: Final[Mapping[str, HTTPStatus]] = MappingProxyType(
    {
        "bad_request": HTTPStatus.BAD_REQUEST,
        "below_absolute_zero": HTTPStatus.UNPROCESSABLE_ENTITY,
        "body_not_json": HTTPStatus.BAD_REQUEST,
        "body_too_large": HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
        "credentials_missing": HTTPStatus.UNAUTHORIZED,
        "credentials_not_valid": HTTPStatus.UNAUTHORIZED,
        "estimate_out_of_order": HTTPStatus.UNPROCESSABLE_ENTITY,
        "field_fault": HTTPStatus.UNPROCESSABLE_ENTITY,
        "first_try_unfinished": HTTPStatus.CONFLICT,
        "idempotency_key_reused": HTTPStatus.UNPROCESSABLE_ENTITY,
        "internal_error": HTTPStatus.INTERNAL_SERVER_ERROR,
        "media_type_not_supported": HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
        "method_not_allowed": HTTPStatus.METHOD_NOT_ALLOWED,
        "not_acceptable": HTTPStatus.NOT_ACCEPTABLE,
        "not_allowed": HTTPStatus.FORBIDDEN,
        "not_ready": HTTPStatus.SERVICE_UNAVAILABLE,
        "precondition_required": HTTPStatus.PRECONDITION_REQUIRED,
        "record_exists": HTTPStatus.CONFLICT,
        "record_in_use": HTTPStatus.CONFLICT,
        "record_missing": HTTPStatus.NOT_FOUND,
        "record_not_usable": HTTPStatus.UNPROCESSABLE_ENTITY,
        "refused": HTTPStatus.UNPROCESSABLE_ENTITY,
        "request_not_usable": HTTPStatus.UNPROCESSABLE_ENTITY,
        "route_missing": HTTPStatus.NOT_FOUND,
        "unit_of_another_quantity": HTTPStatus.UNPROCESSABLE_ENTITY,
        "unit_unknown": HTTPStatus.UNPROCESSABLE_ENTITY,
        "value_not_a_number": HTTPStatus.UNPROCESSABLE_ENTITY,
        "version_overtaken": HTTPStatus.PRECONDITION_FAILED,
    }
)

_HEADERS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "credentials_missing": {"WWW-Authenticate": 'Bearer realm="clipping-dispatch"'},
        "credentials_not_valid": {
            "WWW-Authenticate": 'Bearer realm="clipping-dispatch", error="invalid_token"'
        },
        "first_try_unfinished": {"Retry-After": "1"},
        "not_ready": {"Retry-After": "5"},
    }
)


def answer_to(error: Exception) -> Response:
    """Return the answer to any failure; of what is no refusal it says nothing."""
    if isinstance(error, RequestRedirect):
        return Response(status=error.code, headers={"Location": error.new_url})
    if isinstance(error, HTTPException):
        refusal = _refusal_of(error)
    elif isinstance(error, Refusal) and error.code in STATUS:
        refusal = error
    else:
        refusal = InternalError()
    response = Response(
        json.dumps(problem_of(refusal)),
        status=STATUS[refusal.code],
        mimetype=PROBLEM_JSON,
        headers=dict(_HEADERS.get(refusal.code, {})),
    )
    if isinstance(error, WerkzeugMethodNotAllowed):
        response.allow.update(error.valid_methods or ())
    return response


def problem_of(refusal: Refusal) -> dict[str, Any]:
    """Return the problem details of a refusal."""
    problem: dict[str, Any] = {
        "type": type_of(refusal.code),
        "title": title_of(refusal.code),
        "status": int(STATUS[refusal.code]),
        "detail": str(refusal),
        "instance": request.path,
        "request_id": g.request_id,
        "code": refusal.code,
    }
    faults = [fault.as_json() for fault in faults_of(refusal)]
    return {**problem, "errors": faults} if faults else problem


def faults_of(refusal: Refusal) -> Iterator[LocatedFault]:
    """Return the faulty fields a refusal names."""
    if isinstance(refusal, RequestNotUsable):
        yield from refusal.faults
    elif isinstance(refusal, RecordNotUsable):
        yield from map(from_record, refusal.faults)
    elif isinstance(refusal, FieldFault):
        yield from_record(refusal)


def type_of(code: str) -> str:
    """Return the address of the page that explains a problem."""
    return "/problems/" + code.replace("_", "-")


def title_of(code: str) -> str:
    """Return the title of a problem: always the same for the same code."""
    return code.replace("_", " ").capitalize()


def all_refusals(base: type[Refusal] = Refusal) -> Iterator[type[Refusal]]:
    """Return every kind of refusal there is."""
    yield base
    for kind in base.__subclasses__():
        yield from all_refusals(kind)


def _refusal_of(error: HTTPException) -> Refusal:
    """Return what HTTP's own errors are called here."""
    if isinstance(error, WerkzeugMethodNotAllowed):
        allowed = ", ".join(sorted(error.valid_methods or ()))
        return MethodNotAllowed(method=request.method, allowed=allowed)
    if isinstance(error, RequestEntityTooLarge):
        return BodyTooLarge(limit=current_app.config["MAX_CONTENT_LENGTH"])
    if isinstance(error, NotFound):
        return RouteMissing()
    if isinstance(error, InternalServerError):
        return InternalError()
    return BadRequest()

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

from service.api.failures.faults import LocatedFault, Place, from_record
from service.api.failures.refusals import (
    BadRequest,
    BodyTooLarge,
    MethodNotAllowed,
    RequestNotUsable,
    RouteMissing,
)
from service.core.errors import FieldFault, InternalError, RecordNotUsable, Refusal

PROBLEM_JSON: Final = "application/problem+json"

# A form has far fewer fields. More are a mistake of a program, or an attack: what is sent must not
# come back many times as long.
MOST_FAULTS: Final = 50

# By number where the name differs between versions of Python.
_TOO_LARGE: Final = HTTPStatus(413)
_UNUSABLE: Final = HTTPStatus(422)
# What no request can cause, only a broken rulebook, planner or record: a bug to the caller, who
# learns nothing of it but the request id.
_BUG: Final = HTTPStatus.INTERNAL_SERVER_ERROR

STATUS: Final[Mapping[str, HTTPStatus]] = MappingProxyType(
    {
        "already_acknowledged": HTTPStatus.CONFLICT,
        "already_said": HTTPStatus.CONFLICT,
        "area_out_of_range": _UNUSABLE,
        "bad_request": HTTPStatus.BAD_REQUEST,
        "below_absolute_zero": _UNUSABLE,
        "body_not_json": HTTPStatus.BAD_REQUEST,
        "being_planned": HTTPStatus.ACCEPTED,
        "budget_spent": HTTPStatus.TOO_MANY_REQUESTS,
        "body_too_large": _TOO_LARGE,
        "carbon_impossible": _UNUSABLE,
        "correlation_out_of_range": _BUG,
        "credentials_missing": HTTPStatus.UNAUTHORIZED,
        "credentials_not_valid": HTTPStatus.UNAUTHORIZED,
        "display_units_unknown": _UNUSABLE,
        "estimate_out_of_order": _UNUSABLE,
        "factor_unit_wrong": _BUG,
        "field_fault": _UNUSABLE,
        "first_try_unfinished": HTTPStatus.CONFLICT,
        "fraction_out_of_range": _BUG,
        "height_out_of_range": _UNUSABLE,
        "idempotency_key_reused": _UNUSABLE,
        "internal_error": _BUG,
        "interval_reaches_zero": _BUG,
        "language_unknown": _UNUSABLE,
        "key_ended": HTTPStatus.CONFLICT,
        "note_link_ended": HTTPStatus.GONE,
        "feed_ended": HTTPStatus.GONE,
        "gate_link_ended": HTTPStatus.GONE,
        "key_of_nobody": HTTPStatus.FORBIDDEN,
        "link_spent": HTTPStatus.GONE,
        "plan_forgotten": HTTPStatus.GONE,
        "lock_not_possible": HTTPStatus.CONFLICT,
        "material_unknown": _UNUSABLE,
        "media_type_not_supported": HTTPStatus.UNSUPPORTED_MEDIA_TYPE,
        "method_not_allowed": HTTPStatus.METHOD_NOT_ALLOWED,
        "mix_empty": _UNUSABLE,
        "more_than_there_is": HTTPStatus.CONFLICT,
        "tipped_since": HTTPStatus.CONFLICT,
        "mix_goals_out_of_reach": _UNUSABLE,
        "no_kill_requirement": _UNUSABLE,
        "already_mown": HTTPStatus.CONFLICT,
        "ended_otherwise": HTTPStatus.CONFLICT,
        "ended_since": HTTPStatus.CONFLICT,
        "no_tip_there": HTTPStatus.CONFLICT,
        "tip_not_kept": HTTPStatus.CONFLICT,
        "weighed_otherwise": HTTPStatus.CONFLICT,
        "not_this_keys": HTTPStatus.NOT_FOUND,
        "not_undone": HTTPStatus.CONFLICT,
        "nothing_aboard": HTTPStatus.CONFLICT,
        "nothing_to_decide": HTTPStatus.CONFLICT,
        "not_acceptable": HTTPStatus.NOT_ACCEPTABLE,
        "not_allowed": HTTPStatus.FORBIDDEN,
        "answered_by_client": HTTPStatus.CONFLICT,
        "not_for_this_place": HTTPStatus.CONFLICT,
        "outside_hours": HTTPStatus.CONFLICT,
        "client_erased": HTTPStatus.CONFLICT,
        "client_not_erasable": HTTPStatus.CONFLICT,
        "consent_not_by_link": HTTPStatus.CONFLICT,
        "not_joined": HTTPStatus.UNAUTHORIZED,
        "not_mown_yet": HTTPStatus.CONFLICT,
        "cut_not_told_yet": HTTPStatus.CONFLICT,
        "not_closed_yet": HTTPStatus.NOT_FOUND,
        "place_refused": HTTPStatus.CONFLICT,
        "nothing_to_recall": HTTPStatus.CONFLICT,
        "nothing_was_said": HTTPStatus.CONFLICT,
        "advice_against": HTTPStatus.CONFLICT,
        "tip_not_possible": HTTPStatus.CONFLICT,
        "too_many_searches": HTTPStatus.TOO_MANY_REQUESTS,
        "too_little_counted": HTTPStatus.CONFLICT,
        "not_to_be_chosen": HTTPStatus.CONFLICT,
        "would_spoil": HTTPStatus.CONFLICT,
        "locked_with_others": HTTPStatus.CONFLICT,
        "not_on_record": HTTPStatus.NOT_FOUND,
        "not_planned_yet": HTTPStatus.NOT_FOUND,
        "not_private": HTTPStatus.FORBIDDEN,
        "not_ready": HTTPStatus.SERVICE_UNAVAILABLE,
        "planner_awaited": HTTPStatus.SERVICE_UNAVAILABLE,
        "note_fact_not_usable": _UNUSABLE,
        "note_not_for_this_load": HTTPStatus.CONFLICT,
        "note_not_printable": HTTPStatus.CONFLICT,
        "note_record_not_readable": _BUG,
        "note_superseded": HTTPStatus.CONFLICT,
        "not_brought_yet": HTTPStatus.CONFLICT,
        "called_off": HTTPStatus.CONFLICT,
        "other_origin": HTTPStatus.FORBIDDEN,
        "other_seat": HTTPStatus.FORBIDDEN,
        "outside_validity": _UNUSABLE,
        "paper_unknown": _UNUSABLE,
        "plan_not_legal": _BUG,
        "plan_overtaken": HTTPStatus.CONFLICT,
        "precondition_required": HTTPStatus.PRECONDITION_REQUIRED,
        "problem_not_usable": _BUG,
        "record_exists": HTTPStatus.CONFLICT,
        "record_in_use": HTTPStatus.CONFLICT,
        "treatment_needed": HTTPStatus.CONFLICT,
        "taint_on_record": HTTPStatus.CONFLICT,
        "forked_over_or_corrected": HTTPStatus.CONFLICT,
        "record_missing": HTTPStatus.NOT_FOUND,
        "record_not_usable": _UNUSABLE,
        "records_busy": HTTPStatus.SERVICE_UNAVAILABLE,
        "records_out_of_reach": HTTPStatus.SERVICE_UNAVAILABLE,
        "refused": _UNUSABLE,
        "request_not_usable": _UNUSABLE,
        "route_missing": HTTPStatus.NOT_FOUND,
        "rule_not_in_force": _UNUSABLE,
        "rule_unknown": _BUG,
        "rulebook_broken": _BUG,
        "release_refused": HTTPStatus.CONFLICT,
        "no_longer_planned": HTTPStatus.CONFLICT,
        "state_not_reachable": HTTPStatus.CONFLICT,
        "ticket_ratio_out_of_range": _BUG,
        "treatment_clock_wrong": _UNUSABLE,
        "unit_of_another_quantity": _UNUSABLE,
        "unit_unknown": _UNUSABLE,
        "value_not_a_number": _UNUSABLE,
        "variance_shares_wrong": _BUG,
        "vehicle_has_work": HTTPStatus.CONFLICT,
        "crew_has_work": HTTPStatus.CONFLICT,
        "vehicle_limit_missing": _UNUSABLE,
        "vehicle_overloaded": _UNUSABLE,
        "version_overtaken": HTTPStatus.PRECONDITION_FAILED,
    }
)

_HEADERS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "credentials_missing": {"WWW-Authenticate": 'Bearer realm="clipping-dispatch"'},
        "credentials_not_valid": {
            "WWW-Authenticate": 'Bearer realm="clipping-dispatch", error="invalid_token"'
        },
        "being_planned": {"Retry-After": "2"},
        "first_try_unfinished": {"Retry-After": "1"},
        "plan_overtaken": {"Retry-After": "1"},
        "too_many_searches": {"Retry-After": "20"},
        "not_ready": {"Retry-After": "5"},
        "planner_awaited": {"Retry-After": "20"},
        "records_busy": {"Retry-After": "1"},
        "records_out_of_reach": {"Retry-After": "5"},
    }
)


def answer_to(error: HTTPException | Refusal) -> Response:
    """Return the answer to a failure. A bug rises, so that it is logged and answered as one."""
    if isinstance(error, RequestRedirect):
        return Response(status=error.code, headers={"Location": error.new_url})
    refusal = _refusal_of(error) if isinstance(error, HTTPException) else error
    if refusal is error and STATUS.get(refusal.code, _BUG) is _BUG:
        raise error
    response = Response(
        json.dumps(problem_of(refusal)),
        status=STATUS[refusal.code],
        mimetype=PROBLEM_JSON,
        headers=dict(_HEADERS.get(refusal.code, {})),
    )
    if "retry_after_s" in refusal.facts:
        response.headers["Retry-After"] = str(refusal.facts["retry_after_s"])
    if isinstance(error, WerkzeugMethodNotAllowed):
        response.allow.update(error.valid_methods or ())
    return response


def problem_of(refusal: Refusal) -> dict[str, Any]:
    """Return the problem details of a refusal."""
    # What is only read was asked for by parameters.
    place = Place.QUERY if request.method == "GET" else Place.BODY
    told = told_refusal(refusal, place=place)
    return told | {"instance": request.path, "request_id": g.request_id}


def told_refusal(refusal: Refusal, *, place: Place = Place.BODY) -> dict[str, Any]:
    """Return the problem details of a refusal, but for the request that it is of."""
    problem: dict[str, Any] = {
        "type": type_of(refusal.code),
        "title": title_of(refusal.code),
        "status": int(STATUS[refusal.code]),
        "detail": str(refusal),
        "code": refusal.code,
    }
    faults = list(faults_of(refusal, place=place))
    if not faults:
        return problem
    told = [fault.as_json() for fault in faults[:MOST_FAULTS]]
    if len(faults) > MOST_FAULTS:
        problem["errors_in_all"] = len(faults)
    return {**problem, "errors": told}


def faults_of(refusal: Refusal, *, place: Place) -> Iterator[LocatedFault]:
    """Return the faulty fields a refusal names."""
    if isinstance(refusal, RequestNotUsable):
        yield from refusal.faults
    elif isinstance(refusal, RecordNotUsable | FieldFault):
        faults = refusal.faults if isinstance(refusal, RecordNotUsable) else (refusal,)
        yield from (from_record(fault, place=place) for fault in faults)


def type_of(code: str) -> str:
    """Return the address of the page that explains a problem."""
    return "/problems/" + code.replace("_", "-")


def title_of(code: str) -> str:
    """Return the title of a problem: always the same for the same code."""
    return code.replace("_", " ").capitalize()


def told_codes() -> list[str]:
    """Return every code a caller may be told; of bugs there is one."""
    bugs = {code for code, status in STATUS.items() if status is _BUG}
    return sorted(STATUS.keys() - bugs | {InternalError.code})


def codes_of(status: HTTPStatus) -> list[str]:
    """Return the codes a caller may be told with a status."""
    return [code for code in told_codes() if STATUS[code] == status]


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

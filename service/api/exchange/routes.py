"""Routes: flask-smorest's blueprint with strict bodies and one shape of error."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import wraps
from http import HTTPStatus
from typing import Any, Final, NoReturn

from flask import Request, jsonify, request
from flask_smorest import Blueprint
from marshmallow import Schema, ValidationError
from webargs.flaskparser import FlaskParser
from werkzeug.wrappers import Response as BaseResponse

from service.api.exchange.amending import CHANGE_REASON, IF_MATCH, change_reason, require_if_match
from service.api.exchange.bodies import JSON, MERGE_PATCH, read_json
from service.api.exchange.documented import Example, View, document_of, with_document
from service.api.exchange.together import handing, reads_of, with_reads
from service.api.failures.faults import Place, located, refused
from service.api.failures.problems import PROBLEM_JSON
from service.api.failures.refusals import RequestNotUsable
from service.api.fields.base import Repeated

# By number: their names differ between versions of Python.
_TOO_LARGE: Final = HTTPStatus(413)
_UNSUPPORTED: Final = HTTPStatus(415)
_UNPROCESSABLE: Final = HTTPStatus(422)

_HEADERS: Final[Mapping[str, tuple[dict[str, Any], ...]]] = {
    "post": (
        {
            "in": "header",
            "name": "Idempotency-Key",
            "description": (
                "The same key with the same request returns the first answer, for seven days."
            ),
            "schema": {"type": "string", "pattern": "^[!-~]{1,255}$"},
        },
    ),
    "patch": (IF_MATCH, CHANGE_REASON),
    "delete": (IF_MATCH, CHANGE_REASON),
}

_PLACES: Final = {"json": Place.BODY, "query": Place.QUERY}


class StrictParser(FlaskParser):
    """Reads bodies strictly and names every fault; what is unknown is the schema's affair."""

    DEFAULT_UNKNOWN_BY_LOCATION: Mapping[str, str | None] = {}  # type: ignore[assignment] # read only here

    def load_json(self, req: Request, schema: Schema) -> Any:  # noqa: ARG002 - the signature is webargs'
        """Return the body as strict JSON; no body at all is an object without members."""
        if not req.mimetype and not req.get_data():
            return {}
        return read_json(req)

    def load_querystring(self, req: Request, schema: Schema) -> Any:
        """Return the query's parameters: one value each, a list where the schema says so."""
        lists = {name for name, field in schema.fields.items() if hasattr(field, "inner")}
        return {
            name: values if name in lists else values[0] if len(values) == 1 else Repeated(values)
            for name, values in req.args.lists()
        }

    def use_args(  # type: ignore[override] # flask-smorest alone calls it
        self, argmap: Any, *_: Any, location: str, **__: Any
    ) -> Callable[[View], View]:
        """Return a decorator that hands a view a part of the request, read beside the others."""
        return lambda view: handing(view, lambda *_: self.parse(argmap, request, location=location))

    def handle_error(
        self,
        error: ValidationError,
        req: Request,  # noqa: ARG002 - the signature is webargs'
        schema: Schema,  # noqa: ARG002 - see above
        *,
        error_status_code: int | None,  # noqa: ARG002 - see above
        error_headers: Mapping[str, str] | None,  # noqa: ARG002 - see above
    ) -> NoReturn:
        """Refuse the request with every fault at once."""
        assert isinstance(error.messages, dict)  # noqa: S101 - webargs wraps them by location
        ((location, messages),) = error.messages.items()
        in_body = location == "json" and isinstance(error.valid_data, dict)
        usable: Any = error.valid_data if in_body else None
        faults = located(messages, place=_PLACES[location])
        raise RequestNotUsable(faults, usable=usable) from None


class Routes(Blueprint):  # type: ignore[misc] # flask-smorest ships no types
    """Routes of one resource."""

    ARGUMENTS_PARSER = StrictParser()

    def __init__(self, name: str, *, description: str) -> None:
        """Take the name of the resource and what it is."""
        super().__init__(name, __name__, description=description)
        self._prepare_doc_cbks.append(_document_refusals)

    def operation(
        self,
        method: str,
        rule: str,
        *,
        name: str,
        summary: str,
        in_path: list[dict[str, Any]] | None = None,
        in_header: list[dict[str, Any]] | None = None,
        **more: Any,
    ) -> Callable[[View], View]:
        """Return a decorator that serves a view and names it in the contract.

        Parameters
        ----------
        in_path
            Parameters of the address that need more words than their kind.
        in_header
            Header fields that this operation alone reads.
        """
        may_answer = {*more.pop("may_answer", ()), *((404,) if "<" in rule else ())}

        def decorate(view: View) -> View:
            documented = self.doc(
                operationId=name,
                summary=summary,
                may_answer=tuple(may_answer),
                **({"parameters": in_header} if in_header else {}),
                **more,
            )(view)
            self.add_url_rule(rule, name, documented, methods=[method], parameters=in_path)
            return view

        return decorate

    def body(self, schema: type[Schema], *, example: Mapping[str, Any]) -> Callable[[View], View]:
        """Return a decorator that hands the view the loaded body."""
        decorator: Callable[[View], View] = self.arguments(
            schema(), examples={"example": {"value": Example.of(example)}}
        )
        return decorator

    def query(self, schema: type[Schema]) -> Callable[[View], View]:
        """Return a decorator that hands the view the loaded query parameters."""
        decorator: Callable[[View], View] = self.arguments(schema(), location="query")
        return decorator

    def response(
        self,
        status_code: int,
        schema: Any = None,
        *,
        example: Mapping[str, Any] | None = None,
        **more: Any,
    ) -> Callable[[View], View]:
        """Return a decorator that answers with what the view returns.

        What has a shape, and no schema, is told as it is.
        """
        shown = None if example is None else Example.of(example)
        decorator: Callable[[View], View] = super().response(
            status_code, schema, example=shown, **more
        )
        if not isinstance(schema, Mapping):
            return decorator

        def decorate(view: View) -> View:
            @wraps(view)
            def enter(*args: Any, **path: Any) -> Any:
                told = view(*args, **path)
                return told if isinstance(told, BaseResponse) else (jsonify(told), status_code)

            return decorator(enter)

        return decorate

    def merge_patch(
        self, changes: type[Schema], *, example: Mapping[str, Any]
    ) -> Callable[[View], View]:
        """Return a decorator that hands the view a merge patch, as it was sent."""
        content = {"schema": changes, "examples": {"example": {"value": Example.of(example)}}}

        def decorate(view: View) -> View:
            # The view reads these once more, beside the record that the patch is for.
            headers = (lambda *_: require_if_match(), lambda *_: change_reason())
            document = document_of(view)
            enter = handing(with_reads(view, *headers, *reads_of(view)), _read_patch)
            document.setdefault("manual_doc", {})["requestBody"] = {
                "required": True,
                "content": {MERGE_PATCH: content, JSON: content},
            }
            return with_document(enter, document)

        return decorate


def _read_patch(*_: Any) -> dict[str, Any]:
    patch = read_json(request, media_types=(MERGE_PATCH, JSON))
    if not isinstance(patch, dict):
        fault = refused("Write an object: the fields to change.")
        raise RequestNotUsable(located(fault.messages))
    return patch


_PAGE_OR_PROBLEM: Final = {
    "description": "What stands against it; as a page where a browser asks.",
    "content": {
        PROBLEM_JSON: {"schema": {"$ref": "#/components/schemas/Problem"}},
        "text/html": {"schema": {"type": "string"}},
    },
}


def _document_refusals(
    doc: dict[str, Any], doc_info: dict[str, Any], *, method: str, **_: Any
) -> dict[str, Any]:
    """Name the failures an operation may answer: they follow from what it reads."""
    parameters = {parameter["in"] for parameter in doc.get("parameters", ())}
    manual = doc_info.get("manual_doc", {})
    has_body = "requestBody" in doc or "requestBody" in manual
    versioned = manual.pop("versioned", True)
    statuses = {HTTPStatus.NOT_ACCEPTABLE, HTTPStatus.INTERNAL_SERVER_ERROR}
    if "security" not in manual:
        doc["security"] = []  # said aloud: generated clients know that no key is asked for
    if "security" in manual:
        statuses |= {
            HTTPStatus.UNAUTHORIZED,
            HTTPStatus.FORBIDDEN,
            HTTPStatus.TOO_MANY_REQUESTS,
        }
    if has_body:
        statuses |= {HTTPStatus.BAD_REQUEST, _TOO_LARGE, _UNSUPPORTED, _UNPROCESSABLE}
    if "query" in parameters:
        statuses.add(_UNPROCESSABLE)
    if method == "post":
        statuses |= {HTTPStatus.CONFLICT, _UNPROCESSABLE}
    if method in {"patch", "delete"} and versioned:
        statuses |= {HTTPStatus.PRECONDITION_FAILED, HTTPStatus.PRECONDITION_REQUIRED}
    if method == "delete":
        statuses |= {HTTPStatus.CONFLICT, _UNPROCESSABLE}
    statuses |= {HTTPStatus(status) for status in manual.pop("may_answer", ())}
    answered_anew = manual.pop("answered_anew", False)
    by_pages = manual.pop("refuses_by_pages", False)
    has_headers = "security" in manual and not answered_anew and versioned
    headers = _HEADERS.get(method, ()) if has_headers else ()
    if headers:
        doc["parameters"] = [*doc.get("parameters", ()), *headers]
    responses = doc.setdefault("responses", {})
    for status in sorted(statuses):
        responses.pop(int(status), None)
        is_page = by_pages and status < HTTPStatus.INTERNAL_SERVER_ERROR
        responses[int(status)] = _PAGE_OR_PROBLEM if is_page else response_name(status)
    return doc


def response_name(status: HTTPStatus) -> str:
    """Return the name of the shared response for a status in the contract."""
    return f"Problem{int(status)}"

"""The contract: how the OpenAPI document is made from schemas and routes."""

from __future__ import annotations

import json
import threading
from functools import cache
from hashlib import sha256
from typing import Any, Final

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from flask import Blueprint, Flask, Response, request
from flask_smorest import Api
from marshmallow import fields
from werkzeug.exceptions import HTTPException

from service.api.contract.links import link_records
from service.api.contract.schemas import noun
from service.api.exchange.json_form import plain
from service.api.exchange.routes import Routes, response_name
from service.api.exchange.written_answers import Written
from service.api.failures.problems import (
    MOST_FAULTS,
    PROBLEM_JSON,
    STATUS,
    answer_to,
    codes_of,
    title_of,
    told_codes,
    type_of,
)
from service.api.fields import Strict
from service.core.errors import Refusal

OPENAPI_VERSION: Final = "3.1.0"
API_VERSION: Final = "0.2.0"
TITLE: Final = "clipping-dispatch"
DESCRIPTION: Final = """\
Mowing jobs go in, estimates of the clippings come out, and a plan of the day that takes each
lot to a bed, a compost site or a hold bay, with a delivery note for the client.

**Units.** A measure is `{"value": 450, "unit": "m2"}`. Unit codes are those of UCUM, listed at
each field. Short ton `[ston_av]`, long ton `[lton_av]` and tonne `t` are three units; a bare
"ton" is refused. An answer repeats what was entered and adds the value in one fixed unit.

**Times** carry their offset (RFC 3339). Records answer in UTC, what is told of a day by the depot's
clock with its offset. The working day is the depot's.

**Retries.** Every POST takes an `Idempotency-Key` of 1 to 255 visible ASCII characters, but those
whose answer holds a secret. The same key with the same request returns the first answer byte for
byte, with `Idempotency-Replayed: true`; refusals below 500 are answers too and are repeated, so a
corrected request takes a new key. The same key with another request is refused; JSON that says the
same is the same request, however it is written. These keys belong to the firm.

**Amendments** are merge patches (RFC 7396) and need `If-Match` with the ETag of the version read.
The optional header `Change-Reason` is kept with the change.

**Failures** are problem details (RFC 9457). `errors` names every faulty field at once, with a JSON
pointer (RFC 6901) for a field of the body, the name for a query parameter or a header. Of more than
50 the first 50 are named, and `errors_in_all` counts them.
"""


class Contract(Api):  # type: ignore[misc] # flask-smorest ships no types
    """flask-smorest's Api with this service's error shape."""

    DEFAULT_ERROR_RESPONSE_NAME = None

    def __init__(self, *arguments: Any, **named: Any) -> None:
        """Take what flask-smorest's Api takes."""
        self._unwritten: list[Routes] = []
        self._writing = threading.Lock()
        super().__init__(*arguments, **named)

    def register_blueprint(self, routes: Routes) -> None:
        """Serve routes; they are written into the contract when somebody asks for it."""
        self._app.extensions["flask-smorest"]["blp_name_to_api"][routes.name] = self
        self._app.register_blueprint(routes)
        self._unwritten.append(routes)

    def written(self) -> APISpec:
        """Return the contract with all routes in it."""
        with self._writing:
            for routes in self._unwritten:
                routes.register_views_in_doc(
                    self, self._app, self.spec, name=routes.name, parameters=None
                )
                self.spec.tag({"name": routes.name, "description": routes.description})
            self._unwritten.clear()
        spec: APISpec = self.spec
        return spec

    def _register_responses(self) -> None:
        """Write one shared response for each status a problem may have."""
        self.spec.components.schema("Problem", PROBLEM_SCHEMA)
        for status in sorted(set(STATUS.values())):
            codes = codes_of(status)
            self.spec.components.response(
                response_name(status),
                {
                    "description": "; ".join(title_of(code) for code in codes),
                    "content": {
                        PROBLEM_JSON: {
                            "schema": {"$ref": "#/components/schemas/Problem"},
                            "examples": {code: {"value": _example(code)} for code in codes},
                        }
                    },
                },
                lazy=True,
            )

    def _register_pagination_header(self) -> None:
        """Pages carry their next address in the body; there is no such header."""

    def _register_etag_headers(self) -> None:
        """ETags are described where they are answered."""

    def _register_error_handlers(self) -> None:
        """Answer every failure with a problem."""
        self._app.register_error_handler(HTTPException, answer_to)
        self._app.register_error_handler(Refusal, answer_to)


def add_contract(app: Flask) -> Contract:
    """Return the contract of an app, to register routes with."""
    app.config.update(API_TITLE=TITLE, API_VERSION=API_VERSION, OPENAPI_VERSION=OPENAPI_VERSION)
    contract = Contract(
        app,
        spec_kwargs={
            "marshmallow_plugin": MarshmallowPlugin(schema_name_resolver=_name_of),
            "info": {
                "description": DESCRIPTION,
                "license": {"name": "Apache-2.0", "identifier": "Apache-2.0"},
            },
            "servers": [{"url": "/"}],
        },
    )
    contract.ma_plugin.converter.add_attribute_function(_own_schema)
    contract.spec.components.security_scheme(
        "firm_key",
        {
            "type": "http",
            "scheme": "bearer",
            "description": "A key of one firm and one role, made by an owner.",
        },
    )
    return contract


def document_of(app: Flask) -> dict[str, Any]:
    """Return the OpenAPI document of an app."""
    contract: Contract = app.extensions["flask-smorest"]["apis"][""]["ext_obj"]
    document: dict[str, Any] = plain(contract.written().to_dict())
    link_records(document)
    return document


def document_text(document: dict[str, Any]) -> str:
    """Return the document as it is committed: indented, one line end at its end."""
    return json.dumps(document, indent=2, ensure_ascii=False) + "\n"


def document_routes(app: Flask) -> Blueprint:
    """Return the route of the document itself."""
    routes = Blueprint("contract", __name__)

    @cache
    def written() -> tuple[Written, str]:  # it never changes
        text = document_text(document_of(app))
        tag = sha256(text.encode()).hexdigest()[:16]
        return Written.of(Response(text, mimetype="application/json")), tag

    @routes.get("/openapi.json")
    def openapi() -> Response:
        document, tag = written()
        response = document.sent()
        response.set_etag(tag, weak=True)
        response.make_conditional(request)
        return response

    return routes


def _shared(converter: Any, name: str, schema: dict[str, Any]) -> dict[str, Any]:
    """Keep a schema once, under its name, and return the reference to it."""
    components = converter.spec.components
    if name not in components.schemas:
        components.schema(name, schema)
    return {"$ref": f"#/components/schemas/{name}"}


def _name_of(schema: Any) -> str:
    """Return the name of a schema in the document."""
    return noun(schema if isinstance(schema, type) else type(schema))


def _own_schema(converter: Any, field: fields.Field[Any], **_: Any) -> dict[str, Any]:
    """Let a strict field write its own schema, null added where it may be null."""
    if not isinstance(field, Strict):
        return {}
    own = field.json_schema()
    if isinstance(getattr(field, "inner", None), fields.Field):
        own["items"] = converter.field2property(field.inner)  # type: ignore[attr-defined] # asked above
    if field.component is not None:
        own = _shared(converter, field.component, own)
    if not field.allow_none:
        return own
    if "$ref" in own:
        return {"anyOf": [own, {"type": "null"}]}
    if "enum" in own:
        own["enum"] = [*own["enum"], None]
    return {**own, "type": [own["type"], "null"]}


def _example(code: str) -> dict[str, Any]:
    return {
        "type": type_of(code),
        "title": title_of(code),
        "status": int(STATUS[code]),
        "detail": "A sentence that says what is wrong and what is allowed.",
        "instance": "/crews",
        "request_id": "0192f0c1-2b3c-7def-8123-456789abcdef",
        "code": code,
    }


PROBLEM_SCHEMA: Final[dict[str, Any]] = {
    "type": "object",
    "description": "Problem details (RFC 9457): the one shape of every failure.",
    "properties": {
        "type": {"type": "string", "format": "uri-reference"},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 202, "maximum": 599},
        "detail": {"type": "string"},
        "instance": {"type": "string"},
        "request_id": {"type": "string"},
        "code": {"type": "string", "enum": told_codes()},
        "errors_in_all": {
            "type": "integer",
            "description": f"How many there are; the first {MOST_FAULTS} are named.",
        },
        "errors": {
            "type": "array",
            "minItems": 1,
            "maxItems": MOST_FAULTS,
            "items": {
                "type": "object",
                "properties": {
                    "pointer": {"type": "string", "description": "RFC 6901, into the body."},
                    "parameter": {"type": "string", "description": "A query parameter."},
                    "header": {"type": "string"},
                    "detail": {"type": "string"},
                    "code": {"type": "string"},
                },
                "required": ["detail", "code"],
                "oneOf": [
                    {"required": ["pointer"]},
                    {"required": ["parameter"]},
                    {"required": ["header"]},
                ],
                "additionalProperties": False,
            },
        },
    },
    "required": ["type", "title", "status", "detail", "instance", "request_id", "code"],
    "additionalProperties": False,
}

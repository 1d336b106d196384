"""What is kept of a person: handed out whole, and erased, by the owner alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from flask import Response, jsonify

from service.api.contract.examples import EXAMPLE_ID, EXAMPLE_TIME, OTHER_ID
from service.api.contract.schemas import Described
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Text, utc_text
from service.api.work.shapes import (
    ID,
    MAYBE_ID,
    MAYBE_MOMENT,
    MAYBE_TEXT,
    MEMBERS,
    MOMENT,
    TEXT,
    map_of,
    maybe,
    one_of,
    several,
    whole,
)
from service.core.callers.access import Act
from service.core.personal.erasures import AskedBy, ClientState, Erasure
from service.core.personal.register import Fate
from service.usecases.records.clients.erase import EraseClient, ErasureAsked
from service.usecases.records.clients.export import TellPersonalData

BOOKS: Final = (
    "properties",
    "lawns",
    "beds",
    "treatments",
    "jobs",
    "loads",
    "delivery_notes",
    "recalls",
    "keys",
    "changes",
    "erasures",
)
PERSONAL_DATA: Final = whole(
    {
        "as_of": MOMENT,
        "client": MEMBERS,
        **{name: several(MEMBERS) for name in BOOKS},
        "on_erasure": several(
            whole({"book": TEXT, "field": TEXT, "becomes": one_of(Fate), "why": TEXT})
        ),
    },
    description=(
        "Everything on record of a client, as it is kept, and of nobody else. `loads` are those to "
        "the client's beds, and what of the client's lawns is in others; `changes` what records "
        "were before. `on_erasure` says of each text what becomes of it when the client is erased, "
        "and why, where something stays."
    ),
)
ERASURE: Final = whole(
    {
        "client_id": ID,
        "state": one_of(ClientState),
        "erased_at": MAYBE_MOMENT,
        "asked_by": maybe(one_of(AskedBy)),
        "reason": MAYBE_TEXT,
        "key_id": MAYBE_ID,
        "digests": map_of(TEXT),
    },
    description=(
        "Whether a client was erased: who did it, when, at whose word and why. `digests` are those "
        "that notes, recalls and closings of days had until then, by their ids."
    ),
)


class NewErasure(Described):
    """At whose word a client is erased, and why."""

    asked_by = Choice(
        AskedBy,
        load_default=None,
        metadata={
            "description": "Never left out. `firm`: nobody asked, and nothing of it is needed."
        },
    )
    reason = Text(
        longest=300,
        load_default=None,
        metadata={
            "description": "Never left out. It is kept: what is on record of the person is taken "
            "out of it."
        },
    )


def person_routes(tell: TellPersonalData, erase: EraseClient, door: Door) -> Routes:
    """Return the routes of what is kept of a client as a person."""
    routes = Routes(
        "persons",
        description=(
            "What is kept of a client as a person: handed out, and erased (GDPR, articles 15, 17 "
            "and 20). The owner alone does either."
        ),
    )

    @routes.operation(
        "GET",
        "/clients/<uuid:record_id>/personal-data",
        name="read_personal_data",
        summary="Hand out everything on record of a client, as a file.",
    )
    @door.admits(Act.KEEP_PERSONS)
    @routes.response(200, PERSONAL_DATA)
    def read(asked: Asked, record_id: UUID) -> Response:
        answer = jsonify(tell(asked.caller, record_id))
        name = f"client-{record_id}.json"
        answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
        answer.headers["Cache-Control"] = "no-store"
        return answer

    @routes.operation(
        "POST",
        "/clients/<uuid:record_id>/erasure",
        name="erase_client",
        summary="Erase what is kept of a client; what other law asks for stays without the person.",
        description=(
            "All at once and for good: names, addresses, texts, links, keys and the consent. What "
            "was cut, treated, moved and weighed stays, and so does the mass book. Notes stay with "
            "their facts, without the person. Refused (409 `client_not_erasable`) while grass of "
            "the client is planned, aboard or held, or a recall is open. An erased client is "
            "answered as it is."
        ),
    )
    @door.admits(Act.KEEP_PERSONS)
    @routes.body(NewErasure, example={"asked_by": "client", "reason": "Moved away."})
    @routes.response(200, ERASURE, example=_EXAMPLE)
    def erase_client(asked: Asked, said: Mapping[str, Any], record_id: UUID) -> dict[str, object]:
        erasure = erase(
            asked.caller, record_id, ErasureAsked(**said), identifiers=asked.identifiers
        )
        return _told(record_id, erasure)

    @routes.operation(
        "GET",
        "/clients/<uuid:record_id>/erasure",
        name="read_erasure",
        summary="Read whether a client was erased, and at whose word.",
    )
    @door.admits(Act.KEEP_PERSONS)
    @routes.response(200, ERASURE, example=_EXAMPLE)
    def read_erasure(asked: Asked, record_id: UUID) -> dict[str, object]:
        return _told(record_id, erase.read(asked.caller, record_id))

    return routes


def _told(client_id: UUID, erasure: Erasure | None) -> dict[str, object]:
    state = ClientState.KEPT if erasure is None else ClientState.ERASED
    return {
        "client_id": str(client_id),
        "state": state,
        "erased_at": None if erasure is None else utc_text(erasure.erased_at),
        "asked_by": None if erasure is None else erasure.asked_by,
        "reason": None if erasure is None else erasure.reason,
        "key_id": None if erasure is None or erasure.key_id is None else str(erasure.key_id),
        "digests": {} if erasure is None else erasure.digests,
    }


_EXAMPLE: Final = {
    "client_id": str(EXAMPLE_ID),
    "state": "erased",
    "erased_at": utc_text(EXAMPLE_TIME),
    "asked_by": "client",
    "reason": "Moved away.",
    "key_id": OTHER_ID,
    "digests": {},
}

"""What is kept of a client: handed out as a file, and erased once the owner has read what stays."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Final
from uuid import UUID

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.sessions import Seat
from service.core.personal.erasures import AskedBy
from service.core.personal.register import OF_CLIENTS, Fate
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import HEADERS, page
from service.pages.setup.filing import every, key_of
from service.usecases.records.clients.erase import ErasureAsked

LONGEST_REASON: Final = 300
CLIENTS: Final = "/screens/clients"
PERSON: Final = f"{CLIENTS}/<uuid:record_id>"
MOST_SHOWN: Final = 100
WHO_ASKED: Final[Mapping[AskedBy, str]] = {
    AskedBy.CLIENT: "the client",
    AskedBy.REPRESENTATIVE: "somebody for the client",
    AskedBy.AUTHORITY: "an authority or a court",
    AskedBy.FIRM: "nobody: we need it no more",
}
# What stays, in the words of the office, by its line on the register.
STAYS: Final[Mapping[str, str]] = {
    "properties.locality": "The locality",
    "searches.answer": "The answer of a search that named them, for an hour",
    "beds.legal_basis.reference": "The registration or permit of a bed",
    "treatments.product": "Products on lawns",
    "treatments.active_ingredients": "Their active ingredients",
    "jobs.lot_code": "Lots: what was cut, moved and weighed",
    "loads.weigh_ticket": "Weigh tickets",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Staying:
    """What stays for one reason."""

    what: str
    why: str


def person_screens(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the screen of what is kept of a client, its file, and what its form posts to."""
    routes = Blueprint("person", __name__)
    owner = entrance.admits(Seat.OWNER)

    @routes.get(CLIENTS)
    @owner
    def list_clients(sitting: Sitting) -> Response:
        find = request.args.get("find", "")
        (sought,) = key_of(find)
        found = [
            client
            for client in every(needs.library.clients, sitting.caller)
            if all(word in key_of(client.name)[0] for word in sought.split())
        ]
        found.sort(key=lambda client: (client.erased_at is not None, *key_of(client.name)))
        return page("clients.html.j2", clients=found[:MOST_SHOWN], count=len(found), find=find)

    @routes.get(PERSON)
    @owner
    def show_person(sitting: Sitting, record_id: UUID) -> Response:
        return page(
            "person.html.j2",
            client=needs.library.clients.read(sitting.caller, record_id),
            erasure=needs.erase_client.read(sitting.caller, record_id),
            stays=what_stays(),
            who_asked=WHO_ASKED,
        )

    @routes.get(f"{PERSON}.json")
    @owner
    def hand_out(sitting: Sitting, record_id: UUID) -> Response:
        told = needs.tell_personal_data(sitting.caller, record_id)
        response = Response(
            json.dumps(told, ensure_ascii=False, indent=2), mimetype="application/json"
        )
        response.headers.update(HEADERS)
        name = f"client-{record_id}.json"
        response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
        return response

    @routes.post(PERSON)
    @owner
    def erase(sitting: Sitting, record_id: UUID) -> AnyResponse:
        form = Form(request.form)
        asked_by = form.choice("asked_by", tuple(AskedBy))
        reason = form.text("reason", required=True, longest=LONGEST_REASON)
        form.choice("sure", ("yes",))
        form.done()
        asked = ErasureAsked(asked_by=AskedBy(asked_by or ""), reason=reason)
        needs.erase_client(sitting.caller, record_id, asked)
        return redirect(request.path, HTTPStatus.SEE_OTHER)

    return routes


def what_stays() -> list[Staying]:
    """Return what stays of an erased client and why, what has one reason together."""
    found: dict[str, list[str]] = {}
    for line in OF_CLIENTS:
        if line.fate is Fate.KEPT:
            found.setdefault(line.why, []).append(STAYS[f"{line.table}.{line.field}"])
    return [Staying(what=", ".join(what), why=why) for why, what in found.items()]

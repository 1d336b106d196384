"""Recalls on the screen: begun from a trace, worked off call by call, ended, and kept as a file."""

from __future__ import annotations

import json
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.evidence.recalls import Recall
from service.core.records import Identifiers
from service.pages.day.screen import OFFICE
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.once import once
from service.pages.rendering import HEADERS, page
from service.pages.tracing.names import now_at_yard, plan_today
from service.pages.tracing.trace import wanted_lots
from service.usecases.base.idempotency import Answer

PLACE: Final = "/screens/recalls"
LONGEST_REASON: Final = 500
LONGEST_SAID: Final = 1000
MOST_IN_A_LIST: Final = 1000


def recall_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the list, each recall, and what its forms post to."""
    routes = Blueprint("recall_screens", __name__)

    @routes.get(PLACE)
    @entrance.admits(*OFFICE)
    def show_recalls(sitting: Sitting) -> Response:
        now = now_at_yard(needs, sitting.caller)
        return page("recalls.html.j2", recalls=needs.keep_recalls.all(sitting.caller), now=now)

    @routes.post(PLACE)
    @entrance.admits(*OFFICE)
    def begin(sitting: Sitting) -> AnyResponse:
        form = Form(request.form)
        reason = form.text("reason", required=True, longest=LONGEST_REASON)
        key = form.text("key", required=True)
        wanted = wanted_lots(form)

        def begun(identifiers: Identifiers) -> Answer:
            recall = needs.keep_recalls.begin(
                sitting.caller, wanted, reason=reason or "", identifiers=identifiers
            )
            return Answer(status=HTTPStatus.SEE_OTHER, headers={}, body=str(recall.id).encode())

        answer = once(needs, sitting, key or "", begun)
        plan_today(needs, sitting.caller)
        return redirect(f"{PLACE}/{answer.body.decode()}", HTTPStatus.SEE_OTHER)

    @routes.get(f"{PLACE}/<uuid:recall_id>")
    @entrance.admits(*OFFICE)
    def show_recall(sitting: Sitting, recall_id: UUID) -> Response:
        recall = needs.keep_recalls.read(sitting.caller, recall_id)
        return page("recall.html.j2", **_told(needs, sitting, recall))

    @routes.get(f"{PLACE}/<uuid:recall_id>/evidence.json")
    @entrance.admits(*OFFICE)
    def read_evidence(sitting: Sitting, recall_id: UUID) -> Response:
        file = needs.keep_recalls.evidence(sitting.caller, recall_id)
        response = Response(json.dumps(file, indent=1), mimetype="application/json")
        response.headers.update(HEADERS)
        name = f"recall-{recall_id}.json"
        response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
        return response

    _add_acts(routes, needs, entrance)
    return routes


def _add_acts(routes: Blueprint, needs: Needs, entrance: Entrance) -> None:
    """Add what is said of a recall that was begun."""

    @routes.post(f"{PLACE}/<uuid:recall_id>/calls")
    @entrance.admits(*OFFICE)
    def tick(sitting: Sitting, recall_id: UUID) -> AnyResponse:
        form = Form(request.form)
        number = form.number("number", low=0, high=MOST_IN_A_LIST)
        said = form.text("said", longest=LONGEST_SAID)
        form.done()
        needs.keep_recalls.called(sitting.caller, recall_id, number=int(number or 0), said=said)
        return redirect(f"{PLACE}/{recall_id}#call-{int(number or 0)}", HTTPStatus.SEE_OTHER)

    @routes.post(f"{PLACE}/<uuid:recall_id>/end")
    @entrance.admits(*OFFICE)
    def end(sitting: Sitting, recall_id: UUID) -> AnyResponse:
        needs.keep_recalls.end(sitting.caller, recall_id)
        plan_today(needs, sitting.caller)
        return redirect(f"{PLACE}/{recall_id}", HTTPStatus.SEE_OTHER)


def _told(needs: Needs, sitting: Sitting, recall: Recall) -> dict[str, Any]:
    """Return what the page of a recall is filled with."""
    trace: Any = recall.content
    return {
        "recall": recall,
        "trace": trace,
        "people": [
            (number, person, [call for call in recall.calls if call.number == number])
            for number, person in enumerate(recall.people)
        ],
        "now": now_at_yard(needs, sitting.caller),
    }

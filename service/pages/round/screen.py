"""The crew lead's screen, its worker for where there is no signal, and where reports come in."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any, Final
from uuid import uuid5
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, json, jsonify, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.sessions import Seat
from service.core.errors import RecordMissing, Refusal
from service.pages.entrance import HTML, PROBLEM_JSON, Entrance, Sitting
from service.pages.forms import Form
from service.pages.load_words import REASONS
from service.pages.needs import Needs
from service.pages.refusals import in_words, lines_of
from service.pages.rendering import HEADERS, KINDS, asset, page, rendered
from service.pages.replanning import replanned
from service.pages.round.reports import KeepReport
from service.pages.round.view import (
    Scope,
    crew_of,
    plan_to,
    reason_to,
    round_of,
    said_of,
    said_to,
    scope_of,
    spoils_to,
)
from service.usecases.base.idempotency import Answer

PLACE: Final = "/screens/round/"
# What the telephone keeps, so that the screen opens with no signal and the server gone.
KEPT_ASSETS: Final = ("screens.css", "round.css", "sending.js", "round.js", "mark.svg")
JSON: Final = "application/json"
LONGEST_KEY: Final = 100


def round_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the screen, and what its script asks."""
    routes = Blueprint("round", __name__)

    @routes.get(PLACE)
    @entrance.admits(Seat.CREW)
    def show_round(sitting: Sitting) -> Response:
        scope = scope_of(needs, sitting.session)
        return page(
            "round.html.j2",
            reader=scope.reader,
            words=scope.reader.table("offline"),
            round=round_of(needs, sitting.caller, scope),
            me=sitting.session,
            reasons=REASONS,
            firm=needs.keep_sessions.firm(sitting.caller.firm_id),
            key=needs.new_key(),
        )

    @routes.get(f"{PLACE}ask")
    @entrance.admits(Seat.CREW)
    def ask(sitting: Sitting) -> Response:
        """Answer whether to bag, with what the crew sees; nothing is kept."""
        scope = scope_of(needs, sitting.session)
        form = Form(request.args, scope.reader)
        job = KeepReport(needs, sitting.caller, scope).job(form)
        said = said_of(form)
        form.done()
        if job.lawn_id is None:
            raise RecordMissing(record="lawn", id="none")
        told = needs.pre_mow_check(sitting.caller, job.lawn_id, depot_id=job.depot_id, said=said)
        caution: Any = told["keep_off"] or told["mowing_hours"]
        by_plan: Any = told["plan"]
        to_do: Any = told["what_to_do"]
        reason = reason_to(scope, told)
        return page(
            "round_answer.html.j2",
            reader=scope.reader,
            answer=told["answer"],
            to_do=said_to(scope.reader, to_do),
            reason=reason,
            by_plan=plan_to(scope, by_plan, to_do=to_do, reason=reason),
            spoils=spoils_to(scope, told),
            caution=None if caution is None else said_to(scope.reader, caution),
        )

    @routes.get(f"{PLACE}worker.js")
    def read_worker() -> Response:
        text = rendered(
            "worker.js.j2",
            place=PLACE,
            assets=[asset(name) for name in KEPT_ASSETS],
            sending=asset("sending.js"),
        )
        # A worker fetches by the policy it came with.
        return Response(text, content_type=KINDS["js"], headers=HEADERS)

    @routes.get(f"{PLACE}mark")
    @entrance.admits(Seat.CREW)
    def read_mark(sitting: Sitting) -> Response:
        """Tell whether anything changed, before anything is read, and what the time is here."""
        crew, look = crew_of(needs, sitting.session), needs.look_at_day
        mark = look.mark_of_today(sitting.caller, crew.depot_id)
        now_ms = round(look.now(ZoneInfo("UTC")).timestamp() * 1000)
        response = jsonify({"mark": mark.text, "now_ms": now_ms})
        response.headers.update(HEADERS)
        response.headers["Cache-Control"] = "no-store"
        return response

    @routes.post(f"{PLACE}reports")
    @entrance.admits(Seat.CREW)
    def report(sitting: Sitting) -> AnyResponse:
        """Keep a report once, however often it is sent."""
        scope = scope_of(needs, sitting.session)
        answer = _answered(needs, sitting, scope)
        if request.accept_mimetypes.best_match((HTML, JSON)) == JSON:
            response = Response(answer.body, status=answer.status, headers=dict(answer.headers))
            response.headers.update(HEADERS)
            return response
        said = json.loads(answer.body)
        if answer.status != HTTPStatus.OK:
            return page(
                "refusal.html.j2",
                status=answer.status,
                reader=scope.reader,
                title=scope.reader.text("round.refused_head"),
                lines=lines_of(said),
                back=PLACE,
            )
        return _planned(needs, sitting)

    @routes.post(f"{PLACE}plan")
    @entrance.admits(Seat.CREW)
    def plan(sitting: Sitting) -> AnyResponse:
        return _planned(needs, sitting)

    return routes


def _planned(needs: Needs, sitting: Sitting) -> AnyResponse:
    """Have the day planned with what was reported, and lead back to the round."""
    scope = scope_of(needs, sitting.session)
    replanned(needs, sitting.caller, scope.crew.depot_id, scope.look.today)
    return redirect(PLACE, HTTPStatus.SEE_OTHER)


def _answered(needs: Needs, sitting: Sitting, scope: Scope) -> Answer:
    """Return the answer to a report: what was kept, or why it is not."""
    body = request.get_data()
    form = Form(request.form, scope.reader)
    key = form.text("key", required=True, longest=LONGEST_KEY)
    form.done()
    try:
        return needs.answer_once(
            sitting.caller,
            key=f"{sitting.session.id} {key}",
            request=b"POST round report\n" + body,
            make_answer=lambda _: _kept(needs, sitting, scope, form, key),
            # It comes again as it was, when it can be taken, or mended.
            keep_refusals=False,
        )
    except Refusal as refusal:
        return _refused(needs, refusal, scope)


def _kept(needs: Needs, sitting: Sitting, scope: Scope, form: Form, key: str | None) -> Answer:
    """Return the answer to a report that is kept. Raises whatever refuses it."""
    keep = KeepReport(needs, sitting.caller, scope)
    told = {"said": keep(form, own_id=uuid5(sitting.session.id, key or ""))}
    return _answer(HTTPStatus.OK, JSON, told)


def _refused(needs: Needs, refusal: Refusal, scope: Scope) -> Answer:
    """Return what a crew is told of a report that is not kept. Raises it if that is our fault."""
    problem = in_words(refusal, needs.problem_of(refusal), scope.reader)
    if problem["status"] >= HTTPStatus.INTERNAL_SERVER_ERROR:
        raise refusal
    return _answer(problem["status"], PROBLEM_JSON, problem)


def _answer(status: int, kind: str, told: Mapping[str, Any]) -> Answer:
    return Answer(status=status, headers={"Content-Type": kind}, body=json.dumps(told).encode())

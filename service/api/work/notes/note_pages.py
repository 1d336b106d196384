"""The page of a note: for whoever holds its signed link, on any telephone, without a script."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import wraps
from html import escape
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Response, jsonify, redirect, request
from marshmallow import EXCLUDE, Schema, ValidationError, validates_schema
from werkzeug.wrappers import Response as AnyResponse

from service.api.contract.schemas import Described
from service.api.exchange.bodies import JSON, read_json
from service.api.exchange.documented import View
from service.api.exchange.routes import Routes
from service.api.failures.faults import Fault, located
from service.api.failures.problems import PROBLEM_JSON, STATUS, problem_of
from service.api.failures.refusals import RequestNotUsable
from service.api.fields import Choice, Integer, Number, Text
from service.api.work.links import SIGNATURE_LENGTH, NoteLinks
from service.api.work.notes.notes import PDF, AcknowledgementAnswer, PaperQuery, WordsQuery, printed
from service.core.errors import RecordMissing, Refusal
from service.core.notes import Receipt
from service.usecases.base.languages import NOTE_LANGUAGES, REFUSAL_REASONS
from service.usecases.notes.issue_note import IssueNote
from service.usecases.notes.show_note import PAGE_POLICY, PageLinks, ShowNote, note_page

HTML: Final = "text/html"
FORM: Final = "application/x-www-form-urlencoded"
PLACE: Final = f"/notes/<uuid:note_id>/<string(length={SIGNATURE_LENGTH}):signature>"
# A link is a key: nothing keeps its answers, and no page learns of it.
SECRET: Final = {"Cache-Control": "no-store", "X-Robots-Tag": "noindex"}


class NewAcknowledgement(Described):
    """What the person at the place answers; a signature proves arrival, not quality."""

    answer = Choice(Receipt, required=True)
    accepted = Text(
        longest=120, metadata={"description": "How much was taken, in the client's words."}
    )
    accepted_share = Number(
        low=0,
        high=1,
        metadata={
            "description": "Of the load; needed where a part was accepted, 0 and 1 excluded."
        },
    )
    reason = Choice(REFUSAL_REASONS)
    remark = Text(longest=1000, breaks=True)
    signed_by = Text(longest=120, metadata={"description": "Needed unless nobody was present."})
    version = Integer(low=1, metadata={"description": "The version of the note that was seen."})

    @validates_schema(skip_on_field_errors=False)
    def refuse_nameless(self, data: Mapping[str, Any], **_: Any) -> None:
        """Ask for a name wherever somebody was there."""
        if data.get("answer") not in {None, Receipt.ABSENT} and "signed_by" not in data:
            sentence = "Write the name of whoever answers, unless nobody was present."
            raise ValidationError({"signed_by": [Fault(sentence, code="required")]})

    @validates_schema(skip_on_field_errors=False)
    def ask_how_much(self, data: Mapping[str, Any], **_: Any) -> None:
        """Ask for the part that was accepted, and for none where it was all or nothing."""
        share, is_part = data.get("accepted_share"), data.get("answer") is Receipt.PART
        if is_part and (share is None or not 0.0 < share < 1.0):
            sentence = "How much was accepted, of the whole load: above 0 and below 1."
            raise ValidationError({"accepted_share": [Fault(sentence, code="required")]})
        if share is not None and not is_part and "answer" in data:
            sentence = "Only where a part was accepted there is a share."
            raise ValidationError({"accepted_share": [Fault(sentence, code="invalid")]})


class PageQuery(WordsQuery):
    """In which words; whatever else a messenger hangs on a link is left alone."""

    class Meta:
        """What marshmallow is told."""

        unknown = EXCLUDE


class PagePaperQuery(PaperQuery):
    """In which words and on which paper; whatever else hangs on the link is left alone."""

    class Meta:
        """What marshmallow is told."""

        unknown = EXCLUDE


def page_routes(*, issue_note: IssueNote, show_note: ShowNote, links: NoteLinks) -> Routes:
    """Return the routes behind a signed link; they need no key."""
    routes = Routes("note-pages", description="What the holder of a note's signed link can do.")
    form = NewAcknowledgement()

    def checked(note_id: UUID, signature: str) -> UUID:
        if not links.holds(note_id, signature):
            raise RecordMissing(record="delivery note", id=note_id)
        return note_id

    @routes.operation(
        "GET",
        PLACE,
        name="read_note_page",
        summary="Read a delivery note as a page.",
        may_answer=(410,),
    )
    @for_people
    @routes.query(PageQuery)
    @routes.response(200, {"type": "string"}, content_type=HTML)
    @routes.alt_response(303, description="To the page of the newest version.")
    def page(query: Mapping[str, Any], note_id: UUID, signature: str) -> AnyResponse:
        shown = show_note.signed(checked(note_id, signature))
        if shown.newest_id != note_id:
            # Paper keeps its version; who scans it is shown the newest, which says what changed.
            return redirect(links.page(shown.newest_id), HTTPStatus.SEE_OTHER)
        place = links.page(note_id)
        text = note_page(
            shown,
            language=query.get("language"),
            units=query.get("units"),
            links=PageLinks(
                page=place,
                pdf=f"{request.path}.pdf",
                acknowledgement=f"{request.path}/acknowledgement",
                languages={code: f"{request.path}?language={code}" for code in NOTE_LANGUAGES},
            ),
        )
        headers = {**SECRET, "Content-Security-Policy": PAGE_POLICY()}
        return Response(text, mimetype=HTML, headers=headers)

    @routes.operation(
        "GET",
        f"{PLACE}.pdf",
        name="print_note_page",
        summary="Print a delivery note.",
        may_answer=(410,),
    )
    @for_people
    @routes.query(PagePaperQuery)
    @routes.response(200, {"type": "string", "format": "binary"}, content_type=PDF)
    def paper(query: Mapping[str, Any], note_id: UUID, signature: str) -> Response:
        response = printed(show_note.signed(checked(note_id, signature)), query, links=links)
        response.headers.update(SECRET)
        return response

    @routes.operation(
        "POST",
        f"{PLACE}/acknowledgement",
        name="acknowledge_note",
        may_answer=(410,),
        summary="Answer a delivery note, once: received, taken in part, or refused.",
        description="The same answer sent again is the same answer; no Idempotency-Key is needed.",
        requestBody={
            "required": True,
            "content": {
                kind: {
                    "schema": NewAcknowledgement,
                    "examples": {"example": {"value": ACKNOWLEDGEMENT_EXAMPLE}},
                }
                for kind in (JSON, FORM)
            },
        },
    )
    @routes.response(200, AcknowledgementAnswer, example=ANSWER_EXAMPLE)
    @routes.alt_response(303, description="Back to the page; the answer to a form.")
    def acknowledge(note_id: UUID, signature: str) -> AnyResponse:
        checked(note_id, signature)
        by_form = request.mimetype == FORM
        try:
            given = _given(form, read_form() if by_form else read_json(request))
            note = issue_note.acknowledge(
                note_id,
                receipt=given["answer"],
                name=given.get("signed_by"),
                reason=given.get("reason"),
                accepted=given.get("accepted"),
                accepted_share=given.get("accepted_share"),
                remark=given.get("remark"),
            )
        except Refusal as refusal:
            if not by_form:
                raise
            return _refusal_page(refusal, back=links.page(note_id))
        if by_form:
            back = redirect(request.path.removesuffix("/acknowledgement"), HTTPStatus.SEE_OTHER)
            back.headers.update(SECRET)
            return back
        response = jsonify(AcknowledgementAnswer().dump(note.acknowledgement))
        response.headers.update(SECRET)
        return response

    return routes


def for_people(view: View) -> View:
    """Return the view; to a browser it answers its refusals as pages."""

    @wraps(view)
    def enter(**path: Any) -> Any:
        try:
            return view(**path)
        except Refusal as refusal:
            if request.accept_mimetypes.best_match((PROBLEM_JSON, JSON, HTML)) != HTML:
                raise
            return _refusal_page(refusal)

    return enter


def read_form() -> dict[str, Any]:
    """Return what a form sent; a field left empty was not answered."""
    filled: dict[str, Any] = {name: value for name, value in request.form.items() if value.strip()}
    if str(filled.get("version", "")).isdecimal():
        filled["version"] = int(filled["version"])
    if re.fullmatch(r"0?\.\d{1,6}", str(filled.get("accepted_share", ""))):
        filled["accepted_share"] = float(filled["accepted_share"])
    return filled


def _given(schema: Schema, sent: Any) -> Mapping[str, Any]:
    try:
        given: Mapping[str, Any] = schema.load(sent)
    except ValidationError as error:
        raise RequestNotUsable(located(error.messages)) from None
    return given


def _refusal_page(refusal: Refusal, *, back: str | None = None) -> Response:
    """Return a refusal as a page, with the way back to the note if there is one."""
    if STATUS[refusal.code] >= HTTPStatus.INTERNAL_SERVER_ERROR:
        raise refusal
    problem = problem_of(refusal)
    about = problem["detail"].replace("; see errors.", ":")
    lines = [about, *(fault["detail"] for fault in problem.get("errors", ()))]
    said = "".join(f"<p>{escape(line)}</p>\n" for line in lines)
    way_back = f'<p><a href="{escape(back)}">Back to the note</a></p>\n' if back else ""
    text = (
        '<!doctype html>\n<html lang="en">\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(problem['title'])}</title>\n{said}"
        f"{way_back}</html>\n"
    )
    return Response(text, status=problem["status"], mimetype=HTML, headers=SECRET)


ACKNOWLEDGEMENT_EXAMPLE: Final = {
    "answer": "received_and_checked",
    "signed_by": "R. Alvarez",
    "version": 1,
}
ANSWER_EXAMPLE: Final = {
    "receipt": "received_and_checked",
    "name": "R. Alvarez",
    "reason": None,
    "accepted": None,
    "remark": None,
    "accepted_share": None,
    "device_time": None,
    "received_at": "2026-05-24T13:05:00Z",
}

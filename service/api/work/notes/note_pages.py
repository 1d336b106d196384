"""The page of a note: for whoever holds its signed link, on any telephone, without a script."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import partial
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Response, jsonify, redirect, request
from marshmallow import EXCLUDE, Schema, ValidationError
from werkzeug.wrappers import Response as AnyResponse

from service.api.exchange.bodies import JSON, read_json
from service.api.exchange.completing import with_others
from service.api.exchange.routes import Routes
from service.api.failures.faults import located
from service.api.failures.problems import STATUS
from service.api.failures.refusals import RequestNotUsable
from service.api.work.links import SIGNATURE_LENGTH, NoteLinks
from service.api.work.notes.behind_links import FORM, HTML, SECRET, BehindLinks, asked_for
from service.api.work.notes.note_form import NewAcknowledgement, read_form, unkept
from service.api.work.notes.notes import PDF, AcknowledgementAnswer, PaperQuery, WordsQuery, printed
from service.api.work.notes.standing_consent import add_consent
from service.core.errors import FieldFault, Refusal
from service.core.notes import Receipt
from service.usecases.notes.issue_note import IssueNote
from service.usecases.notes.say_consent import SayConsent
from service.usecases.notes.show_note import ShowNote

PLACE: Final = f"/notes/<uuid:note_id>/<string(length={SIGNATURE_LENGTH}):signature>"


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


def page_routes(
    *, issue_note: IssueNote, say_consent: SayConsent, show_note: ShowNote, links: NoteLinks
) -> Routes:
    """Return the routes behind a signed link; they need no key."""
    routes = Routes("note-pages", description="What the holder of a note's signed link can do.")
    form = NewAcknowledgement()
    behind = BehindLinks(show_note=show_note, links=links)

    @routes.operation(
        "GET",
        PLACE,
        name="read_note_page",
        summary="Read a delivery note as a page.",
        may_answer=(410,),
        refuses_by_pages=True,
    )
    @behind.for_people
    @routes.query(PageQuery)
    @routes.response(200, {"type": "string"}, content_type=HTML)
    @routes.alt_response(303, description="To the page of the newest version.")
    def page(query: Mapping[str, Any], note_id: UUID, signature: str) -> AnyResponse:
        shown = show_note.signed(behind.checked(note_id, signature))
        if shown.newest_id != note_id:
            # Paper keeps its version; who scans it is shown the newest, which says what changed.
            newest = f"{links.page(shown.newest_id)}{asked_for(query)}"
            return redirect(newest, HTTPStatus.SEE_OTHER)
        return behind.page(shown, query)

    @routes.operation(
        "GET",
        f"{PLACE}.pdf",
        name="print_note_page",
        summary="Print a delivery note.",
        may_answer=(410,),
        refuses_by_pages=True,
    )
    @behind.for_people
    @routes.query(PagePaperQuery)
    @routes.response(200, {"type": "string", "format": "binary"}, content_type=PDF)
    def paper(query: Mapping[str, Any], note_id: UUID, signature: str) -> Response:
        response = printed(show_note.signed(behind.checked(note_id, signature)), query, links=links)
        response.headers.update(SECRET)
        return response

    @routes.operation(
        "POST",
        f"{PLACE}/acknowledgement",
        name="acknowledge_note",
        # A broken link leads nowhere, as any address there: nothing can be sent to it.
        may_answer=(405, 410),
        refuses_by_pages=True,
        summary="Answer a delivery note, once: received, taken in part, or refused.",
        description=(
            "The same answer sent again is the same answer; no Idempotency-Key is needed. Another "
            "one is refused with what is kept and whom to call."
        ),
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
    @behind.for_people
    @routes.query(PageQuery)
    @routes.response(200, AcknowledgementAnswer, example=ANSWER_EXAMPLE)
    @routes.alt_response(303, description="Back to the page; the answer to a form.")
    def acknowledge(query: Mapping[str, Any], note_id: UUID, signature: str) -> AnyResponse:
        behind.checked(note_id, signature)
        by_form = request.mimetype == FORM
        try:
            sent = read_form() if by_form else read_json(request)
            given = _given(form, sent, partial(_more_faults, issue_note, note_id))
            note = issue_note.acknowledge(
                note_id,
                receipt=given["answer"],
                name=given.get("signed_by"),
                reason=given.get("reason"),
                accepted=given.get("accepted"),
                accepted_share=given.get("accepted_share"),
                accepted_mass_kg=given.get("accepted_mass_kg"),
                remark=given.get("remark"),
                seen_version=given.get("version"),
            )
        except Refusal as refusal:
            if not by_form or STATUS[refusal.code] >= HTTPStatus.INTERNAL_SERVER_ERROR:
                raise
            shown = show_note.newest(note_id)
            return behind.page(shown, query, unkept=unkept(refusal), status=STATUS[refusal.code])
        if by_form:
            place = request.path.removesuffix("/acknowledgement")
            # What was answered, and what follows, is shown where the form was.
            back = redirect(f"{place}{asked_for(query)}#acknowledge", HTTPStatus.SEE_OTHER)
            back.headers.update(SECRET)
            return back
        response = jsonify(AcknowledgementAnswer().dump(note.acknowledgement))
        response.headers.update(SECRET)
        return response

    add_consent(
        routes, PLACE, PageQuery, say_consent=say_consent, show_note=show_note, behind=behind
    )
    return routes


def _given(
    schema: Schema, sent: Any, more: Callable[[Mapping[str, Any]], Iterable[FieldFault]]
) -> Mapping[str, Any]:
    try:
        given: Mapping[str, Any] = schema.load(sent)
    except ValidationError as error:
        found = located(error.messages)
        usable = error.valid_data if isinstance(error.valid_data, dict) else {}
        raise RequestNotUsable(with_others(found, more(usable))) from None
    return given


def _more_faults(
    issue_note: IssueNote, note_id: UUID, usable: Mapping[str, Any]
) -> list[FieldFault]:
    """Return what is wrong with the readable part of an answer beside its note."""
    is_part = usable.get("answer") is Receipt.PART
    return issue_note.faults(
        note_id,
        accepted_mass_kg=usable.get("accepted_mass_kg") if is_part else None,
        seen_version=usable.get("version"),
    )


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

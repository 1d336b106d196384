"""Delivery notes: issued for a load, read by the firm as JSON or PDF."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Response, jsonify, request
from marshmallow import fields

from service.api.contract.examples import EXAMPLE_ID, EXAMPLE_TIME, record_members, written
from service.api.contract.schemas import Answered, Described, RecordFields, answer_schema
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Identifier, Integer, Link, Moment, Number, Shaped, Text
from service.api.records.book_routes import add_listing
from service.api.records.kept import CREATED, ETAG
from service.api.records.lists import OF_LOADS, Answer
from service.api.records.resource import Resource
from service.api.work.links import NoteLinks
from service.api.work.notes.note_shape import NOTE
from service.core.callers.access import Act
from service.core.notes import DeliveryNote, Receipt
from service.core.places import DisplayUnits
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.pdf_note import PAPERS
from service.usecases.notes.issue_note import IssueNote
from service.usecases.notes.note_links import EndNoteLink
from service.usecases.notes.show_note import ShownNote, ShowNote, note_document, note_paper
from service.usecases.records.record_kinds import Papers

PDF: Final = "application/pdf"
A4: Final = "a4"


class NewDeliveryNote(Described):
    """In which language, if not the client's own."""

    language = Choice(LANGUAGES)


class WordsQuery(Described):
    """In which words a note is shown; the client's own if left out."""

    language = Choice(LANGUAGES)
    units = Choice(tuple(DisplayUnits))


class PaperQuery(WordsQuery):
    """In which words a note is printed, and on which paper."""

    paper = Choice(PAPERS, load_default=A4)


class AcknowledgementAnswer(Answered):
    """What the client answered."""

    receipt = Choice(Receipt)
    name = Text(longest=120, allow_none=True)
    reason = Text(longest=500, allow_none=True)
    accepted = Text(longest=120, allow_none=True)
    remark = Text(longest=1000, allow_none=True)
    accepted_share = Number(low=0, high=1, allow_none=True)
    device_time = Moment(allow_none=True)
    received_at = Moment()


class DeliveryNoteFields(RecordFields):
    """A caller writes nothing in an issued note."""

    record_type = DeliveryNote


class DeliveryNoteSummaryFields(DeliveryNoteFields):
    """A note in a list, without its text."""


class NoteFacts(Answered):
    """What an issued note is."""

    number = Text(longest=40)
    note_version = Integer(low=1)
    replaces_id = Identifier(allow_none=True)
    load_id = Identifier()
    client_id = Identifier()
    language = Choice(LANGUAGES)
    issued_at = Moment()
    sha256 = Text(longest=64, metadata={"description": "Of the canonical JSON of its facts."})
    acknowledgement = fields.Nested(AcknowledgementAnswer, allow_none=True)
    link_ended_at = Moment(
        allow_none=True, metadata={"description": "Since when its signed link opens nothing."}
    )


class NoteLinksAnswer(Answered):
    """Where the note can be seen without a key, by whoever holds the link."""

    page = Link()
    pdf = Link()


class WholeNote(Answered):
    """The note itself."""

    links = fields.Nested(NoteLinksAnswer)
    note = Shaped(NOTE, component="NoteText")


DELIVERY_NOTES: Final = Resource(
    path="delivery-notes",
    one="delivery note",
    many="delivery notes",
    about=(
        "Delivery notes, one for each load to a client's bed. An issued note never changes; a "
        "correction is a new version that says what changed."
    ),
    fields=DeliveryNoteFields,
    answered=(WholeNote, NoteFacts),
    filters={
        "load_id": Identifier(),
        "client_id": Identifier(),
        "number": Text(longest=40),
        "answer": Answer(),
        **OF_LOADS,
        "destination_id": Identifier(),
    },
    summary=answer_schema(DeliveryNoteSummaryFields, NoteFacts),
    list_act=Act.READ_OWN,
)


def note_routes(
    papers: Papers,
    *,
    issue_note: IssueNote,
    show_note: ShowNote,
    end_note_link: EndNoteLink,
    links: NoteLinks,
    door: Door,
) -> Routes:
    """Return the routes of /delivery-notes."""
    routes = Routes(DELIVERY_NOTES.path, description=DELIVERY_NOTES.about)
    answers = DELIVERY_NOTES.listed()
    example = _example()
    add_listing(routes, DELIVERY_NOTES, papers.delivery_notes, door, example=example)

    def whole(shown: ShownNote, query: Mapping[str, Any]) -> Response:
        note = shown.note
        document = note_document(shown, language=query.get("language"), units=query.get("units"))
        where = {"page": links.page(note.id), "pdf": links.pdf(note.id)}
        response = jsonify({**answers.dump(note), "links": where, "note": document})
        asked_for = (query.get(name) or "own" for name in ("language", "units"))
        response.set_etag("-".join((str(note.version), *asked_for)), weak=True)
        return response

    @routes.operation(
        "POST",
        "/loads/<uuid:record_id>/delivery-notes",
        name="issue_delivery_note",
        summary="Issue the note of a load, or its next version if the facts have changed.",
    )
    @door.admits(Act.ISSUE_NOTES)
    @routes.body(NewDeliveryNote, example={"language": "es"})
    @routes.response(201, DELIVERY_NOTES.answer, example=example, headers=CREATED)
    def issue(asked: Asked, wanted: Mapping[str, Any], record_id: UUID) -> Response:
        note = issue_note(
            asked.caller,
            record_id,
            language=wanted.get("language"),
            identifiers=asked.identifiers,
        )
        response = whole(show_note(asked.caller, note.id), {})
        response.status_code = HTTPStatus.CREATED
        response.headers["Location"] = f"/{DELIVERY_NOTES.path}/{note.id}"
        return response

    @routes.operation(
        "POST",
        "/delivery-notes/<uuid:record_id>/end-link",
        name="end_note_link",
        summary="Make the signed links of all versions of a note useless; a later one has its own.",
    )
    @door.admits(Act.INVITE)
    @routes.response(200, DELIVERY_NOTES.answer, example=example, headers=ETAG)
    def end_link(asked: Asked, record_id: UUID) -> Response:
        note = end_note_link(asked.caller, record_id)
        return whole(show_note(asked.caller, note.id), {})

    @routes.operation(
        "GET",
        "/delivery-notes/<uuid:record_id>",
        name="read_delivery_note",
        summary="Read one delivery note: facts, and words in a language if one is named.",
    )
    @door.admits(Act.READ_OWN)
    @routes.query(WordsQuery)
    @routes.response(200, DELIVERY_NOTES.answer, example=example, headers=ETAG)
    def read(asked: Asked, query: Mapping[str, Any], record_id: UUID) -> Response:
        response = whole(show_note(asked.caller, record_id), query)
        response.make_conditional(request)
        return response

    @routes.operation(
        "GET",
        "/delivery-notes/<uuid:record_id>.pdf",
        name="print_delivery_note",
        summary="Print one delivery note: a page of A4 or US Letter.",
        may_answer=(409,),
    )
    @door.admits(Act.READ_OWN, makes=(PDF,))
    @routes.query(PaperQuery)
    @routes.response(200, {"type": "string", "format": "binary"}, content_type=PDF)
    def paper(asked: Asked, query: Mapping[str, Any], record_id: UUID) -> Response:
        return printed(show_note(asked.caller, record_id), query, links=links)

    return routes


def printed(shown: ShownNote, query: Mapping[str, Any], *, links: NoteLinks) -> Response:
    """Return a note as PDF."""
    paper = note_paper(
        shown,
        language=query.get("language"),
        units=query.get("units"),
        paper=query["paper"],
        page_url=links.page(shown.note.id),
    )
    name = f"{shown.note.number}-{shown.note.note_version}.pdf"
    headers = {"Content-Disposition": f'inline; filename="{name}"'}
    return Response(paper, mimetype=PDF, headers=headers)


def _example() -> dict[str, Any]:
    """Return a note as it is answered, its text left empty."""
    note = DeliveryNote(
        **record_members(),
        number="2026-00017",
        note_version=1,
        load_id=EXAMPLE_ID,
        client_id=EXAMPLE_ID,
        language="en",
        issued_at=EXAMPLE_TIME,
        content={},
        sha256="0" * 64,
    )
    return {
        **written(DELIVERY_NOTES.listed(), note),
        "links": {"page": "https://example.org/notes/...", "pdf": "https://example.org/notes/..."},
        "note": {name: {} if name == "facts" else [] for name in NOTE["required"]},
    }

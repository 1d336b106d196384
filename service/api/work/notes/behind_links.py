"""What stands behind a note's signed link: the page, or what can be said in its place."""

from __future__ import annotations

from collections.abc import Mapping
from functools import wraps
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import urlencode
from uuid import UUID

from flask import Response, request

from service.api.exchange.bodies import JSON
from service.api.exchange.documented import View
from service.api.failures.problems import PROBLEM_JSON, STATUS
from service.api.work.links import NoteLinks
from service.core.errors import RecordMissing, Refusal
from service.documents.rendering.answer_words import Unkept
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.link_page import NoNote
from service.usecases.notes.note_links import NoteLinkEnded
from service.usecases.notes.show_note import (
    PAGE_POLICY,
    PageLinks,
    ShownNote,
    ShowNote,
    link_page,
    note_page,
)

HTML: Final = "text/html"
FORM: Final = "application/x-www-form-urlencoded"
# A link is a key: nothing keeps its answers, and no page learns of it.
SECRET: Final = {"Cache-Control": "no-store", "X-Robots-Tag": "noindex"}


class BehindLinks:
    """Shows people what their link opens, and what can be said where it opens nothing."""

    def __init__(self, *, show_note: ShowNote, links: NoteLinks) -> None:
        """Take the notes and their links."""
        self._show_note = show_note
        self._links = links

    def checked(self, note_id: UUID, signature: str) -> UUID:
        """Return the note's id if the link is true. Raises RecordMissing."""
        if not self._links.holds(note_id, signature):
            raise RecordMissing(record="delivery note", id=note_id)
        return note_id

    def page(
        self,
        shown: ShownNote,
        query: Mapping[str, Any],
        *,
        unkept: Unkept | None = None,
        is_unkept_consent: bool = False,
        status: int = HTTPStatus.OK,
    ) -> Response:
        """Return the page of a note, with a form that could not be kept if there is one."""
        note_id = shown.note.id
        place = f"/notes/{note_id}/{self._links.signature(note_id)}"
        asked = asked_for(query)
        text = note_page(
            shown,
            language=query.get("language"),
            units=query.get("units"),
            links=PageLinks(
                page=self._links.page(note_id),
                pdf=f"{place}.pdf{asked}",
                acknowledgement=f"{place}/acknowledgement{asked}",
                consent=f"{place}/consent{asked}",
                languages={
                    code: place + asked_for({**query, "language": code}) for code in LANGUAGES
                },
            ),
            unkept=unkept,
            is_unkept_consent=is_unkept_consent,
        )
        return _for_reading(text, status)

    def for_people(self, view: View) -> View:
        """Return the view; to a browser it answers its refusals as pages."""

        @wraps(view)
        def enter(**path: Any) -> Any:
            try:
                return view(**path)
            except Refusal as refusal:
                if _is_ours(refusal) or not _by_browser():
                    raise
                return self._told(refusal, **path)

        return enter

    def _told(self, refusal: Refusal, note_id: UUID, signature: str) -> Response:
        """Return what can be said where nothing is shown; a link that is false proves nothing."""
        firm = self._show_note.firm_of(note_id) if self._links.holds(note_id, signature) else None
        return _for_reading(link_page(_why(refusal), firm), STATUS[refusal.code])


def asked_for(query: Mapping[str, Any]) -> str:
    """Return the words that were asked for as they stand in an address."""
    named = {name: str(query[name]) for name in ("language", "units") if query.get(name)}
    return f"?{urlencode(named)}" if named else ""


def _is_ours(refusal: Refusal) -> bool:
    return STATUS[refusal.code] >= HTTPStatus.INTERNAL_SERVER_ERROR


def _by_browser() -> bool:
    """Tell whether a person is asking: by a form, or with a browser."""
    accepted = request.accept_mimetypes.best_match((PROBLEM_JSON, JSON, HTML))
    return request.mimetype == FORM or accepted == HTML


def _why(refusal: Refusal) -> NoNote:
    """Return why a link shows no note."""
    if isinstance(refusal, RecordMissing):
        return NoNote.UNKNOWN
    if isinstance(refusal, NoteLinkEnded):
        return NoNote.WITHDRAWN if refusal.by_firm else NoNote.ENDED
    return NoNote.FAILED


def _for_reading(text: str, status: int) -> Response:
    headers = {**SECRET, "Content-Security-Policy": PAGE_POLICY()}
    return Response(text, status=status, mimetype=HTML, headers=headers)

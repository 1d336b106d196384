"""Show an issued note: as facts and words, as a page, as paper."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from service.core.callers.access import Caller, Own
from service.core.errors import RecordMissing
from service.core.notes import Acknowledgement as Given
from service.core.notes import DeliveryNote
from service.core.permission.consent import Consent, ConsentState
from service.core.places import DisplayUnits
from service.documents.facts.note import Acknowledged
from service.documents.rendering.answer_words import Acknowledgement, Unkept
from service.documents.rendering.further_words import Said, StandingWord
from service.documents.rendering.html_note import content_security_policy, render_html
from service.documents.rendering.json_note import render_json
from service.documents.rendering.link_page import NoNote, render_link_page
from service.documents.rendering.pdf_note import render_pdf
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Asking
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.notes.issue_note import content_of, newest_version
from service.usecases.notes.note_links import refuse_ended
from service.usecases.notes.say_consent import bed_of
from service.usecases.records.own_vehicle import LOADS_OWN, is_own_load

PAGE_POLICY = content_security_policy


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownNote:
    """A note, the units its client reads, and the newest version of its number.

    ``consent`` is what is on record of its bed; None once that is gone, or another client's.
    """

    note: DeliveryNote
    units: DisplayUnits
    newest_id: UUID
    consent: Consent | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteFirm:
    """Whose note a link is of, as it can be reached now, and what is read there."""

    name: str
    phone: str
    language: str


class ShowNote(Asking):
    """Find a note for whoever may see it."""

    def __call__(self, caller: Caller, note_id: UUID) -> ShownNote:
        """Return a note of the caller's firm. Raises RecordMissing, also for another firm's."""
        with self.open_unit_of_work() as unit:
            note = unit.delivery_notes.get(caller.firm_id, note_id)
            if note is not None and not _is_own(unit, caller, note):
                note = None
            return _shown(unit, note, note_id)

    def signed(self, note_id: UUID) -> ShownNote:
        """Return a note to the holder of its signed link. Raises RecordMissing, NoteLinkEnded."""
        with working_for(EveryFirm.CALLERS), self.open_unit_of_work() as unit:
            shown = _shown(unit, unit.delivery_notes.find(note_id), note_id)
        refuse_ended(shown.note, self.clock.now())
        return shown

    def newest(self, note_id: UUID) -> ShownNote:
        """Return the newest version of a note to the holder of its link, as `signed` does."""
        shown = self.signed(note_id)
        return shown if shown.newest_id == note_id else self.signed(shown.newest_id)

    def firm_of(self, note_id: UUID) -> NoteFirm | None:
        """Return the firm of a note, to the holder of its signed link; it needs not open it."""
        with working_for(EveryFirm.CALLERS), self.open_unit_of_work() as unit:
            note = unit.delivery_notes.find(note_id)
            firm = None if note is None else unit.firms.get(note.firm_id)
        if note is None or firm is None:
            return None
        return NoteFirm(name=firm.name, phone=firm.phone, language=note.language)


def _is_own(unit: UnitOfWork, caller: Caller, note: DeliveryNote) -> bool:
    """Return whether a note is the caller's to see: its client's, or of who has its load."""
    if caller.scope is None or caller.scope.id == note.client_id:
        return True
    load = unit.loads.get(note.firm_id, note.load_id)
    own = {**LOADS_OWN, Own.CLIENT: "id"}  # no load is a client's
    return load is not None and is_own_load(unit, caller, load, own, what="read a note")


def _shown(unit: UnitOfWork, note: DeliveryNote | None, note_id: UUID) -> ShownNote:
    if note is None:
        raise RecordMissing(record="delivery note", id=note_id)
    client = unit.clients.get(note.firm_id, note.client_id)
    units = DisplayUnits.METRIC if client is None else client.display_units
    bed = bed_of(unit, note)
    return ShownNote(
        note=note,
        units=units,
        newest_id=newest_version(unit, note).id,
        consent=None if bed is None else bed.consent,
    )


def note_document(
    shown: ShownNote, *, language: str | None, units: str | None
) -> dict[str, object]:
    """Return the note as facts and, in a language, as words.

    Raises
    ------
    LanguageUnknown, DisplayUnitsUnknown
    """
    content = content_of(shown.note)
    found: dict[str, object] = json.loads(
        render_json(content, language=language, units=units or shown.units)
    )
    return found


def note_paper(
    shown: ShownNote, *, language: str | None, units: str | None, paper: str, page_url: str
) -> bytes:
    """Return the note as a PDF of one page.

    Raises
    ------
    LanguageUnknown, PaperUnknown, DisplayUnitsUnknown, NoteNotPrintable
    """
    return render_pdf(
        content_of(shown.note),
        language=language or shown.note.language,
        units=units or shown.units,
        paper=paper,
        page_url=page_url,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PageLinks:
    """Where the page of a note and what belongs to it are."""

    page: str
    pdf: str
    acknowledgement: str
    consent: str
    languages: Mapping[str, str]


def note_page(
    shown: ShownNote,
    *,
    language: str | None,
    units: str | None,
    links: PageLinks,
    unkept: Unkept | None = None,
    is_unkept_consent: bool = False,
) -> str:
    """Return the note as a page of HTML, with the form or with the answer given.

    Parameters
    ----------
    is_unkept_consent
        Whether a word on further deliveries was sent and is not kept.

    Raises
    ------
    LanguageUnknown, DisplayUnitsUnknown
    """
    content = content_of(shown.note)
    given = shown.note.acknowledgement
    answer = None
    if given is not None:
        answer = Acknowledgement(
            answer=Acknowledged(given.receipt.value),
            at=given.received_at.astimezone(content.facts.issued_at.tzinfo),
            signed_by=given.name or "",
            accepted=_accepted(given),
            reason=given.reason,
            remark=given.remark or "",
        )
    return render_html(
        content,
        language=language or shown.note.language,
        units=units or shown.units,
        page_url=links.page,
        pdf_url=links.pdf,
        acknowledge_url=links.acknowledgement,
        acknowledgement=answer,
        unkept=unkept,
        further=_standing(shown, is_faulty=is_unkept_consent),
        further_url=links.consent,
        language_urls=links.languages,
    )


def _standing(shown: ShownNote, *, is_faulty: bool) -> StandingWord | None:
    """Return the client's word on further deliveries; none is asked for of what is called back."""
    consent = shown.consent
    if consent is None or content_of(shown.note).facts.called_back:
        return None
    said = {ConsentState.GIVEN: Said.YES, ConsentState.NOT_ASKED: Said.NOTHING}
    return StandingWord(
        said=said.get(consent.state, Said.NEVER),
        until=consent.expires_on,
        most_kg=consent.mass_per_visit_max_kg,
        is_faulty=is_faulty,
    )


def link_page(why: NoNote, firm: NoteFirm | None) -> str:
    """Return the page behind a link that shows no note."""
    if firm is None:
        return render_link_page(why)
    return render_link_page(why, language=firm.language, firm=firm.name, phone=firm.phone)


def _accepted(given: Given) -> str:
    """Return how much was accepted: in the client's words, or as a share."""
    share = "" if given.accepted_share is None else f"{given.accepted_share:.0%}"
    return given.accepted or share

"""Versions of a load's delivery note: the first, and the next when its facts have changed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from service.core.errors import Refusal
from service.core.loads import Load
from service.core.notes import DeliveryNote
from service.core.places import DestinationKind
from service.core.records import Clock, Identifiers
from service.documents.facts.note import NoteFacts, Replaced
from service.documents.facts.record import facts_as_json, facts_from_json, fingerprint
from service.rules.lookup import Rulebook
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.notes.changes import changes_between
from service.usecases.notes.facts import facts_of
from service.usecases.notes.origins import Parties
from service.usecases.notes.parties import read_parties


@dataclass(frozen=True, kw_only=True, eq=False)
class RenewNote:
    """Issue the next version of a note by itself, where what it says is no longer so."""

    clock: Clock
    identifiers: Identifiers
    rulebook: Rulebook

    def __call__(self, unit: UnitOfWork, load: Load) -> None:
        """Issue it in the transaction that changed the load; nothing where there is no note.

        What was signed stays as it was signed; the next version says what changed.
        """
        if load.destination_kind is not DestinationKind.BED:
            return
        latest = newest_of(unit, load)
        if latest is None:
            return
        now = self.clock.now()
        try:
            note = next_note(
                unit,
                read_parties(unit, load, rulebook=self.rulebook, now=now),
                latest,
                rulebook=self.rulebook,
                now=now,
                note_id=self.identifiers.next_id(),
                language=latest.language,
            )
        except Refusal:
            # A fact is kept though no note can be made of it: whoever asks for one is told why.
            return
        if note is not None:
            unit.delivery_notes.add(note)


def newest_of(unit: UnitOfWork, load: Load) -> DeliveryNote | None:
    """Return the newest version of a load's note, None if it has none."""
    return max(
        unit.delivery_notes.all(load.firm_id, load_id=load.id),
        key=lambda note: note.note_version,
        default=None,
    )


def next_note(
    unit: UnitOfWork,
    parties: Parties,
    latest: DeliveryNote | None,
    *,
    rulebook: Rulebook,
    now: datetime,
    note_id: UUID,
    language: str | None,
) -> DeliveryNote | None:
    """Return the next version of a load's note; None if nothing has changed since the latest."""
    facts = _next_facts(unit, parties, latest, rulebook=rulebook, now=now)
    if facts is None:
        return None
    return DeliveryNote(
        id=note_id,
        firm_id=parties.load.firm_id,
        version=1,
        created_at=now,
        updated_at=now,
        number=facts.number,
        note_version=facts.version,
        replaces_id=latest.id if latest else None,
        load_id=parties.load.id,
        client_id=parties.client.id,
        language=language or parties.client.language,
        issued_at=now,
        content=facts_as_json(facts),
        sha256=fingerprint(facts),
    )


def _next_facts(
    unit: UnitOfWork,
    parties: Parties,
    latest: DeliveryNote | None,
    *,
    rulebook: Rulebook,
    now: datetime,
) -> NoteFacts | None:
    """Return the facts of the next version; None if nothing has changed since the latest."""
    if latest is None:
        year = parties.load.working_day.year
        running = unit.delivery_notes.next_number(parties.load.firm_id, year)
        return facts_of(
            parties,
            number=f"{year}-{running:05d}",
            issued_at=now,
            replaces=None,
            rulebook=rulebook,
        )
    old = facts_from_json(latest.content)
    fresh = facts_of(parties, number=latest.number, issued_at=now, replaces=None, rulebook=rulebook)
    changes = changes_between(old, fresh)
    if not changes:
        return None
    return replace(
        fresh,
        version=latest.note_version + 1,
        replaces=Replaced(version=latest.note_version, changes=changes),
    )

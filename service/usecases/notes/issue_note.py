"""Issue delivery notes, correct them by a new version, and keep what was answered."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

from service.agronomy.estimates.skewed import median_above
from service.core.callers.access import Caller
from service.core.errors import FieldFault, RecordNotUsable, Refusal
from service.core.jobs import JobState
from service.core.loads import OPEN_LOAD_STATES, LoadState, TicketReview
from service.core.notes import Acknowledgement, DeliveryNote, Receipt
from service.core.places import DestinationKind
from service.core.records import Identifiers
from service.documents.composition.compose import compose
from service.documents.composition.content import NoteContent
from service.documents.facts.record import facts_from_json
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import RenewNote, UnitOfWork
from service.usecases.base.staleness import touch_days_from
from service.usecases.base.use_cases import Changing
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.day.body_contents import read_body
from service.usecases.mass_book.keeping import book_load
from service.usecases.notes.answered import (
    answered_otherwise,
    refuse_too_early,
    says_nothing_else,
)
from service.usecases.notes.note_links import behind_link, refuse_ended
from service.usecases.notes.parties import read_parties
from service.usecases.notes.versions import newest_of, next_note
from service.usecases.records.amending import write_over
from service.usecases.records.held.queue_states import follow_brought_on
from service.usecases.records.loads.brought import brought_by, is_called_off, lies_since_before
from service.usecases.records.loads.keep_loads import where_now
from service.usecases.records.loads.said_of_grass import keep_word
from service.usecases.records.own_vehicle import find_load

# A note prints the high end of an estimate in two figures, rounded up: 101 kg as 110 kg.
PRINTED_ABOVE: Final = 1.1
# Of an answer: a share and a mass need not agree.
ONE_OF_BOTH: Final = "Write how much was accepted as a share or as a mass, not as both."


class NoteNotForThisLoad(Refusal):
    """Delivery notes go with loads to a client's bed."""

    code = "note_not_for_this_load"
    sentence = "A delivery note goes with a load to a client's bed; this one is {what}."


class NoteSuperseded(Refusal):
    """A newer version of the note was issued."""

    code = "note_superseded"
    sentence = "Version {newest} of this note was issued since; answer that one."


@dataclass(frozen=True, kw_only=True, eq=False)
class IssueNote(Changing):
    """Issue, read and acknowledge delivery notes."""

    rulebook: Rulebook
    renew_note: RenewNote

    def __call__(
        self,
        caller: Caller,
        load_id: UUID,
        *,
        language: str | None = None,
        identifiers: Identifiers | None = None,
    ) -> DeliveryNote:
        """Issue the note of a load, or its next version if the facts have changed.

        Asked again with nothing changed, the issued note is returned: paper is not
        multiplied.

        Raises
        ------
        RecordMissing, NoteNotForThisLoad
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            load = find_load(unit, caller, load_id)
            if load.destination_kind is not DestinationKind.BED:
                what = f"bound for a {KINDS[load.destination_kind].one}"
                raise NoteNotForThisLoad(what=what)
            if load.state is LoadState.SUPERSEDED:
                raise NoteNotForThisLoad(what=f"no longer planned; {where_now(unit, load)}")
            parties = read_parties(unit, load, rulebook=self.rulebook, now=now)
            if any(job.state is not JobState.MOWN for job in parties.jobs):
                raise NoteNotForThisLoad(what="not cut yet: what is not known can't be promised")
            if load.state in OPEN_LOAD_STATES:
                # The records changed after the plan: nobody is handed a note for this.
                body = read_body(unit, load, rulebook=self.rulebook, now=now, as_planned=True)
                said = [*parties.refusals, *(verdict.sentence for _, verdict in body.refusals)]
                if said:
                    raise NoteNotForThisLoad(what=f"refused by now: {said[0]}")
            latest = newest_of(unit, load)
            note = next_note(
                unit,
                parties,
                latest,
                rulebook=self.rulebook,
                now=now,
                note_id=(identifiers or self.identifiers).next_id(),
                language=language,
            )
            if note is None:
                return latest_or_bug(latest)
            unit.delivery_notes.add(note)
            unit.commit()
        return note

    def acknowledge(
        self,
        note_id: UUID,
        *,
        receipt: Receipt,
        name: str | None = None,
        reason: str | None = None,
        accepted: str | None = None,
        remark: str | None = None,
        accepted_share: float | None = None,
        accepted_mass_kg: float | None = None,
        seen_version: int | None = None,
    ) -> DeliveryNote:
        """Keep what the holder of the signed link answered, once.

        What is refused on its day, all or a part, counts as aboard again whatever was said of the
        load, so that the bed is charged with what stayed and the day is planned around the rest.
        Days later it lies where it was laid until somebody takes it up. A receipt proves arrival,
        not quality.

        Parameters
        ----------
        accepted_share
            Of the load, 0 to 1, both excluded; where a part was accepted.
        accepted_mass_kg
            The same as a mass [kg], in place of a share.
        seen_version
            The version of the note that was read, if it is said.

        Raises
        ------
        RecordMissing, NoteLinkEnded, RecordNotUsable, AlreadyAcknowledged, NoteSuperseded,
        NotBroughtYet, CalledOff
        """
        now = self.clock.now()
        with behind_link(self.open_unit_of_work, note_id, now) as (unit, note):
            accepted_share = _meant_share(note, accepted_share, accepted_mass_kg, seen_version)
            said = Acknowledgement(
                receipt=receipt,
                name=name,
                reason=reason,
                accepted=accepted,
                remark=remark,
                accepted_share=accepted_share,
                received_at=now,
            )
            if note.acknowledgement is not None:
                if says_nothing_else(note.acknowledgement, said):
                    return note
                raise answered_otherwise(unit, note, note.acknowledgement)
            newest = newest_version(unit, note)
            if newest.id != note.id:
                raise NoteSuperseded(newest=newest.note_version)
            refuse_too_early(unit, note, said, now=now)
            answered = replace(note, acknowledgement=said).renewed(now)
            unit.delivery_notes.replace(answered, expected_version=note.version)
            if receipt in {Receipt.REFUSED, Receipt.PART}:
                self._follow(unit, answered)
            unit.commit()
        return answered

    def faults(
        self, note_id: UUID, *, accepted_mass_kg: float | None, seen_version: int | None
    ) -> list[FieldFault]:
        """Return what is wrong with an answer of which not all can be read.

        Raises
        ------
        NoteLinkEnded
        """
        with working_for(EveryFirm.CALLERS), self.open_unit_of_work() as unit:
            note = unit.delivery_notes.find(note_id)
        try:
            if note is not None:
                refuse_ended(note, self.clock.now())
                _meant_share(note, None, accepted_mass_kg, seen_version)
        except RecordNotUsable as refusal:
            return list(refusal.faults)
        return []

    # -- pieces ---------------------------------------------------------------------------

    def _follow(self, unit: UnitOfWork, note: DeliveryNote) -> None:
        """Let the load be what its client says that it is."""
        told = unit.loads.get(note.firm_id, note.load_id)
        said = note.acknowledgement
        load = None if told is None else brought_by(unit, told)
        if told is None or load is None or said is None or is_called_off(unit, load):
            return
        now = self.clock.now()
        # Of what the note said, whatever else a plan has put into the load since.
        taken_kg = (said.accepted_share or 0.0) * told.mass_kg.likely
        part = taken_kg / load.mass_kg.likely if said.receipt is Receipt.PART else 0.0
        if part >= 1.0:
            return
        became: dict[str, Any] = {
            "state": LoadState.PARTLY_REFUSED if part else LoadState.REFUSED,
            "refused_share": 1.0 - part,
            "done_at": load.done_at or now,
            # A ticket is of what was tipped; how much of that stayed, it does not say: it stays on
            # record and counts for nothing.
            "ticket_review": load.ticket_review
            if load.weighed_net is None
            else TicketReview.SET_ASIDE,
        }
        after = replace(
            load,
            **({} if lies_since_before(unit, load, now) else became),
            refusal_reason=said.reason or said.remark or "refused by the client",
        ).renewed(now)
        touch_days_from(unit, firm_id=load.firm_id, day=load.working_day)
        follow_brought_on(unit, after, now)
        why = f"{said.name or 'The client'} answered note {note.number}"
        stamp = self.stamp(now, reason=why)
        write_over(unit, "loads", load, after, stamp)
        book_load(unit, after, self.stamp(now, reason=after.refusal_reason))
        keep_word(
            unit,
            after,
            stamp,
            self.renew_note,
            said_by=said.name or "the client",
            in_own_words=said.reason is None and said.remark is not None,
            rulebook=self.rulebook,
        )


def latest_or_bug(latest: DeliveryNote | None) -> DeliveryNote:
    """Return the note that stands because nothing has changed."""
    if latest is None:
        msg = "a first note always has facts"
        raise RuntimeError(msg)
    return latest


def newest_version(unit: UnitOfWork, note: DeliveryNote) -> DeliveryNote:
    """Return the newest version of a note's number."""
    return max(
        unit.delivery_notes.all(note.firm_id, load_id=note.load_id),
        key=lambda found: found.note_version,
    )


def content_of(note: DeliveryNote) -> NoteContent:
    """Return a kept note as composed content, ready to be put into words."""
    return compose(facts_from_json(note.content))


def share_of_load(content: NoteContent, mass_kg: float, said_share: float | None = None) -> float:
    """Return which share of a note's load a mass is that was accepted, while the rest was not.

    Of the likely mass of an estimated load; where more than that was accepted, of what such a load
    then was, which is more again.

    Raises
    ------
    RecordNotUsable
        If the load was not more than that, or a share is said beside it.
    """
    if said_share is not None:
        raise RecordNotUsable(
            [
                FieldFault(pointer=f"/{name}", detail=ONE_OF_BOTH, code="one_of_these")
                for name in ("accepted_share", "accepted_mass_kg")
            ]
        )
    amount = content.facts.amount
    if amount.weighed is not None:
        likely_kg = most_kg = amount.weighed.net_kg
    elif amount.estimate_kg is not None:
        likely_kg, most_kg = amount.estimate_kg.likely, amount.estimate_kg.high
    else:  # no note is made without the one or the other
        msg = "a note says a mass"
        raise RuntimeError(msg)
    if mass_kg < likely_kg:
        return mass_kg / likely_kg
    if likely_kg < most_kg and mass_kg <= most_kg * PRINTED_ABOVE and amount.estimate_kg:
        return mass_kg / median_above(amount.estimate_kg, mass_kg)
    detail = f"The load on the note is at most {most_kg:.0f} kg; write less than was there."
    raise RecordNotUsable(
        [FieldFault(pointer="/accepted_mass_kg", detail=detail, code="whole_load")]
    )


def _meant_share(
    note: DeliveryNote, share: float | None, mass_kg: float | None, seen_version: int | None
) -> float | None:
    """Return the share that was accepted. Raises RecordNotUsable with all that is wrong."""
    faults: list[FieldFault] = []
    if seen_version not in {None, note.note_version}:
        detail = f"This link is of version {note.note_version}: read it, and answer what it says."
        faults.append(FieldFault(pointer="/version", detail=detail, code="other_version"))
    if mass_kg is not None:
        try:
            share = share_of_load(content_of(note), mass_kg, share)
        except RecordNotUsable as refusal:
            faults += refusal.faults
    if faults:
        raise RecordNotUsable(faults)
    return share

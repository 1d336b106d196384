"""A client's standing word on a bed, said by the link of a note: yes until a day, or no more."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Final
from uuid import UUID

from service.core.errors import FieldFault, RecordMissing, RecordNotUsable, Refusal
from service.core.measures.units import date_words
from service.core.notes import DeliveryNote
from service.core.permission.consent import Consent, ConsentState
from service.core.places import Bed
from service.core.records import Clock
from service.usecases.base.calendar import day_of, find_depot
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Changing
from service.usecases.notes.note_links import behind_link
from service.usecases.records.amending import changed_fields, write_over
from service.usecases.records.follow_places import FollowPlaces

# A client is asked again at least once a year. Common practice, no source.
DAYS_MOST: Final = 366
# What somebody told the firm is not turned into a yes by whoever holds a paper.
ONLY_BY_FIRM: Final = frozenset({ConsentState.REFUSED, ConsentState.WITHDRAWN})


class NotByLink(Refusal):
    """Whoever holds a note's link cannot say yes where the client said no."""

    code = "consent_not_by_link"
    sentence = (
        "It is on record that the client wants no more on this bed. Only the firm can record "
        "otherwise: call {firm}, {phone}."
    )


class SayConsent(Changing):
    """Keep what the holder of a note's link says of further deliveries to its bed.

    It is never wider than what is on record: a no stays a no, and a most stays the most.
    """

    def __call__(
        self,
        note_id: UUID,
        *,
        is_yes: bool,
        name: str,
        expires_on: date | None = None,
        most_kg: float | None = None,
    ) -> Consent:
        """Return the bed's consent as it is now; the same said again changes nothing.

        Parameters
        ----------
        expires_on
            The last day of a yes, which has one.
        most_kg
            The most at a time [kg]; what is on record if left out.

        Raises
        ------
        RecordMissing, NoteLinkEnded, RecordNotUsable, NotByLink
        """
        now = self.clock.now()
        with behind_link(self.open_unit_of_work, note_id, now) as (unit, note):
            bed = bed_of(unit, note)
            if bed is None:
                raise RecordMissing(record="bed", id=note.load_id)
            consent = replace(bed.consent, state=ConsentState.WITHDRAWN)
            if is_yes:
                _refuse_after_no(unit, bed)
                today = _today(unit, note, self.clock)
                consent = _longer(bed.consent, today=today, expires_on=expires_on, most_kg=most_kg)
            new = replace(bed, consent=consent).renewed(now)
            if not changed_fields(bed, new):
                return bed.consent
            faults = list(new.faults_after(bed))
            if faults:
                raise RecordNotUsable(faults)
            stamp = self.stamp(now, reason=f"{name} said so by the link of note {note.number}")
            write_over(unit, "beds", bed, new, stamp)
            FollowPlaces(clock=self.clock, identifiers=self.identifiers)(unit, new)
            unit.commit()
        return consent


def bed_of(unit: UnitOfWork, note: DeliveryNote) -> Bed | None:
    """Return the bed that a note is of; None once it is gone, or another client's."""
    load = unit.loads.get(note.firm_id, note.load_id)
    bed: Bed | None = None if load is None else unit.beds.get(note.firm_id, load.destination_id)
    place = None if bed is None else unit.properties.get(note.firm_id, bed.property_id)
    return bed if place is not None and place.client_id == note.client_id else None


def _today(unit: UnitOfWork, note: DeliveryNote, clock: Clock) -> date:
    load = unit.loads.get(note.firm_id, note.load_id)
    assert load is not None  # noqa: S101 - its bed was found by it
    return day_of(find_depot(unit, note.firm_id, load.depot_id), clock.now())


def _refuse_after_no(unit: UnitOfWork, bed: Bed) -> None:
    if bed.consent.state in ONLY_BY_FIRM:
        firm = unit.firms.get(bed.firm_id)
        name, phone = ("the firm", "-") if firm is None else (firm.name, firm.phone)
        raise NotByLink(firm=name, phone=phone)


def _longer(
    before: Consent, *, today: date, expires_on: date | None, most_kg: float | None
) -> Consent:
    """Return a yes until a day. Raises RecordNotUsable with every fault."""
    # One that is to begin later begins then.
    said_on = before.given_on if before.state is ConsentState.GIVEN else None
    given_on = said_on or today
    first, last = max(given_on, today), today + timedelta(days=DAYS_MOST)
    faults = []
    if expires_on is None or not first <= expires_on <= last:
        since = "today" if first == today else date_words(first)
        detail = f"A yes has its last day: from {since} to {date_words(last)}."
        faults.append(FieldFault(pointer="/expires_on", detail=detail))
    on_record_kg = before.mass_per_visit_max_kg
    if most_kg is not None and on_record_kg is not None and most_kg > on_record_kg:
        detail = f"No more than the most on record, {on_record_kg:g} kg; the firm can change that."
        faults.append(FieldFault(pointer="/mass_per_visit_max_kg", detail=detail))
    least_kg = before.mass_per_visit_min_kg
    if most_kg is not None and least_kg is not None and most_kg < least_kg:
        detail = f"No less than the least on record, {least_kg:g} kg; the firm can change that."
        faults.append(FieldFault(pointer="/mass_per_visit_max_kg", detail=detail))
    if faults:
        raise RecordNotUsable(faults)
    return replace(
        before,
        state=ConsentState.GIVEN,
        given_on=given_on,
        expires_on=expires_on,
        mass_per_visit_max_kg=on_record_kg if most_kg is None else most_kg,
    )

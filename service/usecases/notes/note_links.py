"""How long the signed link of a note opens it, and its end before that."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordMissing, Refusal
from service.core.notes import DeliveryNote
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.use_cases import Changing
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.records.amending import write_over

# A client may look up for two seasons what lies on a bed. Common practice, no source.
LINK_LASTS: Final = timedelta(days=730)


class NoteLinkEnded(Refusal):
    """A link that opened a note once."""

    code = "note_link_ended"
    sentence = "This link has ended. Ask the firm that brought the clippings for the note."

    def __init__(self, *, by_firm: bool) -> None:
        """Keep whether the firm ended it, or it came to its end."""
        self.by_firm = by_firm
        super().__init__()


def refuse_ended(note: DeliveryNote, now: datetime) -> None:
    """Refuse a note to who comes by its link after the link's end. Raises NoteLinkEnded."""
    if note.link_ended_at is not None or now - note.issued_at > LINK_LASTS:
        raise NoteLinkEnded(by_firm=note.link_ended_at is not None)


@contextmanager
def behind_link(
    open_unit: OpenUnitOfWork, note_id: UUID, now: datetime
) -> Iterator[tuple[UnitOfWork, DeliveryNote]]:
    """Yield a unit of a note's firm, and the note, to who comes by its link.

    Raises
    ------
    RecordMissing, NoteLinkEnded
    """
    with working_for(EveryFirm.CALLERS), open_unit() as unit:
        found = unit.delivery_notes.find(note_id)
    if found is None:
        raise RecordMissing(record="delivery note", id=note_id)
    with working_for(found.firm_id), open_unit() as unit:
        note = unit.delivery_notes.get(found.firm_id, note_id) or found
        refuse_ended(note, now)
        yield unit, note


class EndNoteLink(Changing):
    """Make the links of a note useless: who has one now sees no version of it any more."""

    def __call__(self, caller: Caller, note_id: UUID) -> DeliveryNote:
        """Return the note; a link that ended before keeps its first time. Raises RecordMissing."""
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            note = unit.delivery_notes.get(caller.firm_id, note_id)
            if note is None:
                raise RecordMissing(record="delivery note", id=note_id)
            # An earlier version prints the same name and address as a later one.
            for one in unit.delivery_notes.all(caller.firm_id, load_id=note.load_id):
                if one.link_ended_at is None:
                    self._end(unit, caller, one, now)
            unit.commit()
            return unit.delivery_notes.get(caller.firm_id, note_id) or note

    def _end(self, unit: UnitOfWork, caller: Caller, note: DeliveryNote, now: datetime) -> None:
        ended = replace(note, link_ended_at=now).renewed(now)
        stamp = self.stamp(now, caller)
        write_over(unit, "delivery_notes", note, ended, stamp)

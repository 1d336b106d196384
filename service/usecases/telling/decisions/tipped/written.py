"""What clients wrote under their notes: somebody reads it on its day, or takes up what lies."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from service.core.loads import Load
from service.core.notes import Acknowledgement, Receipt
from service.core.places import Bed, DestinationKind
from service.documents.rendering.reader import refusal_words
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.records.loads.brought import (
    brought_by,
    is_called_off,
    waits_to_be_taken_up,
)
from service.usecases.telling.decisions.decision import (
    Decision,
    Urgency,
    Way,
    about_load,
    clock_of_day,
)
from service.usecases.telling.decisions.whom import Whom

REFUSALS: Final = (Receipt.REFUSED, Receipt.PART)
# Of loads so long ago somebody still writes; common practice, no source.
LOOKED_BACK_DAYS: Final = 4
# What was refused lies there until somebody takes it up, but no season; common practice, no source.
LIES_DAYS: Final = 92


def written_by_clients(unit: UnitOfWork, facts: DayFacts, whom: Whom) -> Iterator[Decision]:
    """Yield what was written on a day, or the day before, under notes of the last days.

    Nobody ticks one off: it goes with its days. What was a refusal in own words waits as such.
    """
    day = facts.span.day
    loads = {
        load.id: load
        for load in unit.loads.all(
            facts.depot.firm_id,
            depot_id=facts.depot.id,
            working_day=tuple(day - timedelta(days=ago) for ago in range(LOOKED_BACK_DAYS)),
            destination_kind=DestinationKind.BED,
        )
    }
    if not loads:
        return
    beds = {bed.id: bed for bed in facts.beds}
    notes = unit.delivery_notes.all(
        facts.depot.firm_id, load_id=tuple(loads), answer=tuple(Receipt)
    )
    since = facts.span.start - timedelta(days=1)  # what comes late at night is read in the morning
    for note in notes:
        said, load = note.acknowledgement, loads[note.load_id]
        if said is None or not since <= said.received_at < facts.span.end:
            continue
        is_lost = said.receipt is Receipt.REFUSED and is_called_off(unit, brought_by(unit, load))
        if waits_to_be_taken_up(brought_by(unit, load)):
            continue  # it is told as what lies there, with what was written
        words = said.remark or (refusal_words(said.reason) if is_lost else None)
        if words is None or (words == load.refusal_reason and not is_lost):
            continue
        bed = beds.get(load.destination_id)
        who = said.name or whom.of(bed) or "The client"
        yield Decision(
            code="client_wrote",
            urgency=Urgency.TODAY,
            sentence=(
                f"{who} wrote at {clock_of_day(facts, said.received_at)} under note "
                f'{note.number}: "{words.rstrip(". ")}". Nothing acts on these words by itself.'
            ),
            **about_load(load),
            ways=(
                Way(
                    what="Read the note and its answer",
                    method="GET",
                    href=f"/delivery-notes/{note.id}",
                ),
                Way(
                    what="Say what was seen in the grass (refused, refusal_reason)",
                    method="PATCH",
                    href=f"/loads/{load.id}",
                ),
            ),
        )


def refused_later(unit: UnitOfWork, facts: DayFacts, whom: Whom) -> Iterator[Decision]:
    """Yield what clients refused days after it was laid: it lies there until it is taken up."""
    firm_id = facts.depot.firm_id
    since = facts.span.start - timedelta(days=LIES_DAYS)
    notes = {
        note.load_id: note
        for note in unit.delivery_notes.all(
            firm_id,
            depot_id=facts.depot.id,
            destination_kind=DestinationKind.BED,
            answer=REFUSALS,
        )
        if note.acknowledgement is not None
        and since <= note.acknowledgement.received_at < facts.span.end
    }
    found = unit.loads.get_many(firm_id, sorted(notes)) if notes else {}
    beds = {bed.id: bed for bed in facts.beds}
    for note_of, answered in found.items():
        load, said = brought_by(unit, answered), notes[note_of].acknowledgement
        if said is not None and waits_to_be_taken_up(load):
            yield _lies_refused(facts, load, said, beds.get(load.destination_id), whom)


def _lies_refused(
    facts: DayFacts, load: Load, said: Acknowledgement, bed: Bed | None, whom: Whom
) -> Decision:
    who, asked = said.name or "The client", whom.of(bed)
    share = said.accepted_share
    what = "refused" if share is None else f"took {share:.0%} and refused the rest"
    words = [refusal_words(load.refusal_reason) or "", said.remark or ""]
    because = "; ".join(dict.fromkeys(one.rstrip(". ") for one in words if one))
    where = "a bed" if bed is None else bed.name
    since = clock_of_day(facts, load.done_at or load.arrive_at)
    return Decision(
        code="refused_later",
        urgency=Urgency.TODAY,
        sentence=(
            f"{who} {what} at {clock_of_day(facts, said.received_at)}, of what lies on {where} "
            f"since {since}: {because}. It lies there, and counts as laid, until somebody takes it "
            f"up. Ask {asked or 'them'}, and fetch it or keep that it may stay."
        ),
        **about_load(load),
        ways=(
            Way(
                what="Say that it was taken up (refused), or a part (partly_refused)",
                method="PATCH",
                href=f"/loads/{load.id}",
            ),
            Way(
                what="Say that it may stay (refusal_reason: null), and why",
                method="PATCH",
                href=f"/loads/{load.id}",
            ),
        ),
    )

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
from service.usecases.records.loads.brought import brought_by, is_called_off
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
        if brought_by(unit, load).waits_to_be_taken_up:
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
    """Yield what clients refused after it was laid: it lies there until it is taken up.

    By their notes, or in words that office or crew passed on.
    """
    lies = {
        load.id: load
        for load in facts.turned_away_before
        if load.waits_to_be_taken_up and load.depot_id == facts.depot.id
    }
    if not lies:
        return
    firm_id = facts.depot.firm_id
    notes = unit.delivery_notes.all(
        firm_id,
        depot_id=facts.depot.id,
        destination_kind=DestinationKind.BED,
        answer=REFUSALS,
    )
    answered = unit.loads.get_many(firm_id, sorted({note.load_id for note in notes}))
    said = {brought_by(unit, answered[one.load_id]).id: one.acknowledgement for one in notes}
    beds = {bed.id: bed for bed in facts.beds}
    for load in lies.values():
        yield _lies_refused(facts, load, said.get(load.id), beds.get(load.destination_id), whom)


def _lies_refused(
    facts: DayFacts, load: Load, said: Acknowledgement | None, bed: Bed | None, whom: Whom
) -> Decision:
    asked, share = whom.of(bed), None if said is None else said.accepted_share
    what = "refused" if share is None else f"took {share:.0%} and refused the rest"
    if said is None:
        who = "The client refused afterwards, as was passed on"
    else:
        who = f"{said.name or 'The client'} {what} at {clock_of_day(facts, said.received_at)}"
    words = [refusal_words(load.refusal_reason) or "", (said and said.remark) or ""]
    because = "; ".join(dict.fromkeys(one.rstrip(". ") for one in words if one))
    where = "a bed" if bed is None else bed.name
    since = clock_of_day(facts, load.done_at or load.arrive_at)
    return Decision(
        code="refused_later",
        urgency=Urgency.TODAY,
        sentence=(
            f"{who}, of what lies on {where} since {since}: {because}. It lies there, and counts "
            "as laid, until somebody takes it up; the bed gets nothing more until then. Ask "
            f"{asked or 'them'}, and fetch it or keep that it may stay."
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

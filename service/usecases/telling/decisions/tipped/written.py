"""What clients wrote under their notes: somebody reads it on the day it was written."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from service.core.loads import Load, LoadState
from service.core.notes import Receipt
from service.core.places import DestinationKind
from service.documents.rendering.reader import refusal_words
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.records.loads.keep_loads import successors_of
from service.usecases.telling.decisions.decision import (
    Decision,
    Urgency,
    Way,
    about_load,
    clock_of_day,
)
from service.usecases.telling.decisions.whom import Whom

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
        is_lost = said.receipt is Receipt.REFUSED and _is_gone(unit, load)
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


def _is_gone(unit: UnitOfWork, load: Load) -> bool:
    """Return whether no load brings, or brought, to its bed what a superseded one was of."""
    if load.state is not LoadState.SUPERSEDED:
        return False
    ids = successors_of(unit, [load]).get(load.id, ())
    found = unit.loads.get_many(load.firm_id, sorted(ids)).values()
    return all(one.destination_id != load.destination_id for one in found)

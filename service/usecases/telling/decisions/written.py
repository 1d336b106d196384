"""What clients wrote under their notes: somebody reads it on the day it was written."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from service.core.loads import Load
from service.core.notes import Receipt
from service.core.places import DestinationKind
from service.usecases.base.ports import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import (
    Decision,
    Urgency,
    Way,
    about_load,
    clock_of_day,
)
from service.usecases.telling.decisions.whom import Whom


def written_by_clients(unit: UnitOfWork, facts: DayFacts, whom: Whom) -> Iterator[Decision]:
    """Yield the remarks of a day under notes of that day and the one before.

    Nobody ticks one off: it goes with its day. What was a refusal in own words waits as such.
    """
    before = unit.loads.all(
        facts.depot.firm_id,
        depot_id=facts.depot.id,
        working_day=facts.span.day - timedelta(days=1),
        destination_kind=DestinationKind.BED,
    )
    loads: dict[object, Load] = {
        load.id: load
        for load in (*before, *facts.loads)
        if load.destination_kind is DestinationKind.BED
    }
    if not loads:
        return
    beds = {bed.id: bed for bed in facts.beds}
    notes = unit.delivery_notes.all(
        facts.depot.firm_id, load_id=tuple(loads), answer=tuple(Receipt)
    )
    for note in notes:
        said, load = note.acknowledgement, loads[note.load_id]
        if said is None or said.remark is None or said.remark == load.refusal_reason:
            continue
        if not facts.span.start <= said.received_at < facts.span.end:
            continue
        bed = beds.get(load.destination_id)
        who = said.name or whom.of(bed) or "The client"
        yield Decision(
            code="client_wrote",
            urgency=Urgency.TODAY,
            sentence=(
                f"{who} wrote at {clock_of_day(facts, said.received_at)} under note "
                f'{note.number}: "{said.remark.rstrip(". ")}". Nothing else acts on it.'
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

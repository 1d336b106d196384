"""Who is still to be called of what is recalled."""

from __future__ import annotations

from collections.abc import Iterator

from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way


def calls_to_make(unit: UnitOfWork, facts: DayFacts) -> Iterator[Decision]:
    """Yield each open recall of which somebody is still to be called, with names and numbers."""
    ids = [recall.id for recall in facts.recalls]
    kept = unit.recalls.get_many(facts.depot.firm_id, sorted(ids)) if ids else {}
    for recall in kept.values():
        people = [recall.people[number] for number in recall.still_to_call]
        if not people:
            continue
        names = dict.fromkeys(
            ", ".join(filter(None, [one["name"], one["phone"]])) for one in people
        )
        yield Decision(
            code="recall_to_call",
            urgency=Urgency.NOW,
            sentence=(
                f"Call {' and '.join(names)}, who had what is recalled "
                f"({recall.reason.rstrip('. ')})."
            ),
            ways=(
                Way(
                    what="Say that somebody was called, and what they said",
                    method="POST",
                    href=f"/recalls/{recall.id}/calls",
                ),
                Way(what="End the recall", method="POST", href=f"/recalls/{recall.id}/end"),
            ),
        )

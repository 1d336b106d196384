"""What waits for a word of vehicles that went out on a day before: whether they are back."""

from __future__ import annotations

from collections.abc import Iterator

from service.rules.lookup import Rulebook
from service.usecases.base.calendar import clock_words
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way


def still_out(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield the vehicles that are planned with nothing until somebody says that they are back."""
    for outage in facts.outages:
        if outage.back_at is not None or outage.day >= facts.span.day:
            continue
        name = facts.vehicles[outage.vehicle_id].registration
        since = clock_words(outage.out_since.astimezone(facts.span.zone), day=facts.span.day)
        has_work = any(job.vehicle_id == outage.vehicle_id for job in facts.jobs)
        yield Decision(
            code="vehicle_still_out",
            urgency=Urgency.NOW if has_work else Urgency.TODAY,
            deadline=facts.span.at_clock(facts.depot.shift_starts),
            sentence=(
                f"{name} is on record as out since {since} ({outage.reason.rstrip('. ')}), and "
                "nobody said that it is back. Is it, or when will it be? Until somebody says so it "
                "is planned with nothing."
            ),
            vehicle_id=outage.vehicle_id,
            ways=(
                Way(
                    what="Say when it is, or was, back (back_at)",
                    method="PATCH",
                    href=f"/vehicle-outages/{outage.id}",
                ),
            ),
        )

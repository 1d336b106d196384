"""What waits for a word of vehicles that are out: whether they are back, where no plan tells it."""

from __future__ import annotations

from collections.abc import Iterator

from service.core.crews import VehicleOutage
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import clock_words
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way


def still_out(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield the vehicles that are planned with nothing until somebody says that they are back.

    On a day without a plan those, too, that went out on it, or are back later: no other sentence
    of such a day has them.
    """
    for outage in facts.outages:
        since = clock_words(outage.out_since.astimezone(facts.span.zone), day=facts.span.day)
        if outage.back_at is None and outage.day < facts.span.day:
            yield _asked(facts, outage, since)
        elif facts.previous is None and (outage.back_at is None or outage.back_at > facts.now):
            yield _told(facts, outage, since)


def _asked(facts: DayFacts, outage: VehicleOutage, since: str) -> Decision:
    name = facts.vehicles[outage.vehicle_id].registration
    has_work = any(job.vehicle_id == outage.vehicle_id for job in facts.jobs)
    return Decision(
        code="vehicle_still_out",
        urgency=Urgency.NOW if has_work else Urgency.TODAY,
        deadline=facts.span.at_clock(facts.depot.shift_starts),
        sentence=(
            f"{name} is on record as out since {since} ({outage.reason.rstrip('. ')}), and "
            "nobody said that it is back. Is it, or when will it be? Until somebody says so it "
            "is planned with nothing."
        ),
        vehicle_id=outage.vehicle_id,
        ways=(_back(outage),),
    )


def _told(facts: DayFacts, outage: VehicleOutage, since: str) -> Decision:
    name = facts.vehicles[outage.vehicle_id].registration
    back_at = outage.back_at and outage.back_at.astimezone(facts.span.zone)
    until = f" to {clock_words(back_at, day=facts.span.day)}" if back_at else " on"
    return Decision(
        code="vehicle_out",
        urgency=Urgency.TODAY,
        sentence=(
            f"{name} is out from {since}{until} ({outage.reason.rstrip('. ')}). Nothing is planned "
            "for this day."
        ),
        vehicle_id=outage.vehicle_id,
        ways=(_back(outage),),
    )


def _back(outage: VehicleOutage) -> Way:
    href = f"/vehicle-outages/{outage.id}"
    return Way(what="Say when it is, or was, back (back_at)", method="PATCH", href=href)

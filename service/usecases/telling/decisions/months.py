"""Clients who have got what they take in a month: nothing more is planned until they say so."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Final

from service.core.measures.units import date_words
from service.core.permission.consent import ConsentState
from service.core.places import Bed, DestinationKind
from service.destinations.beds.monthly import WINDOW_DAYS, brought_in_month_kg
from service.destinations.laid.ledger import TakenToday
from service.usecases.day.facts import DayFacts
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.telling.decisions.decision import Decision, Urgency, Way
from service.usecases.telling.decisions.whom import Whom

# What is left then is no visit's worth. Common practice, no source.
NEARLY_ALL: Final = 0.9


def months_reached(facts: DayFacts, whom: Whom) -> Iterator[Decision]:
    """Yield the beds that got nearly all that their clients take in a month, or more."""
    for bed in facts.beds:
        most_kg = bed.consent.mass_per_month_max_kg
        if most_kg is None or bed.consent.state is not ConsentState.GIVEN:
            continue
        loads = [
            load
            for load in facts.spoken_for
            if load.destination_id == bed.id and load.state in TIPPED_STATES
        ]
        taken = TakenToday.by(loads, facts.known_jobs)
        brought_kg = brought_in_month_kg(facts.ledgers[bed.id], taken, facts.span.day)
        if brought_kg < NEARLY_ALL * most_kg:
            continue
        own = (
            f"{bed.name} got {brought_kg:.0f} kg of the {most_kg:g} kg that its client takes in a "
            f"month; the first of it is a month old on {date_words(_again_on(facts, bed))}."
        )
        yield Decision(
            code="consent_month_reached",
            urgency=Urgency.SOON,
            sentence=(
                f"{own} Until then no more than the rest is planned. Ask "
                f"{whom.of(bed) or 'the client'} whether more may be brought, and keep it."
            ),
            own=own,
            destination_kind=DestinationKind.BED,
            destination_id=bed.id,
            ways=(
                Way(
                    what=f"Keep what is said of {bed.name}",
                    method="PATCH",
                    href=f"/beds/{bed.id}",
                ),
            ),
        )


def _again_on(facts: DayFacts, bed: Bed) -> date:
    """Return the day on which the first layer of the month no longer counts."""
    day = facts.span.day
    ages = [(day - layer.day).days for layer in facts.ledgers[bed.id].layers]
    oldest = max((age for age in ages if 0 <= age <= WINDOW_DAYS), default=0)
    return day + timedelta(days=WINDOW_DAYS + 1 - oldest)

"""How long what lies in a bay keeps, by the records of now, and how far it has gone by now."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from service.destinations.freshness import keeping_time
from service.destinations.keeping import HeldHeap
from service.rules.lookup import Rulebook
from service.usecases.base.held_grass import HeldGrass
from service.usecases.day.facts import DayFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldClock:
    """When held clippings are to be looked at, and when they count as sour: of their worst lot."""

    amber_at: datetime
    red_at: datetime


def clock_of(grass: HeldGrass, facts: DayFacts, *, rulebook: Rulebook) -> HeldClock:
    """Return the clock of an entry: an amended job, its wetness say, moves it."""
    clocks = [
        (
            job.at,
            keeping_time(
                job.wetness,
                rulebook=rulebook,
                day=facts.span.day,
                jurisdiction=facts.depot.jurisdiction,
            ),
        )
        for job in grass.jobs
    ]
    return HeldClock(
        amber_at=min(at + keeps.amber for at, keeps in clocks),
        red_at=min(at + keeps.red for at, keeps in clocks),
    )


def heap_of(grass: HeldGrass, facts: DayFacts, *, rulebook: Rulebook) -> HeldHeap:
    """Return what destinations may know of an entry as a heap, by the clock of now."""
    red_at = clock_of(grass, facts, rulebook=rulebook).red_at
    return HeldHeap(entry_id=grass.entry.id, sour_since=red_at if red_at <= facts.now else None)

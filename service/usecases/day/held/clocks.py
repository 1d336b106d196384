"""How long what lies in a bay keeps, by the records of now, and how far it has gone by now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from service.core.materials import Wetness
from service.destinations.freshness import keeping_time
from service.destinations.heaps import KEPT_AWAY, danger_reason, heap_level, hottest_of_last
from service.destinations.keeping import HeldHeap
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import clock_words
from service.usecases.base.lots.held_grass import HeldGrass
from service.usecases.day.facts import DayFacts


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldClock:
    """Of held clippings the first cut, when they are to be looked at, and when they are sour.

    Of their worst lot.
    """

    cut_at: datetime
    amber_at: datetime
    red_at: datetime


def clock_of(grass: HeldGrass, facts: DayFacts, *, rulebook: Rulebook) -> HeldClock:
    """Return the clock of an entry: an amended job, its wetness say, moves it."""
    return clock_of_cuts([(job.at, job.wetness) for job in grass.jobs], here=facts.rules(rulebook))


def clock_of_cuts(cuts: Iterable[tuple[datetime, Wetness]], *, here: RulesHere) -> HeldClock:
    """Return the clock of what was cut at some times, so wet: that of the worst."""
    clocks = [(at, keeping_time(wetness, here=here)) for at, wetness in cuts]
    return HeldClock(
        cut_at=min(at for at, _ in clocks),
        amber_at=min(at + keeps.amber for at, keeps in clocks),
        red_at=min(at + keeps.red for at, keeps in clocks),
    )


def heap_of(grass: HeldGrass, facts: DayFacts, *, rulebook: Rulebook) -> HeldHeap:
    """Return what destinations may know of an entry as a heap: its clock, what was measured."""
    red_at = clock_of(grass, facts, rulebook=rulebook).red_at
    reading = hottest_of_last(grass.entry)
    temperature_c = None if reading is None else reading.temperature_c
    return HeldHeap(
        entry_id=grass.entry.id,
        sour_since=red_at if red_at <= facts.now else None,
        temperature_c=temperature_c,
        is_aboard=any(one.entry.id == grass.entry.id for one in facts.loaded),
        level=None
        if temperature_c is None
        else heap_level(temperature_c, here=facts.rules(rulebook)),
    )


def too_hot_to_load(grass: HeldGrass, facts: DayFacts, *, rulebook: Rulebook) -> str | None:
    """Return why nobody is sent to load of a heap, with the degrees and the hour; None if one is.

    People keep away from it until it is measured again, and has cooled.
    """
    reading = hottest_of_last(grass.entry)
    if reading is None or heap_of(grass, facts, rulebook=rulebook).level not in KEPT_AWAY:
        return None
    cool = facts.rules(rulebook).row("heap_hot_c", level="hot")
    at = clock_words(reading.at.astimezone(facts.span.zone), day=facts.span.day)
    return (
        f"Nothing of it is planned to be loaded: {reading.temperature_c:g} C at {at}. It is "
        f"planned again once it is measured below {cool.value:g} C."
    )


def heat_reason(grass: HeldGrass, facts: DayFacts, *, rulebook: Rulebook) -> tuple[str, str] | None:
    """Return the code and the sentence of why a heap is left for its heat; None if it is not."""
    left = too_hot_to_load(grass, facts, rulebook=rulebook)
    if left is None:
        return None
    danger = danger_reason(heap_of(grass, facts, rulebook=rulebook))
    return ("held_hot", left) if danger is None else (danger.code, f"{danger.sentence} {left}")

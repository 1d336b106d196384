"""The hold queue as it is now: what may leave, who takes it, when it is asked again, its clock."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.loads import HeapTemperature, Load
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.destinations.heaps import KEPT_AWAY, heap_level, hottest_of_last
from service.destinations.verdicts import whole_kg
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import clock_words
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.use_cases import Looking
from service.usecases.day.asking import ask_held
from service.usecases.day.bodies.composition import cargo_of
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.held.answers import HeldAnswer, answer_on, first_days_taken
from service.usecases.day.held.clocks import HeldClock, clock_of, heat_reason
from service.usecases.day.planned_day import named, range_of
from service.usecases.day.reading.read_day import read_today
from service.usecases.telling.held.steps import (
    CAUTION,
    CLOCK_STEPS,
    HEAT_FIRST,
    HEAT_STEPS,
    HEAT_WORDS,
)
from service.usecases.telling.told.forms import Range, plain
from service.usecases.telling.told.held import (
    EscalationTold,
    HeatTold,
    HeldTold,
    HoldQueueTold,
    OfferTold,
    Reason,
    TakerTold,
)
from service.usecases.telling.unplaced.landfill import landfill_words
from service.usecases.telling.warnings.bays import bays_told

TAKERS_TOLD = 5
BROUGHT_ON = "brought_on"
COUNTED_TO_THE_CUT = "That is counted to the cut: lying on a heap does not end it."
FEED_CAUTION = (
    "Only from clean clippings. Keep children and animals away from the steep, keep it from drains "
    "and water, do not pour it on leaves that are eaten, and wash hands afterwards."
)


@dataclass(frozen=True, kw_only=True, eq=False)
class TellHoldQueue(Looking):
    """Tells a depot's hold queue by the records of now."""

    rulebook: Rulebook

    def __call__(self, caller: Caller, depot_id: UUID) -> dict[str, object]:
        """Return what lies in the depot's bays, JSON-ready, what presses first.

        Raises
        ------
        RecordMissing
        """
        now = self.clock.now()
        with self.open_reading() as unit:
            facts = read_today(unit, caller.firm_id, depot_id, now=now)
        asked = ask_held(facts, rulebook=self.rulebook)
        queue = QueueTeller(facts, asked, facts.planned_loads, rulebook=self.rulebook)
        told: dict[str, object] = plain(
            HoldQueueTold(
                depot_id=depot_id,
                day=facts.span.day,
                entries=tuple(queue.entries()),
                bays=bays_told(facts),
                rulebook_version=self.rulebook.version,
            )
        )
        return told


class QueueTeller:
    """Tells what lies in a depot's bays on a day."""

    def __init__(
        self,
        facts: DayFacts,
        asked: Asked,
        planned: Sequence[Load],
        *,
        rulebook: Rulebook,
        stays: Mapping[UUID, str] | None = None,
    ) -> None:
        """Take the day, its answers, its planned loads and why some entries are not among them."""
        self._facts, self._asked, self._rulebook = facts, asked, rulebook
        self._stays = stays or {}
        self._planned: dict[UUID, list[Load]] = {}
        for load in planned:
            for entry_id in dict.fromkeys(p.hold_entry_id for p in load.parts if p.hold_entry_id):
                self._planned.setdefault(entry_id, []).append(load)
        self._answers = [
            answer_on(grass, asked, heat=heat_reason(grass, facts, rulebook=rulebook))
            for grass in facts.held
        ]
        self._next = first_days_taken(
            [one.grass for one in self._answers if not one.is_hot and not one.takers],
            facts,
            asked.lots,
            rulebook=rulebook,
        )

    def entries(self) -> list[HeldTold]:
        """Return the entries, those whose clock is furthest first."""
        clocks = {
            answer.grass.entry.id: clock_of(answer.grass, self._facts, rulebook=self._rulebook)
            for answer in self._answers
        }
        ordered = sorted(
            self._answers,
            key=lambda answer: (clocks[answer.grass.entry.id].red_at, answer.grass.entry.id),
        )
        return [self._entry(answer, clocks[answer.grass.entry.id]) for answer in ordered]

    def warnings(self) -> list[dict[str, object]]:
        """Return what a dispatcher must know of the bays on the day."""
        found: list[dict[str, object]] = []
        for told in self.entries():
            about = {
                "vehicle_id": None,
                "hold_entry_id": str(told.hold_entry_id),
                "lot_codes": list(told.lot_codes),
            }
            pressing = told.escalation
            if pressing is not None:
                why = " ".join([pressing.sentence, *pressing.steps])
                found.append({**about, "code": f"held_{pressing.level}", "why": why})
            heat = told.heat
            if heat is not None and heat.level not in {None, "warm"}:
                stays = () if told.stays is None else (told.stays,)
                why = " ".join([heat.sentence, *heat.steps, *stays, heat.caution])
                found.append({**about, "code": "held_hot", "why": why})
            elif told.stays is not None:
                found.append({**about, "code": "held_stays", "why": told.stays})
        return found

    def _entry(self, answer: HeldAnswer, clock: HeldClock) -> HeldTold:
        grass, entry = answer.grass, answer.grass.entry
        cargo = cargo_of(list(zip(grass.lot_ids, grass.shares, strict=True)), self._asked.lots)
        planned = self._planned.get(entry.id, ())
        onward = [load for load in planned if not is_hold(load.destination_kind)]
        too_hot = answer.why[1] if answer.is_hot and answer.takers else None
        stays = self._stays.get(entry.id) or too_hot
        goes = bool(onward) and answer.releasable and stays is None
        code, sentence = self._brought_on(onward) if goes else answer.why
        if code == "treatment_wait":
            sentence = f"{sentence} {COUNTED_TO_THE_CUT}"
        again_on, then = self._again(answer)
        names = {bay.id: bay.name for bay in self._facts.places[DestinationKind.HOLD_BAY]}
        return HeldTold(
            hold_entry_id=entry.id,
            hold_bay_id=entry.hold_bay_id,
            hold_bay=names[entry.hold_bay_id],
            lot_codes=tuple(job.lot_code for job in grass.jobs),
            status=answer.status,
            mass_kg=Range(**range_of(cargo.mass_kg)),
            volume_l=Range(**range_of(cargo.volume_m3.scaled(1000.0, unit="L"))),
            held_since=None if entry.held_since is None else self._local(entry.held_since),
            held_for=Reason(code=entry.reason_code, sentence=entry.reason),
            releasable=answer.releasable,
            why=Reason(code=code, sentence=sentence),
            takers=tuple(
                TakerTold(**named(ready), accepted_kg=whole_kg(verdict.accepted_kg))
                for ready, verdict in answer.takers[:TAKERS_TOLD]
            ),
            asks_again_on=again_on,
            then=then,
            amber_at=self._local(clock.amber_at),
            red_at=self._local(clock.red_at),
            escalation=self._escalation(clock, answer),
            heat=self._heat(answer),
            offers=tuple(self._offers(answer, cargo.mass_kg.likely)),
            load_ids=tuple(load.id for load in planned),
            stays=stays,
        )

    def _brought_on(self, loads: Sequence[Load]) -> tuple[str, str]:
        """Return that the day's plan has it brought on, and where to."""
        names = dict.fromkeys(self._asked.by_id[load.destination_id].name for load in loads)
        return BROUGHT_ON, f"By the plan it is brought on today: to {', '.join(names)}."

    def _again(self, answer: HeldAnswer) -> tuple[date, str | None]:
        """Return on which day it is asked again, and who takes it then by the records of now.

        What is recorded meanwhile is asked about at once; the day is when nothing is.
        """
        today = self._facts.span.day
        if answer.releasable:
            return today, answer.takers[0][0].name
        found = self._next.get(answer.grass.entry.id)
        return (today + timedelta(days=1), None) if found is None else found

    def _escalation(self, clock: HeldClock, answer: HeldAnswer) -> EscalationTold | None:
        """Return how far the clock has gone, what is to be done, and a caution; None before."""
        now = self._facts.now
        if now < clock.amber_at:
            return None
        is_red = now >= clock.red_at
        since = clock.red_at if is_red else clock.amber_at
        what = "has counted as sour since" if is_red else "began to turn at"
        level: Final = "red" if is_red else "amber"
        return EscalationTold(
            level=level,
            since=self._local(since),
            sentence=f"What is held {what} {self._clock(since)}.",
            steps=(*(self._ways_on(answer) if is_red else ()), *self._by_the_clock(level, answer)),
            caution=CAUTION,
        )

    def _by_the_clock(self, level: str, answer: HeldAnswer) -> tuple[str, ...]:
        """Return what the clock asks for; nobody turns or spreads what is too hot to stand by."""
        reading = hottest_of_last(answer.grass.entry)
        if reading is not None and self._level(reading) in KEPT_AWAY:
            return (HEAT_FIRST,)
        return CLOCK_STEPS[level]

    def _ways_on(self, answer: HeldAnswer) -> list[str]:
        """Return who takes what has turned; where nobody does, what is in the way and who may."""
        if answer.releasable:
            return [f"Bring it to {answer.takers[0][0].name}, which takes it now."]
        if answer.is_hot:
            return [answer.why[1]]
        if answer.status is LotStatus.LITTERED:
            why = "Sort the litter out first: no bed or site takes it with litter in it."
        else:
            why = f"No bed or site takes it now. {answer.why[1]}"
        landfill = landfill_words(self._facts.rules(self._rulebook))
        return [why, landfill]

    def _heat(self, answer: HeldAnswer) -> HeatTold | None:
        """Return what was measured last and what is to be done about it; None if nobody did."""
        reading = hottest_of_last(answer.grass.entry)
        if reading is None:
            return None
        level = self._level(reading)
        return HeatTold(
            temperature_c=reading.temperature_c,
            depth_mm=reading.depth_mm,
            at=self._local(reading.at),
            measured_by=reading.measured_by,
            level=level,
            sentence=(
                f"{reading.temperature_c:g} C were measured at {reading.depth_mm:g} mm by "
                f"{reading.measured_by}, {self._clock(reading.at)}."
                f"{self._rise(reading, hottest_of_last(answer.grass.entry, before=reading))}"
            ),
            steps=() if level is None else tuple(HEAT_STEPS[level]),
            caution=CAUTION,
        )

    def _rise(self, reading: HeapTemperature, before: HeapTemperature | None) -> str:
        """Return how much hotter or cooler a heap was the time before, and what it was called."""
        if before is None or before.temperature_c == reading.temperature_c:
            return ""
        how = "rose" if before.temperature_c < reading.temperature_c else "fell"
        was, is_now = (HEAT_WORDS[self._level(one)] for one in (before, reading))
        levels = f", from {was} to {is_now}" if was != is_now else f" and is {is_now} still"
        at = self._clock(before.at)
        return f" It {how} from {before.temperature_c:g} C at {at}{levels}."

    def _level(self, reading: HeapTemperature) -> str | None:
        return heap_level(reading.temperature_c, here=self._facts.rules(self._rulebook))

    def _offers(self, answer: HeldAnswer, mass_kg: float) -> Iterator[OfferTold]:
        """Yield where surplus may go that no bed takes: sites; a liquid feed, if it is clean.

        Nobody fetches of a hot heap.
        """
        if answer.is_hot or any(ready.kind is DestinationKind.BED for ready, _ in answer.takers):
            return
        for ready, verdict in answer.takers[:TAKERS_TOLD]:
            yield OfferTold(
                use=ready.kind.value,
                destination_kind=ready.kind.value,
                destination_id=ready.id,
                name=ready.name,
                accepted_kg=whole_kg(verdict.accepted_kg),
                mass_kg=min(round(mass_kg), whole_kg(verdict.accepted_kg)),
                sentence=f"{ready.name}: {verdict.sentence}",
            )
        if answer.status is LotStatus.CLEAN:
            yield self._feed(mass_kg)

    def _feed(self, mass_kg: float) -> OfferTold:
        ratio = feed_kg_per_l(self._facts, rulebook=self._rulebook)
        water_l = mass_kg / ratio
        return OfferTold(
            use="liquid_feed",
            mass_kg=round(mass_kg),
            water_l=round(water_l),
            sentence=(
                f"As liquid feed: {10 * ratio:g} kg of fresh clippings in 10 L of water (common "
                f"practice, no source); all of it would make {water_l:.0f} L. Take what is wanted."
            ),
            caution=FEED_CAUTION,
        )

    def _local(self, at: datetime) -> datetime:
        return at.astimezone(self._facts.span.zone)

    def _clock(self, at: datetime) -> str:
        span = self._facts.span
        return clock_words(at.astimezone(span.zone), day=span.day)


def feed_kg_per_l(facts: DayFacts, *, rulebook: Rulebook) -> float:
    """Return how much fresh clippings go into a litre of water for a liquid feed."""
    rule = facts.rules(rulebook).row("feed_clippings_kg_per_litre")
    return rule.value

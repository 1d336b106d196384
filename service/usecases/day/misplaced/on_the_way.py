"""Loads that set off to a place that, by what is known now, does not take all that is in them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil
from uuid import UUID

from service.core.loads import Load
from service.core.plans import Verdict
from service.destinations.laid.tipped import WHOLE_KG
from service.destinations.ready import ReadyDestination
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import is_hold
from service.usecases.day.asking import held_lots, lot_of
from service.usecases.day.destinations import Asked, TurnedAway, ask_all, ready_destinations
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import recall_of, with_freezes
from service.usecases.day.overrides import with_overrides


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedOnTheWay:
    """A load under way that its place does not take by now, or not all of it.

    Attributes
    ----------
    ready
        Where it is going.
    verdict
        What the place says to what it likes least of the load.
    room_kg
        What fits there of it; 0 where it is not to be tipped there at all.
    other
        A place that takes the rest of it now; None if none does.
    """

    load: Load
    ready: ReadyDestination
    verdict: Verdict
    room_kg: float
    other: ReadyDestination | None

    @property
    def share(self) -> float:
        """Return how much of it may be tipped there: if it is as heavy as it may be."""
        return self.room_kg / self.load.mass_kg.high


def refused_on_the_way(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[RefusedOnTheWay]:
    """Yield the loads of a day that are under way to where not all of it may be tipped any more.

    They are asked about as a plan asks, by the records of now. Of those on their way to one place
    the first that comes has its room.
    """
    going = [load for vehicle_id in facts.vehicles for load in facts.on_its_way(vehicle_id)]
    if not going:
        return
    asked = _asked(facts, going, rulebook=rulebook)
    first_kg: dict[UUID, float] = defaultdict(float)
    for load in sorted(going, key=lambda one: (one.arrive_at, one.id)):
        lot_ids = [part.lot_id for part in load.parts if part.lot_id in asked.lots]
        ready = asked.by_id.get(load.destination_id)
        if ready is None or not lot_ids:
            continue
        said = asked.of_mixture(lot_ids)
        verdict = said[asked.position[ready.id]]
        room_kg = verdict.accepted_kg - first_kg[ready.id]
        first_kg[ready.id] += load.mass_kg.high
        # Of lots that are recalled their crew is told what to do with them, wherever they go.
        jobs = {part.job_id for part in load.parts}
        is_recalled = recall_of(facts.recalls, place_id=None, job_ids=jobs) is not None
        if is_recalled or load.mass_kg.high <= max(room_kg, 0.0) + WHOLE_KG:
            continue
        found = RefusedOnTheWay(
            load=load,
            ready=ready,
            verdict=verdict,
            room_kg=room_kg if room_kg >= WHOLE_KG else 0.0,
            other=None,
        )
        yield replace(found, other=_other(facts, asked, found, said))


def _asked(facts: DayFacts, going: Sequence[Load], *, rulebook: Rulebook) -> Asked:
    jobs = facts.known_jobs
    ids = {part.job_id for load in going for part in load.parts} & jobs.keys()
    lots = held_lots(facts, rulebook=rulebook) | {
        job_id: lot_of(jobs[job_id], facts, rulebook=rulebook)
        for job_id in sorted(ids)
        if jobs[job_id].estimate is not None
    }
    own = {load.id for load in going}
    others = replace(facts, loads=tuple(load for load in facts.loads if load.id not in own))
    asked = ask_all(
        lots, ready_destinations(others, rulebook=rulebook), turned_away=TurnedAway.on(facts)
    )
    # What was set aside for a load holds until it is tipped.
    asked = with_overrides(asked, [replace(load, locked=True) for load in going])
    return with_freezes(asked, facts.recalls)


def _other(
    facts: DayFacts, asked: Asked, found: RefusedOnTheWay, said: Sequence[Verdict]
) -> ReadyDestination | None:
    """Return where else the rest may go now: as the plan had it, or a bay, or whoever takes it."""
    load, now_s = found.load, facts.span.second(facts.now)
    rest_kg = load.mass_kg.scaled(1.0 - found.share, unit="kg")
    runners_up: object = load.explanation.get("runner_up")
    named = [one["destination_id"] for one in runners_up] if isinstance(runners_up, list) else []

    def rank(ready: ReadyDestination) -> tuple[int, bool, int]:
        key = str(ready.id)
        planned = named.index(key) if key in named else len(named)
        return planned, not is_hold(ready.kind), asked.position[ready.id]

    for ready in sorted(asked.destinations, key=rank):
        room_kg = said[asked.position[ready.id]].accepted_kg - _promised_kg(facts, ready.id, load)
        if (
            ready.id != load.destination_id
            and ceil(rest_kg.high) <= room_kg
            and ready.too_little(rest_kg) is None
            and ready.is_open(now_s)
            and ready.shut_at(facts.now) is None
        ):
            return ready
    return None


def _promised_kg(facts: DayFacts, place_id: UUID, load: Load) -> float:
    """Return what is planned or on its way to a place, beside a load."""
    return sum(
        one.mass_kg.high
        for one in (*facts.planned_loads, *facts.under_way)
        if one.destination_id == place_id and one.id != load.id
    )

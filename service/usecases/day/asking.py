"""Every lot of a day, and what every destination says to it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from service.core.jobs import Job
from service.core.loads import Load
from service.core.plans import Ground, Verdict
from service.destinations.beds.cautions import REFUSAL as GRAZING_REFUSAL
from service.destinations.lots import as_known
from service.destinations.ready import ReadyDestination
from service.destinations.verdicts import Lot
from service.rules.lookup import Rulebook
from service.usecases.day.destinations import Asked, TurnedAway, ask_all, ready_destinations
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import with_freezes
from service.usecases.day.held.clocks import heap_of
from service.usecases.day.overrides import said_of, with_overrides
from service.usecases.day.told_routing import ToldDay


def ask_day(facts: DayFacts, *, rulebook: Rulebook) -> Asked:
    """Return every lot of the day, by today's records, and every destination's answer.

    Asked is, too, what lay in the body of a vehicle that stands: the rest is mixed with it. And
    what lies in hold bays, by the records of now.
    """
    told = ToldDay.of(facts.previous)
    lay = {
        job_id
        for vehicle_id in facts.vehicles
        if facts.stands(vehicle_id)
        for job_id in told.lay_in(vehicle_id)
    }
    lots = held_lots(facts, rulebook=rulebook) | {
        job.id: lot_of(job, facts, rulebook=rulebook)
        for job in (
            *facts.to_be_routed(),
            *(job for job in facts.jobs if job.id in lay and job.estimate),
        )
    }
    asked = ask_all(
        lots,
        ready_destinations(facts, rulebook=rulebook),
        turned_away=TurnedAway.on(facts),
    )
    asked = with_overrides(asked, (*facts.planned_loads, *facts.lost_locks))
    return with_freezes(asked, facts.recalls)


def ask_held(facts: DayFacts, *, rulebook: Rulebook, at: datetime | None = None) -> Asked:
    """Return what every destination says to what lies in the depot's bays, and to nothing else.

    Parameters
    ----------
    at
        When they are asked; now if left out.
    """
    asked = ask_all(
        held_lots(facts, rulebook=rulebook),
        ready_destinations(replace(facts, now=at or facts.now), rulebook=rulebook),
        turned_away=TurnedAway.on(facts),
    )
    return with_freezes(asked, facts.recalls)


def held_lots(facts: DayFacts, *, rulebook: Rulebook) -> dict[UUID, Lot]:
    """Return the lots that lie in the depot's bays, or came out of them into bodies, by ids."""
    found = (
        replace(
            # Of a heap in a bay its own clock tells whether it is sour.
            lot_of(job, facts, rulebook=rulebook, at=job.at),
            held=heap_of(grass, facts, rulebook=rulebook),
        )
        for grass in (*facts.held, *facts.loaded)
        for job in grass.jobs
    )
    return {lot.id: lot for lot in found}


def lot_of(job: Job, facts: DayFacts, *, rulebook: Rulebook, at: datetime | None = None) -> Lot:
    """Return a job's lot by today's records: a treatment stated late counts.

    Without a moment it is asked about as it will be when it can be tipped at the earliest. What a
    label asks for is counted to the cut: grass does not wait it out on a heap.
    """
    return facts.lot_facts.lot_of(job, rulebook=rulebook, at=at or facts.tips_from)


def refusals_now(
    load: Load,
    jobs: Mapping[UUID, Job],
    facts: DayFacts,
    ready: ReadyDestination | None,
    *,
    rulebook: Rulebook,
) -> list[Verdict]:
    """Return why a load that was tipped would not go there by the records of now."""
    if ready is None:
        return []
    at = load.done_at or facts.now
    return [
        verdict
        for part in load.parts
        if (job := jobs.get(part.job_id)) is not None and job.estimate is not None
        for verdict in [
            said_of(
                load,
                lot_of(as_known(job, at), facts, rulebook=rulebook, at=at),
                ready.destination,
            )
        ]
        # The rest is the day of the place; but animals are called about whenever they are known of.
        if verdict.ground in {Ground.LOT, Ground.PAIR} or verdict.code == GRAZING_REFUSAL
    ]


def ready_at(
    facts: DayFacts, place_ids: Collection[UUID], *, rulebook: Rulebook
) -> dict[UUID, ReadyDestination]:
    """Return some places as they are ready by the records of now, by their ids."""
    there = {
        kind: tuple(one for one in places if one.id in place_ids)
        for kind, places in facts.places.items()
    }
    ready = ready_destinations(replace(facts, places=there), rulebook=rulebook)
    return {one.id: one for one in ready}

"""What is aboard and has to be tipped: what was sent away, and what begins to turn."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.loads import Load, LoadState
from service.destinations.freshness import keeping_time
from service.documents.rendering.reader import refusal_code, refusal_words
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.records.loads.said_of_grass import said_of
from service.usecases.telling.decisions.decision import (
    TIP,
    Decision,
    Urgency,
    Way,
    about_load,
    at_load,
    clock_of_day,
)
from service.usecases.telling.decisions.whom import Whom
from service.usecases.telling.warnings.turned_away import TURNED_AWAY, still_aboard

NOT_SAID: Final = " Nobody has said yet whether that is of the grass: ask, and say what was seen."


@dataclass(frozen=True, slots=True)
class Turning:
    """What in one body begins to turn, and when the first of it counts as sour."""

    lot_codes: tuple[str, ...]
    sour_at: datetime


def must_be_tipped(facts: DayFacts, rulebook: Rulebook, whom: Whom) -> Iterator[Decision]:
    """Yield the loads that were not taken, and the bodies that turn; of one body only the first."""
    turning = _turning(facts, rulebook)
    told: set[str] = set()
    for load in (*facts.fixed_loads, *facts.turned_away_before):
        aboard = still_aboard(facts, load) if _was_sent_away(facts, load) else ()
        if aboard:
            told.update(aboard)
            yield _turned_away(facts, whom, load, tuple(aboard), turning.get(load.vehicle_id))
    for vehicle_id, found in turning.items():
        if not told.issuperset(found.lot_codes):
            yield _going_sour(facts, vehicle_id, found)


def _was_sent_away(facts: DayFacts, load: Load) -> bool:
    return load.state in TURNED_AWAY and load.depot_id == facts.depot.id


def _turned_away(
    facts: DayFacts, whom: Whom, load: Load, aboard: tuple[str, ...], turning: Turning | None
) -> Decision:
    """Return who sent what away; one call answers all that one client or site did not take."""
    place = next(
        (one for some in facts.places.values() for one in some if one.id == load.destination_id),
        None,
    )
    name = "Its destination" if place is None else place.name
    share = "" if load.state is LoadState.REFUSED else f"{load.refused_share:.0%} of "
    because = (refusal_words(load.refusal_reason) or "no reason said").rstrip(". ")
    turns = turning is not None and set(turning.lot_codes) <= set(aboard)
    until = (
        f"; what was cut first of them {_sour(facts, turning)}"
        if turning is not None and turns
        else ""
    )
    own = (
        f"{name} did not take {share}{', '.join(aboard)}: {because}. They still count as aboard "
        f"{_registration(facts, load.vehicle_id)}{until}."
    )
    asked = whom.of(place)
    is_unclear = _is_unclear(facts, load)
    return Decision(
        code="turned_away",
        urgency=Urgency.NOW,
        deadline=turning.sour_at if turning is not None and turns else None,
        sentence=(
            f"{own} Tip them elsewhere; of what comes next, ask "
            f"{asked or 'whoever has a say there'}."
            f"{NOT_SAID if is_unclear else ''}"
        ),
        own=own,
        **about_load(load) | {"lot_codes": aboard},
        ways=(
            TIP,
            *at_load(load.id),
            *((_of_the_grass(load),) if is_unclear else ()),
        ),
        word="state",
    )


def _is_unclear(facts: DayFacts, load: Load) -> bool:
    """Return whether free words were passed on of which nobody knows if they are of the grass.

    What a place itself wrote so is asked about lot by lot.
    """
    if load.refusal_reason is None or refusal_code(load.refusal_reason) is not None:
        return False
    jobs = facts.known_jobs
    return not any(
        str(word.facts.get("load_id")) == str(load.id)
        for part in load.parts
        if part.job_id in jobs
        for word in said_of(jobs[part.job_id])
    )


def _of_the_grass(load: Load) -> Way:
    return Way(
        what="If they meant the grass, say what was seen in it (refusal_reason: litter, seed, "
        "smells or treated_or_unknown)",
        method="PATCH",
        href=f"/loads/{load.id}",
    )


def _going_sour(facts: DayFacts, vehicle_id: UUID, found: Turning) -> Decision:
    is_sour = found.sour_at <= facts.now
    return Decision(
        code="gone_sour" if is_sour else "going_sour",
        urgency=Urgency.NOW,
        deadline=found.sour_at,
        sentence=(
            f"What was cut first of the grass aboard {_registration(facts, vehicle_id)} "
            f"{_sour(facts, found)}; no bed takes it then. Tip it next, or say where it was tipped."
        ),
        lot_codes=found.lot_codes,
        vehicle_id=vehicle_id,
        ways=(TIP,),
    )


def _sour(facts: DayFacts, found: Turning) -> str:
    until = clock_of_day(facts, found.sour_at)
    is_sour = found.sour_at <= facts.now
    return f"has counted as sour since {until}" if is_sour else f"counts as sour from {until}"


def _turning(facts: DayFacts, rulebook: Rulebook) -> dict[UUID, Turning]:
    """Return the bodies in which grass of today turns; a day later it is told as overnight."""
    aboard: dict[UUID, list[Job]] = defaultdict(list)
    for job in facts.to_be_routed():
        if job.state is JobState.MOWN:
            aboard[job.vehicle_id].append(job)
    found = {}
    for vehicle_id, jobs in aboard.items():
        if not all(facts.is_today(job) for job in jobs):
            continue
        keep = {job.id: keeping_time(job.wetness, here=facts.rules(rulebook)) for job in jobs}
        turning = [job for job in jobs if job.at + keep[job.id].amber <= facts.now]
        if turning:
            found[vehicle_id] = Turning(
                lot_codes=tuple(job.lot_code for job in turning),
                sour_at=min(job.at + keep[job.id].red for job in turning),
            )
    return found


def _registration(facts: DayFacts, vehicle_id: UUID) -> str:
    vehicle = facts.vehicles.get(vehicle_id)
    return "a vehicle" if vehicle is None else vehicle.registration

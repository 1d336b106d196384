"""What lies in a body since an earlier day: how much, for how long, and who must act."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.measures.units import date_words
from service.core.plans import RuleClass
from service.destinations.lots import amounts_of
from service.destinations.reasons import class_of
from service.destinations.verdicts import kg_at_most
from service.rules.lookup import Rulebook
from service.rules.rows import RuleValue
from service.usecases.base.calendar import day_of
from service.usecases.day.bodies.vehicle_days import PARKED_FOR
from service.usecases.day.facts import DayFacts


def overnight_warnings(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[dict[str, object]]:
    """Yield the vehicles that have clippings of earlier days aboard, also those without a job."""
    hours = facts.rules(rulebook).row("vehicle_storage_hours_max")
    loaded = {grass.vehicle_id for grass in facts.loaded if grass.vehicle_id is not None}
    for vehicle_id in sorted({job.vehicle_id for job in facts.jobs} | loaded):
        jobs = facts.jobs_of(vehicle_id)
        cut = [
            job
            for job in jobs
            if job.state is JobState.MOWN
            and not facts.is_today(job)
            and not facts.is_of_the_night(job.at)
        ]
        old = [(job, facts.share_left(job), job.at) for job in cut]
        old += _loaded_before(facts, vehicle_id)
        if old:
            is_idle = len(cut) == len(jobs)
            yield _told(facts, vehicle_id, old, is_idle=is_idle, hours=hours)


def _loaded_before(facts: DayFacts, vehicle_id: UUID) -> list[tuple[Job, float, datetime]]:
    """Return what a body has out of bays since an earlier day: jobs, shares, since when."""
    return [
        (job, share, since)
        for grass in facts.loaded
        for since in [grass.entry.loaded_since(vehicle_id)]
        if grass.vehicle_id == vehicle_id and since is not None and since < facts.span.start
        for job, share in zip(grass.jobs, grass.shares, strict=True)
    ]


def _stands(facts: DayFacts, vehicle_id: UUID) -> str:
    """Ask whether it stands in its yard, where nobody said where it was left overnight."""
    vehicle = facts.vehicles[vehicle_id]
    if vehicle.parked_at is not None and vehicle.parked_at >= facts.span.start - PARKED_FOR:
        return ""
    return " By the plan it stands in the yard: if it was left elsewhere, say where (parked_point)."


def _told(
    facts: DayFacts,
    vehicle_id: UUID,
    old: list[tuple[Job, float, datetime]],
    *,
    is_idle: bool,
    hours: RuleValue,
) -> dict[str, object]:
    since = min(day_of(facts.depot, at) for _, _, at in old)
    days = (facts.span.day - since).days
    name = facts.vehicles[vehicle_id].registration
    kg = {
        end: sum(
            getattr(amounts_of(job, job.estimate)[0], end) * share
            for job, share, _ in old
            if job.estimate is not None
        )
        for end in ("likely", "high")
    }
    lasted = "overnight" if days == 1 else f"for {days} days"
    means = "the law allows" if class_of(hours) is RuleClass.LAW else "it should be"
    who = (
        "it has no job today, so the dispatcher must send somebody with it"
        if is_idle
        else "its crew must bring it away before it bags anything else"
    )
    return {
        "vehicle_id": str(vehicle_id),
        "code": "aboard_overnight",
        "lot_codes": list(dict.fromkeys(job.lot_code for job, _, _ in old)),
        "since": since.isoformat(),
        "days": days,
        "mass_likely_kg": round(kg["likely"]),
        "mass_high_kg": kg_at_most(kg["high"]),
        "must_act": "dispatcher" if is_idle else "crew",
        "crew_ids": sorted({str(job.crew_id) for job, _, _ in old}),
        "why": (
            f"Grass aboard {name} {lasted}, since {date_words(since)}: about {kg['likely']:.0f} kg "
            f"(up to {kg_at_most(kg['high'])} kg). It sours and heats, and {means} "
            f"{hours.value:g} hours at most: {who}. If it is tipped already, say where and when."
            f"{_stands(facts, vehicle_id)}"
        ),
    }

"""What a dispatcher must know of a day beside its routing."""

from __future__ import annotations

from service.core.jobs import Job
from service.destinations.verdicts import kg_at_most
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import clock_words
from service.usecases.day.bodies.vehicle_days import bodies_of, most_bodies, too_large
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import recall_of, words_of
from service.usecases.day.planned_day import PlannedDay
from service.usecases.telling.warnings.bays import bay_warnings
from service.usecases.telling.warnings.lawn_hours import lawn_hours_warnings
from service.usecases.telling.warnings.limits import limit_warnings
from service.usecases.telling.warnings.locks import lost_lock_warnings
from service.usecases.telling.warnings.on_the_way import on_the_way_warnings
from service.usecases.telling.warnings.overloads import own_warnings
from service.usecases.telling.warnings.overnight import overnight_warnings
from service.usecases.telling.warnings.overtime import overtime_warnings
from service.usecases.telling.warnings.people import people_warnings
from service.usecases.telling.warnings.tips import refused_warnings
from service.usecases.telling.warnings.turned_away import turned_away_warnings
from service.usecases.telling.warnings.weights import weight_warnings


def told_warnings(made: PlannedDay, *, rulebook: Rulebook) -> list[dict[str, object]]:
    """Return the day's warnings, each with a code and what it is about."""
    return [
        *on_the_way_warnings(made.facts, rulebook=rulebook),
        *own_warnings(made),
        *overnight_warnings(made.facts, rulebook=rulebook),
        *_recalled_aboard(made.facts),
        *lost_lock_warnings(made),
        *turned_away_warnings(made),
        *overtime_warnings(made),
        *weight_warnings(made.facts),
        *refused_warnings(made.facts, rulebook=rulebook),
        *limit_warnings(made.facts, rulebook=rulebook),
        *bay_warnings(made.facts),
        *_too_large(made),
        *people_warnings(made),
        *lawn_hours_warnings(made),
    ]


def _recalled_aboard(facts: DayFacts) -> list[dict[str, object]]:
    """Return the vehicles with anything aboard that is recalled: it is mixed with nothing more."""
    found: list[dict[str, object]] = []
    for vehicle_id, vehicle in facts.vehicles.items():
        # What is on its way is aboard until it is tipped.
        loaded = [job for g in facts.loaded if g.vehicle_id == vehicle_id for job in g.jobs]
        lots = {job.id: job.lot_code for job in (*facts.aboard(vehicle_id), *loaded)} | {
            part.job_id: part.lot_code
            for load in facts.under_way
            if load.vehicle_id == vehicle_id
            for part in load.parts
        }
        recalled = [
            (code, recall)
            for job_id, code in lots.items()
            if (recall := recall_of(facts.recalls, place_id=None, job_ids=[job_id])) is not None
        ]
        if recalled:
            codes = [code for code, _ in recalled]
            found.append(
                {
                    "vehicle_id": str(vehicle_id),
                    "code": "recalled_aboard",
                    "vehicle": vehicle.registration,
                    "lots": codes,
                    "lot_codes": codes,
                    "why": (
                        f"{', '.join(codes)} in {vehicle.registration}: recalled. Bag nothing on "
                        "top. Bring it to the bay, tip it apart from everything else, and ask the "
                        f"office. {words_of(recalled[0][1])}"
                    ),
                }
            )
    return found


def _too_large(made: PlannedDay) -> list[dict[str, object]]:
    """Return the lots left out of the routing because their size must be a mistake."""
    facts = made.facts
    return [
        {
            "vehicle_id": str(job.vehicle_id),
            "code": "lot_too_large",
            "job_id": str(job.id),
            "lot_codes": [job.lot_code],
            "mass_high_kg": kg_at_most(lot.mass_kg.high),
            "payload_kg": vehicle.payload_kg,
            "loads_needed": bodies_of(lot.mass_kg.high, lot.volume_m3.high, vehicle),
            "is_confirmed": job.size_confirmed is not None,
            "why": (
                f"Up to {kg_at_most(lot.mass_kg.high):,} kg are "
                f"{bodies_of(lot.mass_kg.high, lot.volume_m3.high, vehicle)} loads of "
                f"{vehicle.registration}{_what_then(job, facts)} it has a larger vehicle, or at "
                f"most {most_bodies(job)} loads of it are left to tip."
            ),
        }
        for job in facts.jobs
        for vehicle in [facts.vehicles[job.vehicle_id]]
        if (lot := made.asked.lots.get(job.id)) is not None and too_large(facts, lot, vehicle)
    ]


def _what_then(job: Job, facts: DayFacts) -> str:
    word = job.size_confirmed
    if word is None:
        return (
            ", more often a slip than a cut: it is in no plan until area, height or measured mass "
            "are corrected, or somebody says that it is so. It is planned as well once"
        )
    at = clock_words(word.at.astimezone(facts.span.zone), day=facts.span.day)
    return f", and it is so (said by the {word.said_by} at {at}). It is planned once"

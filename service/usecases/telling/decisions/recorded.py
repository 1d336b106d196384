"""What the records of now say that waits for a word: of loads, bodies and weights."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from typing import Any, Final
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.loads import Load, LoadState
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import (
    TIP,
    Decision,
    Urgency,
    Way,
    about_load,
    at_load,
    clock_of_day,
)
from service.usecases.telling.warnings.overnight import overnight_warnings
from service.usecases.telling.warnings.weights import weight_warnings

# A load that set off and is not there an hour after it was to be is forgotten on a telephone more
# often than it is still driving. Common practice, no source.
LATE_MINUTES: Final = 60
ENDED: Final = frozenset({LoadState.DELIVERED, LoadState.PARTLY_REFUSED, LoadState.REFUSED})


def weights(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield the tickets that wait for a review, and the overloads."""
    review = {
        "ticket_awaits_review": "Accept the ticket, or set it aside",
        "ticket_given_before": "Correct its number, accept it, or set it aside",
        "ticket_may_be_in_pounds": "Accept the ticket, or correct its unit",
    }
    for warning in weight_warnings(facts):
        told: Any = warning
        code, load_id = told["code"], told["load_id"]
        what = review.get(code, "Correct the ticket, if it is wrong")
        like = told.get("ticket_like_id")
        others = () if like is None else at_load(like)
        yield Decision(
            code=code,
            urgency=Urgency.TODAY,
            sentence=told["why"],
            lot_codes=tuple(told["lot_codes"]),
            vehicle_id=UUID(told["vehicle_id"]),
            load_id=UUID(load_id),
            ways=(
                Way(what=what, method="PATCH", href=f"/loads/{load_id}"),
                *(replace(way, what="Correct the ticket of the load before") for way in others),
            ),
        )


def overnight(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the bodies with grass of earlier days in them."""
    for warning in overnight_warnings(facts, rulebook=rulebook):
        told: Any = warning
        yield Decision(
            code=told["code"],
            urgency=Urgency.NOW,
            sentence=told["why"],
            lot_codes=tuple(told["lot_codes"]),
            vehicle_id=UUID(told["vehicle_id"]),
            ways=(TIP,),
        )


def long_under_way(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield the loads that set off and were not heard of again."""
    for load in facts.under_way:
        # Of one that set off late the plan's hour says nothing.
        since = max(load.arrive_at, load.updated_at)
        if facts.now - since < timedelta(minutes=LATE_MINUTES):
            continue
        name = _registration(facts, load)
        yield Decision(
            code="long_under_way",
            urgency=Urgency.NOW if load.working_day < facts.span.day else Urgency.TODAY,
            sentence=(
                f"{name} is under way with {', '.join(part.lot_code for part in load.parts)}, and "
                f"nothing was heard since {clock_of_day(facts, since)}. "
                "Ask the crew: delivered, refused, or still aboard?"
            ),
            **about_load(load),
            ways=at_load(load.id),
        )


def at_gate(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield the loads that were seen at a gate, until somebody says what became of them."""
    names = {place.id: place.name for places in facts.places.values() for place in places}
    jobs = facts.known_jobs
    for load in (*facts.loads, *facts.lost_locks):
        if load.at_gate_at is None or load.state in ENDED:
            continue
        uncut = {
            part.job_id: part.lot_code
            for part in load.parts
            if part.job_id in jobs and jobs[part.job_id].state is JobState.PLANNED
        }
        what = (
            f"nobody has recorded {', '.join(uncut.values())} as mown. Ask the crew and record the "
            "cut; then the gate can take it"
            if uncut
            else "nobody has said yet whether it was taken"
        )
        if load.weighed_net is not None:
            kg = f"{load.weighed_net.si_value:,.0f} kg"
            what += f". Its ticket {load.weigh_ticket}, {kg}, is kept and counts once it is tipped"
        yield Decision(
            code="at_gate",
            urgency=Urgency.NOW,
            sentence=(
                f"{_registration(facts, load)} was seen at "
                f"{names.get(load.destination_id, 'a gate')} at "
                f"{clock_of_day(facts, load.at_gate_at)}, and {what}."
            ),
            **about_load(load),
            ways=(
                *(
                    Way(what=f"Record the cut of {code}", method="PATCH", href=f"/jobs/{job_id}")
                    for job_id, code in uncut.items()
                ),
                *at_load(load.id),
            ),
            word="at_gate_at",
        )


def possible_duplicates(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield the cuts that are kept and count for nothing until somebody says whether they do."""
    for job, like in facts.undecided:
        href = f"/jobs/{job.id}/decisions"
        own = (
            f"{job.lot_code}, cut at {clock_of_day(facts, job.at)}, may be the same cut as "
            f"{like.lot_code}, of {clock_of_day(facts, like.at)} by {_crew(facts, like)}."
        )
        yield Decision(
            code="possible_duplicate",
            urgency=Urgency.TODAY,
            sentence=(
                f"{own} What may be said twice counts once until somebody says: ask "
                f"{_crew(facts, job)}, who reported it last."
            ),
            own=own,
            lot_codes=(job.lot_code, like.lot_code),
            vehicle_id=job.vehicle_id,
            job_id=job.id,
            ways=(
                Way(what=f"{job.lot_code} is another cut (another_cut)", method="POST", href=href),
                Way(
                    what=f"{job.lot_code} is the same, said twice (the_same)",
                    method="POST",
                    href=href,
                ),
            ),
        )


def _crew(facts: DayFacts, job: Job) -> str:
    crew = facts.crews.get(job.crew_id)
    return "a crew" if crew is None else crew.name


def _registration(facts: DayFacts, load: Load) -> str:
    vehicle = facts.vehicles.get(load.vehicle_id)
    return "A vehicle" if vehicle is None else vehicle.registration

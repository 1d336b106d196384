"""What was seen in grass where it was brought: until the office says otherwise, it counts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.places import DestinationKind
from service.destinations.lots import MIXED, OWN_WORDS, STANDING
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.records.loads.said_of_grass import said_of
from service.usecases.telling.decisions.decision import Decision, Urgency, Way, clock_of_day
from service.usecases.telling.decisions.whom import Whom

# Of these the office takes back what a lot counts as.
TAKEN_BACK: Final = STANDING


def said_where_brought(facts: DayFacts, whom: Whom) -> Iterator[Decision]:
    """Yield of each lot what was said of it, and whom to ask, until it is taken back."""
    places = {place.id: place for some in facts.places.values() for place in some}
    for job in facts.known_jobs.values():
        for word in said_of(job) if job.state is JobState.MOWN else ():
            told: Any = word.facts
            place = places.get(UUID(told["destination_id"]))
            at = clock_of_day(facts, datetime.fromisoformat(told["at"]))
            because = str(told["because"]).rstrip(". ")
            where = "The place it was brought to" if place is None else place.name
            is_unclear = OWN_WORDS in told
            until = "says what that means" if is_unclear else "takes that back"
            what = (
                "what they meant: treated or weedy grass, litter, smell, or nothing of the grass"
                if is_unclear
                else "what was seen"
            )
            yield Decision(
                code="said_where_brought",
                urgency=Urgency.NOW,
                sentence=(
                    f"{where} sent {job.lot_code} away at {at}: {because} (said by "
                    f"{told['said_by']}). It counts as {word.status.value} until somebody {until}. "
                    f"Ask {_asked(facts, whom.of(place), job)} {what}."
                ),
                own=job.lot_code,
                lot_codes=(job.lot_code,),
                job_id=job.id,
                load_id=UUID(told["load_id"]),
                destination_kind=DestinationKind(told["destination_kind"]),
                destination_id=UUID(told["destination_id"]),
                ways=(
                    *(_meant(job) if is_unclear else ()),
                    Way(
                        what=f"Say that {job.lot_code} is as recorded (as_recorded), and why",
                        method="POST",
                        href=f"/jobs/{job.id}/decisions",
                    ),
                ),
            )


def lay_in_one_body(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield of each lot what it lay with, until somebody says that they were kept apart."""
    for job in facts.known_jobs.values():
        words = [finding for finding in job.findings if finding.code == MIXED]
        for word in words if job.state is JobState.MOWN else ():
            told: Any = word.facts
            at = clock_of_day(facts, datetime.fromisoformat(told["at"]))
            crew = facts.crews.get(job.crew_id)
            own = (
                f"{job.lot_code} lay in one body with {told['lay_with']} until {at} and counts as "
                f"{word.status.value}."
            )
            yield Decision(
                code=MIXED,
                urgency=Urgency.NOW,
                sentence=(
                    f"{own} That holds until somebody says that they were kept apart. Ask "
                    f"{'the crew' if crew is None else crew.name}."
                ),
                own=own,
                lot_codes=(job.lot_code,),
                job_id=job.id,
                ways=(
                    Way(
                        what=f"Say that {job.lot_code} was kept apart (as_recorded), and why",
                        method="POST",
                        href=f"/jobs/{job.id}/decisions",
                    ),
                ),
            )


def _meant(job: Job) -> Iterator[Way]:
    """Yield how to say each thing that a place may have meant."""
    for word in ("treated_or_unknown", "seed", "litter", "smells"):
        yield Way(
            what=f"Say that of {job.lot_code} they meant: {word.replace('_', ' ')} ({word})",
            method="POST",
            href=f"/jobs/{job.id}/decisions",
        )


def _asked(facts: DayFacts, there: str, job: Job) -> str:
    """Return whom to ask: whoever has the place, and who mowed."""
    crew = facts.crews.get(job.crew_id)
    mower = None if crew is None else f"{crew.name}, who mowed it,"
    return " and ".join(filter(None, [there, mower])) or "the crew"

"""Products on record that the rules know nothing of: whom to ask, and where the answer is kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Final
from uuid import UUID

from service.core.jobs import Job, JobState
from service.core.treatments import Treatment
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.telling.decisions.decision import Decision, Urgency, Way

NOT_KNOWN: Final = "treatment_unknown"


def treatments_not_known(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:  # noqa: ARG001 - as all of them are asked
    """Yield each treatment for which a cut of the day counts as unknown."""
    named: dict[UUID, Treatment] = {}
    lots: dict[UUID, dict[UUID, Job]] = defaultdict(dict)
    for job in facts.jobs:
        for finding in job.findings if job.state is JobState.MOWN else ():
            if finding.code != NOT_KNOWN:
                continue
            for treatment in facts.lot_facts.treatments_for(job):
                applied_on = treatment.applied_on.isoformat()
                said = (finding.facts.get("product"), finding.facts.get("applied_on"))
                if (treatment.product, applied_on) == said:
                    named[treatment.id] = treatment
                    lots[treatment.id][job.id] = job
    for treatment_id, treatment in sorted(named.items()):
        jobs = tuple(lots[treatment_id].values())
        codes = tuple(sorted(job.lot_code for job in jobs))
        yield Decision(
            code="treatment_not_known",
            urgency=Urgency.TODAY,
            sentence=(
                f"{treatment.product} is on record for {_lawn(facts, treatment)}, and what it asks "
                f"for is not known. Until it is, {', '.join(codes)} may go only where what nobody "
                f"knows is taken. Ask {treatment.stated_by}, who stated it, for the active "
                "ingredients on the label and what it says of clippings; what the label says goes "
                "first."
            ),
            lot_codes=codes,
            job_id=jobs[0].id if len(jobs) == 1 else None,
            ways=(
                Way(
                    what="Keep its ingredients, or what the label says (label_wait), and why",
                    method="PATCH",
                    href=f"/treatments/{treatment_id}",
                ),
                Way(
                    what="Or that it never was on this lawn, and why",
                    method="DELETE",
                    href=f"/treatments/{treatment_id}",
                ),
            ),
        )


def _lawn(facts: DayFacts, treatment: Treatment) -> str:
    lawn = facts.lot_facts.lawns.get(treatment.lawn_id)
    day = f"{treatment.applied_on:%-d %B}"
    return f"{day}" if lawn is None else f"{lawn.name} ({day})"

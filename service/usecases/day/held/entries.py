"""Why a load is held, until what, and how long it keeps."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import datetime
from typing import Final
from uuid import UUID

from service.core.loads import HoldEntry, Load
from service.core.materials import LotStatus, Wetness
from service.core.plans import Ground
from service.core.records import Identifiers
from service.destinations.freshness import keeping_time
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import COLLECTABLE, KINDS, no_such_places
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.held.clocks import clock_of_cuts

WILLING_TOLD = 3
NONE_FOR_GOOD = no_such_places({word: KINDS[word] for word in KINDS if word in COLLECTABLE})
RELEASE_CONDITIONS = {
    LotStatus.LITTERED: (
        "sorted",
        "Sort the litter out, then say of the job that none is left in it.",
    ),
    LotStatus.UNKNOWN: (
        "treatment_stated",
        "Ask the client or the applicator what was put on the lawn, and record it.",
    ),
    LotStatus.TREATED: (
        "site_takes_treated",
        "Return it to the treated lawn, or find a site that takes it by the label's terms.",
    ),
    LotStatus.DISEASED: (
        "site_takes_diseased",
        "It waits for a compost site with a kill process that takes diseased material.",
    ),
    LotStatus.WEEDY: (
        "site_takes_weedy",
        "It waits for a compost site with a kill process that takes weedy material.",
    ),
    LotStatus.SOUR: (
        "site_takes_sour",
        "It waits for a compost site that takes sour clippings; turn the heap until then.",
    ),
    LotStatus.CLEAN: (
        "room_elsewhere",
        "It waits for room at a willing bed or compost site; bring it there before it sours.",
    ),
}


# What a plan would not bring elsewhere, and what nobody planned.
NO_ROOM: Final = "no_room_in_reach"
BY_HAND: Final = "brought_by_hand"


def hold_entry_of(
    load: Load, *, facts: DayFacts, rulebook: Rulebook, asked: Asked, identifiers: Identifiers
) -> HoldEntry:
    """Return the entry of a load that is planned into a hold bay."""
    clock = clock_of_cuts(cuts_of(load, facts), here=facts.rules(rulebook))
    reason_code, reason = hold_reason(load, asked)
    condition_code, condition = RELEASE_CONDITIONS[load.status]
    return HoldEntry(
        id=identifiers.next_id(),
        firm_id=load.firm_id,
        version=1,
        created_at=facts.now,
        updated_at=facts.now,
        hold_bay_id=load.destination_id,
        load_id=load.id,
        lot_codes=tuple(part.lot_code for part in load.parts),
        status=load.status,
        mass_kg=load.mass_kg,
        volume_m3=load.volume_m3,
        reason_code=reason_code,
        reason=reason,
        release_condition_code=condition_code,
        release_condition=condition,
        cut_at=clock.cut_at,
        amber_at=clock.amber_at,
        red_at=clock.red_at,
    )


def cuts_of(load: Load, facts: DayFacts) -> list[tuple[datetime, Wetness]]:
    """Return when each part of a load was, or is to be, cut, and how wet it was.

    Parts of jobs that are no longer part of the day are left out.
    """
    jobs = facts.known_jobs
    return [
        (job.at, job.wetness) for part in load.parts if (job := jobs.get(part.job_id)) is not None
    ]


def keeps_until(
    load: Load, facts: DayFacts, *, rulebook: Rulebook, mown_at: Mapping[UUID, datetime]
) -> datetime | None:
    """Return the red clock of a load, None if its cuts are not of the day: it is sour after it.

    Parameters
    ----------
    mown_at
        When a plan has lawns mown, by job: their clippings age from then on.
    """
    jobs = facts.known_jobs
    cuts = (
        (mown_at.get(job.id, job.at), job.wetness)
        for part in load.parts
        if (job := jobs.get(part.job_id)) is not None
    )
    return min(
        (
            cut_at + keeping_time(wetness, here=facts.rules(rulebook)).red
            for cut_at, wetness in cuts
        ),
        default=None,
    )


def hold_reason(load: Load, asked: Asked) -> tuple[str, str]:
    """Return why a load is held: the commonest reason beds and sites gave its worst lot."""
    worst = next(
        (part for part in load.parts if asked.lots[part.lot_id].status is load.status),
        load.parts[0],
    )
    code, sentence = why_held(worst.lot_id, asked)
    if load.plan_id is None and code == NO_ROOM:
        would = ", ".join(
            asked.by_id[said.destination_id].name
            for said in asked.of(worst.lot_id, COLLECTABLE)
            if not said.refused
        )
        return BY_HAND, f"The crew brought it here; no plan said so. It would be taken by: {would}."
    return code, sentence


def why_held(lot_id: UUID, asked: Asked) -> tuple[str, str]:
    """Return the code and the sentence of why a lot waits, by what beds and sites say to it."""
    others = asked.of(lot_id, COLLECTABLE)
    if not others:
        return "no_destination", f"The firm has {NONE_FOR_GOOD} on record."
    willing = [verdict for verdict in others if not verdict.refused]
    if willing:
        said = "; ".join(
            f"{asked.by_id[verdict.destination_id].name}: {verdict.sentence.rstrip('.')}"
            for verdict in willing[:WILLING_TOLD]
        )
        return (
            NO_ROOM,
            (
                f"{len(willing)} would take it, but their room went to other lots or they "
                f"cannot be reached in time. {said}."
            ),
        )
    lot_reasons = Counter(
        (verdict.code, verdict.sentence) for verdict in others if verdict.ground is Ground.LOT
    )
    reasons = lot_reasons or Counter((verdict.code, verdict.sentence) for verdict in others)
    (code, sentence), _ = reasons.most_common(1)[0]
    return code, sentence

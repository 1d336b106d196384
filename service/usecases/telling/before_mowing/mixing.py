"""What lies in a body now, and what bagging a lawn's clippings on top of it would spoil."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final
from uuid import UUID

from service.core.materials import worst_status
from service.destinations.verdicts import Lot
from service.rules.lookup import Rulebook
from service.usecases.day.asking import held_lots, lot_of
from service.usecases.day.facts import DayFacts
from service.usecases.telling.before_mowing.by_plan import (
    goes_with,
    status_by_plan,
    tipped_before,
    told,
)
from service.usecases.telling.told.before_mowing import AboardTold, SaidTold

SPOILS: Final = "spoils_what_is_aboard"
IS_SPOILED: Final = "spoiled_by_what_is_aboard"
ON_RECALLED: Final = "recalled_is_aboard"
AS_PLANNED: Final = "mixes_by_plan"


def aboard_now(
    facts: DayFacts, vehicle_id: UUID | None, job_id: UUID | None, *, rulebook: Rulebook
) -> tuple[AboardTold, ...]:
    """Return the lots in a body by the records of now, and whether the plan tips them first."""
    if vehicle_id is None:
        return ()
    gone_by_then = tipped_before(facts.previous, job_id)
    fresh = [lot_of(job, facts, rulebook=rulebook) for job in facts.aboard(vehicle_id)]
    held = held_lots(facts, rulebook=rulebook) if facts.loaded else {}
    loaded = [
        held[lot_id]
        for grass in facts.loaded
        if grass.vehicle_id == vehicle_id
        for lot_id in grass.lot_ids
    ]
    lies = {lot.lot_code: lot.counts_as for lot in (*fresh, *loaded)}
    # What is on its way is aboard until it is tipped, and mixed.
    for load in facts.on_its_way(vehicle_id):
        for part in load.parts:
            lies[part.lot_code] = worst_status(
                [load.status, *filter(None, [lies.get(part.lot_code)])]
            )
    return tuple(
        AboardTold(lot_code=code, status=status, tipped_before=code in gone_by_then)
        for code, status in lies.items()
    )


def mixing(
    lot: Lot,
    aboard: Sequence[AboardTold],
    facts: DayFacts,
    job_id: UUID | None,
    *,
    vehicle: str,
) -> SaidTold | None:
    """Return what mixing makes of a lot and of what it is bagged on top of; None if of nothing.

    What is recalled takes whatever lies on top of it into the recall. Else the worst status wins:
    what is better than it is spoiled.
    """
    under = [one for one in aboard if not one.tipped_before]
    if not under:
        return None
    recalled = recalled_codes(facts)
    spoiled = [one.lot_code for one in under if one.lot_code in recalled]
    if spoiled:
        return told(ON_RECALLED, vehicle=vehicle, lots=spoiled)
    below = worst_status(one.status for one in under)
    worst = worst_status([below, lot.status])
    if lot.status is below:
        return None
    if lot.status is worst:
        spoiled = [one.lot_code for one in under if one.status is not worst]
        code = SPOILS
    else:
        spoiled = [one.lot_code for one in under if one.status is worst]
        code = IS_SPOILED
    planned = status_by_plan(facts.previous, job_id)
    # What is told of the lot now may be worse than what the plan took it for.
    is_no_worse = planned is not None and worst_status([planned, lot.status]) is planned
    if is_no_worse and set(spoiled) <= goes_with(facts.previous, job_id):
        code = AS_PLANNED
    return told(code, vehicle=vehicle, lots=spoiled, status=worst.value)


def recalled_codes(facts: DayFacts) -> frozenset[str]:
    """Return the codes of the lots of the day that are recalled, wherever they lie."""
    ids = {job_id for recall in facts.recalls for job_id in recall.job_ids}
    if not ids:
        return frozenset()
    jobs = {job.id: job.lot_code for job in facts.known_jobs.values()}
    jobs |= {part.job_id: part.lot_code for load in facts.under_way for part in load.parts}
    return frozenset(code for job_id, code in jobs.items() if job_id in ids)

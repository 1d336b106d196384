"""Which locks a place that is chosen by hand would move, and which of them nobody named."""

from __future__ import annotations

from uuid import UUID

from service.core.loads import Load
from service.usecases.day.bodies.composition import carried_in
from service.usecases.day.facts import DayFacts
from service.usecases.day.loads import tip_of
from service.usecases.day.problem.locks import share_a_lot
from service.usecases.planning.planner import UnstoredPlan
from service.usecases.telling.told.choices import LockMoved


def moved_locks(
    facts: DayFacts,
    wish: Load,
    *,
    load_id: UUID | None,
    job_id: UUID | None,
    before: UnstoredPlan,
    after: UnstoredPlan,
) -> tuple[LockMoved, ...]:
    """Return the locks that a choice ends, or that no plan keeps beside it.

    Whoever names a load, or a lot that is locked alone, means its lock; all others are to be
    confirmed.
    """
    names = {place.id: place.name for place in after.asked.destinations}
    kept_before, kept_after = _tips(before), _tips(after)
    found = []
    for lock in (*facts.planned_loads, *facts.lost_locks):
        if not lock.is_bound or lock.id == wish.id:
            continue
        is_ended = share_a_lot(lock, wish)
        is_lost = (
            tip_of(lock, before.built) in kept_before
            and tip_of(lock, after.built) not in kept_after
        )
        if not is_ended and not is_lost:
            continue
        if load_id is None:
            is_meant = {part.job_id for part in lock.parts} == {job_id}
        else:
            is_meant = lock.id == load_id or lock.parts == wish.parts
        found.append(
            LockMoved(
                load_id=lock.id,
                lot_codes=tuple(part.lot_code for part in lock.parts),
                destination_kind=lock.destination_kind,
                destination_id=lock.destination_id,
                name=names.get(lock.destination_id, ""),
                to_be_confirmed=not is_meant,
            )
        )
    return tuple(found)


def _tips(made: UnstoredPlan) -> set[tuple[UUID, UUID, UUID | None]]:
    """Return vehicle, place and job before of every tip of a plan."""
    return {
        (day.vehicle_id, made.built.destinations[drop.stop.destination or ""].id, drop.after_job_id)
        for answer in made.plan.vehicles
        for day in [made.built.vehicles[answer.id]]
        for drop in carried_in(made.plan, answer, day).drops
    }

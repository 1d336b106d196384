"""Which loads a dispatcher locked can be kept, as the planner takes them."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from service.core.loads import Load, LoadState
from service.destinations.ready import ReadyDestination
from service.planning.model.problem import Locked
from service.usecases.base.ports import UnitOfWork
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.vehicle_days import VehicleDay


def share_a_lot(one: Load, other: Load) -> bool:
    """Return whether two loads have clippings of the same lot in them."""
    return not {part.lot_id for part in one.parts}.isdisjoint(part.lot_id for part in other.parts)


def locks_on(unit: UnitOfWork, load: Load) -> list[Load]:
    """Return the locks of a load's day on any of its lots: those kept, and those that were lost."""
    found: list[Load] = unit.loads.all(
        load.firm_id,
        depot_id=load.depot_id,
        working_day=load.working_day,
        state=(LoadState.PLANNED, LoadState.SUPERSEDED),
        locked=True,
    )
    return [one for one in found if share_a_lot(one, load)]


def ended(lock: Load, now: datetime) -> Load:
    """Return a lock as the next version of its load, which is free again."""
    return replace(lock, locked=False, version=lock.version + 1, updated_at=now)


def locked_tips(
    day: VehicleDay, facts: DayFacts, asked: Asked, destinations: dict[str, ReadyDestination]
) -> tuple[Locked, ...]:
    """Return the locked tips that are still possible: willing, and with their job ahead."""
    if day.stands:
        return ()
    keys = {ready.id: key for key, ready in destinations.items()}
    last_piece = {piece.job_id: piece.key for piece in day.ahead}
    return tuple(
        Locked(
            destination=keys[load.destination_id],
            after_job=last_piece.get(load.after_job_id) if load.after_job_id else None,
            # One that comes back is of no plan before: it says itself how much it was.
            mass_kg=round(load.mass_kg.high) if load in facts.lost_locks else None,
        )
        for load in (*facts.planned_loads, *facts.lost_locks)
        if load.locked
        and load.vehicle_id == day.vehicle_id
        and load.destination_id in keys
        and load.after_job_id not in day.given
        and not lock_refusals(load, asked)
    )


def lock_refusals(load: Load, asked: Asked) -> list[str]:
    """Return why a locked load can't be kept: what its destination says to its lots by now."""
    return [
        verdict.sentence
        for part in load.parts
        for verdict in asked.verdicts.get(part.lot_id, ())
        if verdict.destination_id == load.destination_id and verdict.refused
    ]

"""What a plan must keep: loads that stay where they are, and what is to be tipped first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from uuid import UUID

from service.core.loads import Load, LoadState
from service.core.places import Point
from service.core.plans import Verdict
from service.destinations.ready import ReadyDestination
from service.planning.model.problem import Locked
from service.usecases.base.ports.unit_of_work import SAID, UnitOfWork
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import recall_of


def share_a_lot(one: Load, other: Load) -> bool:
    """Return whether two loads have clippings of the same lot in them."""
    return not {part.lot_id for part in one.parts}.isdisjoint(part.lot_id for part in other.parts)


def locks_on(unit: UnitOfWork, load: Load) -> list[Load]:
    """Return the locks of a load's day on any of its lots: those kept, and those that were lost."""
    states = (LoadState.PLANNED, LoadState.SUPERSEDED)
    found = bound_loads(unit, load.firm_id, load.depot_id, load.working_day, states)
    return [one for one in found if share_a_lot(one, load)]


def bound_loads(
    unit: UnitOfWork, firm_id: UUID, depot_id: UUID, day: date, states: tuple[LoadState, ...]
) -> list[Load]:
    """Return the loads of a day that no plan sends elsewhere: locked, or seen at a gate."""
    of_day = {"depot_id": depot_id, "working_day": day, "state": states}
    locked = unit.loads.all(firm_id, **of_day, locked=True)
    at_gate = unit.loads.all(firm_id, **of_day, locked=False, at_gate_at=SAID)
    return sorted((*locked, *at_gate), key=lambda load: load.id)


def ended(lock: Load, now: datetime) -> Load:
    """Return a lock as the next version of its load, which is free again."""
    return replace(lock, locked=False, at_gate_at=None).renewed(now)


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
        if load.is_bound
        and load.vehicle_id == day.vehicle_id
        and load.destination_id in keys
        and load.after_job_id not in day.given
        and not lock_refusals(load, asked)
    )


def lock_refusals(load: Load, asked: Asked) -> list[Verdict]:
    """Return why a locked load can't be kept: what its destination says to its lots by now."""
    return [
        verdict
        for part in load.parts
        for verdict in asked.verdicts.get(part.lot_id, ())
        if verdict.destination_id == load.destination_id and verdict.refused
    ]


def is_emptied_first(
    day: VehicleDay, facts: DayFacts, asked: Asked, *, drive_s: Mapping[Point, int]
) -> bool:
    """Return whether a vehicle brings away what it carries before it bags anything.

    That is grass of an earlier day, which sours and heats, as its crew is told. Where nobody takes
    it, or nobody as soon as it can be there, the vehicle works on: a crew that stands before a
    closed gate mows nothing, and what lies there is told all the same. And what is recalled, which
    makes whatever is bagged on top of it a part of the recall: it waits for whoever takes it.

    Parameters
    ----------
    drive_s
        How long the vehicle drives to each point from where it is [s].
    """
    if not day.aboard:
        # A vehicle that stands tips nothing more, though what was loaded before is in it.
        return False
    jobs = [
        facts.known_jobs[piece.job_id]
        for piece in day.aboard
        if piece.mass_kg and piece.hold_entry_id is None
    ]
    # What came out of a bay today is meant to be aboard, however long ago it was cut.
    stays = any(
        since is not None and since < facts.span.start
        for grass in facts.loaded
        if grass.vehicle_id == day.vehicle_id
        for since in [grass.entry.loaded_since(day.vehicle_id)]
    )
    ids = {job_id for piece in day.aboard for job_id in {piece.job_id, *dict(piece.shares)}}
    is_recalled = recall_of(facts.recalls, place_id=None, job_ids=ids) is not None
    if not stays and not is_recalled and all(facts.is_today(job) for job in jobs):
        return False
    row = asked.of_mixture(lot_id for piece in day.aboard for lot_id, _ in piece.shares)
    return any(
        not verdict.refused and (is_recalled or ready.is_open(day.start_s + drive_s[ready.point]))
        for verdict, ready in zip(row, asked.destinations, strict=True)
    )

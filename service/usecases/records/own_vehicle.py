"""The vehicle of a key, or of its crew: whoever has clippings in it answers for them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller, Own
from service.core.crews import Crew, Vehicle
from service.core.errors import RecordMissing
from service.core.jobs import Job, JobState
from service.core.loads import Load
from service.usecases.base.calendar import day_of, span_of
from service.usecases.base.ports.unit_of_work import UnitOfWork

# Whose a load is, by whose a key is.
LOADS_OWN: Final = {
    Own.CREW: "crew_id",
    Own.VEHICLE: "vehicle_id",
    Own.SITE: "destination_id",
}


def own_vehicle_id(unit: UnitOfWork, caller: Caller) -> UUID | None:
    """Return the vehicle that a key is of, or the usual one of its crew; None for any other key."""
    if caller.scope is None:
        return None
    if caller.scope.own is Own.VEHICLE:
        return caller.scope.id
    crew: Crew | None = unit.crews.get(caller.firm_id, caller.scope.id)
    return None if crew is None else crew.vehicle_id


def is_own_vehicle(unit: UnitOfWork, caller: Caller, vehicle: Vehicle, at: datetime) -> bool:
    """Return whether a vehicle is its crew's usual one, or one it has a job with on that day."""
    scope = caller.scope
    if scope is None or scope.own is not Own.CREW:
        return scope is None or (scope.own, scope.id) == (Own.VEHICLE, vehicle.id)
    crew: Crew | None = unit.crews.get(caller.firm_id, scope.id)
    if crew is None or crew.vehicle_id == vehicle.id:
        return crew is not None
    depot = unit.depots.get_many(caller.firm_id, [vehicle.depot_id])[vehicle.depot_id]
    span = span_of(depot, day_of(depot, at))
    jobs = unit.jobs.of_day(caller.firm_id, depot.id, span.start, span.end)
    return any((job.crew_id, job.vehicle_id) == (crew.id, vehicle.id) for job in jobs)


def is_own_load(
    unit: UnitOfWork,
    caller: Caller,
    load: Load,
    own: Mapping[Own, str] = LOADS_OWN,
    *,
    what: str,
) -> bool:
    """Return whether a load is the caller's, or in its vehicle. Raises NotAllowed.

    What was forked over may name the crew that mowed it; whoever's vehicle it is in reports it.
    """
    return caller.may_see(load, own, what=what) or _is_in_own(
        unit, caller, load.vehicle_id, load.arrive_at
    )


def find_load(unit: UnitOfWork, caller: Caller, load_id: UUID) -> Load:
    """Return the firm's load, if it is the caller's or in its vehicle. Raises RecordMissing."""
    load: Load | None = unit.loads.get(caller.firm_id, load_id)
    if load is None or not is_own_load(unit, caller, load, what="read a load"):
        raise RecordMissing(record="load", id=load_id)
    return load


def has_aboard(unit: UnitOfWork, caller: Caller, job: Job) -> bool:
    """Return whether a lot that another crew mowed was forked over into the caller's vehicle."""
    return job.state is JobState.MOWN and _is_in_own(unit, caller, job.vehicle_id, job.at)


def _is_in_own(unit: UnitOfWork, caller: Caller, vehicle_id: UUID, at: datetime) -> bool:
    vehicle: Vehicle | None = unit.vehicles.get(caller.firm_id, vehicle_id)
    return vehicle is not None and is_own_vehicle(unit, caller, vehicle, at)

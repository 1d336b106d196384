"""What a job names: lawn, property, crew, vehicle, depot; and what follows from a name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller, Own
from service.core.crews import Crew
from service.core.errors import FieldFault
from service.core.jobs import Job
from service.usecases.base.batch_cache import Remembered
from service.usecases.base.calendar import day_of
from service.usecases.base.ports import UnitOfWork
from service.usecases.day.told_routing import PICK_UP, told_vehicle

REFERENCES = {
    "property_id": "properties",
    "lawn_id": "lawns",
    "crew_id": "crews",
    "vehicle_id": "vehicles",
    "depot_id": "depots",
}


JOBS_OWN: Final = {Own.CREW: "crew_id", Own.VEHICLE: "vehicle_id"}


def others_faults(caller: Caller, told: object) -> list[FieldFault]:
    """Return a fault if what is told is of another crew or vehicle than the key."""
    field = caller.own_field(JOBS_OWN, what="report work")
    if field is None or caller.may_see(told, JOBS_OWN, what="report work"):
        return []
    detail = "This key reports what its own crew or vehicle does, and nothing of others."
    return [FieldFault(pointer=f"/{field}", detail=detail, code="not_own")]


def is_given(unit: UnitOfWork, caller: Caller, job: Job) -> bool:
    """Return whether the newest plan of a job's day has the caller's own vehicle do it.

    To mow it, or to fork it over: its stop is shown to that crew. Its record names another.
    """
    depot = unit.depots.get(job.firm_id, job.depot_id)
    vehicle_id = own_vehicle_id(unit, caller)
    if caller.scope is None or depot is None:
        return False
    plan = unit.day_plans.latest(job.firm_id, depot.id, day_of(depot, job.at))
    crew_id = caller.scope.id if caller.scope.own is Own.CREW else None
    told = told_vehicle(plan, vehicle_id=vehicle_id, crew_id=crew_id)
    return told is not None and any(
        job.lot_code in {stop.get("lot_code"), *stop.get("lot_codes", ())}
        for stop in told["stops"]
        if stop["kind"] in {"job", PICK_UP}
    )


def own_vehicle_id(unit: UnitOfWork, caller: Caller) -> UUID | None:
    """Return the vehicle that a key is of, or the usual one of its crew; None for any other key."""
    if caller.scope is None:
        return None
    if caller.scope.own is Own.VEHICLE:
        return caller.scope.id
    crew: Crew | None = unit.crews.get(caller.firm_id, caller.scope.id)
    return None if crew is None else crew.vehicle_id


def fill_in(remembered: Remembered, fields: dict[str, Any]) -> list[FieldFault]:
    """Take the property from the lawn and the depot from the vehicle where not given."""
    faults = []
    if fields.get("property_id") is None:
        lawn_id = fields.get("lawn_id")
        lawn = remembered.get("lawns", lawn_id) if lawn_id else None
        if lawn is None:
            faults.append(_missing("/lawn_id", "Name a lawn or a property of the firm."))
        else:
            fields["property_id"] = lawn.property_id
    vehicle = remembered.get("vehicles", fields["vehicle_id"])
    if vehicle is None:
        detail = f"There is no record with the id {fields['vehicle_id']} among vehicles."
        faults.append(_missing("/vehicle_id", detail))
    elif fields.get("depot_id") is None:
        fields["depot_id"] = vehicle.depot_id
    return faults


def missing_names(remembered: Remembered, job: Job) -> list[FieldFault]:
    """Return a fault for every id in a job that names nothing of the firm's."""
    return missing_of(remembered, {field: getattr(job, field) for field in REFERENCES})


def missing_of(remembered: Remembered, fields: Mapping[str, Any]) -> list[FieldFault]:
    """Return a fault for every id among some fields that names nothing of the firm's."""
    faults = []
    for field, repository in REFERENCES.items():
        named = fields.get(field)
        if named is not None and remembered.get(repository, named) is None:
            detail = f"There is no record with the id {named} among {repository}."
            faults.append(_missing(f"/{field}", detail))
    return faults


def other_depot(remembered: Remembered, job: Job) -> list[FieldFault]:
    """Return a fault if the job's vehicle stands at another depot than the job's."""
    vehicle = remembered.get("vehicles", job.vehicle_id)
    if vehicle is None or vehicle.depot_id == job.depot_id:
        return []
    return [
        FieldFault(
            pointer="/depot_id",
            detail="The vehicle stands at another depot; a day has one place to start.",
        )
    ]


def _missing(pointer: str, detail: str) -> FieldFault:
    return FieldFault(pointer=pointer, detail=detail, code="reference_missing")

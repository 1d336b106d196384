"""What a job names: lawn, property, crew, vehicle, depot; and what follows from a name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.core.callers.access import Caller, Own
from service.core.errors import FieldFault
from service.core.jobs import Job
from service.usecases.base.batch_cache import Remembered

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

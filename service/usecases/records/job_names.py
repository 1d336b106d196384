"""What a job names: lawn, property, crew, vehicle, depot; what follows and what contradicts it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.callers.access import Caller, Own
from service.core.crews import Vehicle, is_used_on, last_day_words
from service.core.errors import FieldFault, RecordMissing
from service.core.jobs import Job, JobState
from service.core.measures.units import date_words
from service.core.records import NOBODY
from service.usecases.base.batch_cache import Remembered
from service.usecases.base.calendar import clock_words, day_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.told_routing import PICK_UP, told_vehicle
from service.usecases.records.own_vehicle import has_aboard, own_vehicle_id

REFERENCES = {
    "property_id": "properties",
    "lawn_id": "lawns",
    "crew_id": "crews",
    "vehicle_id": "vehicles",
    "depot_id": "depots",
}
FILLED_IN: Final = ("property_id", "depot_id")
# A lawn on record may be half of what a mower finds, not a tenth; common practice, no source.
AREA_SLACK: Final = 2.0
# A season is entered late, a cut of decades ago is a slip. Common practice, no source.
OLDEST_CUT: Final = timedelta(days=366)
NO_LONGER_USED: Final = "no_longer_used"
OTHER_DEPOT: Final = "The vehicle stands at another depot; a day has one place to start."
# In a row: where it says only what was planned, whatever the lawn has on record by now.
AS_PLANNED: Final = "as_planned"
JOBS_OWN: Final = {Own.CREW: "crew_id", Own.VEHICLE: "vehicle_id"}


def others_faults(caller: Caller, told: object) -> list[FieldFault]:
    """Return a fault if what is told is of another crew or vehicle than the key."""
    field = caller.own_field(JOBS_OWN, what="report work")
    if field is None or caller.may_see(told, JOBS_OWN, what="report work"):
        return []
    detail = (
        "This is another crew's. A key reports what its own crew or vehicle does: leave the others "
        "out, and have the other crew or the office report them."
    )
    return [FieldFault(pointer=f"/{field}", detail=detail, code="not_own")]


def amending_faults(unit: UnitOfWork, caller: Caller, old: Job, new: Job) -> list[FieldFault]:
    """Return a fault if a job is amended that is of another crew or vehicle than the key.

    Who forks it over has it in its own vehicle, or had it, and has not mown it: that is none.
    """
    vehicles = {old.vehicle_id, new.vehicle_id}
    is_moved = len(vehicles) > 1 and old.crew_id == new.crew_id
    if is_moved and own_vehicle_id(unit, caller) in vehicles:
        return []
    return others_faults(caller, new)


def is_theirs(unit: UnitOfWork, caller: Caller, job: Job, *, what: str) -> bool:
    """Return whether a job is the caller's, or its clippings are aboard the caller's vehicle.

    Raises
    ------
    NotAllowed
    """
    return caller.may_see(job, JOBS_OWN, what=what) or has_aboard(unit, caller, job)


def find_job(unit: UnitOfWork, caller: Caller, record_id: UUID, *, what: str) -> Job:
    """Return the job that is kept, or was reported, under an id. Raises RecordMissing.

    A crew's key finds those of its own, those that are aboard its vehicle, and those that the
    newest plan has its vehicle do.
    """
    job: Job | None = unit.jobs.get(caller.firm_id, record_id)
    if job is None:
        job = next(iter(unit.jobs.all(caller.firm_id, reported_as_id=record_id)), None)
    if job is None or not (is_theirs(unit, caller, job, what=what) or is_given(unit, caller, job)):
        raise RecordMissing(record="job", id=record_id)
    return job


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


def fill_in(remembered: Remembered, fields: dict[str, Any]) -> list[FieldFault]:
    """Take the property from the lawn and the depot from the vehicle where not given."""
    faults = []
    for name in FILLED_IN:
        if fields.get(name) is None:
            fields.pop(name, None)
    if "property_id" not in fields:
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
    elif "depot_id" not in fields:
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
    return [FieldFault(pointer="/depot_id", detail=OTHER_DEPOT)]


def of_its_yard(unit: UnitOfWork, old: Job, changed: Mapping[str, Any]) -> Job:
    """Return a job as it is changed; one that is planned is of the yard of the vehicle it is given.

    What is cut stays a job of the yard whose day it was: no body moves by it.
    """
    new = replace(old, **changed)
    if old.state is not JobState.PLANNED or old.vehicle_id == new.vehicle_id:
        return new
    vehicle: Vehicle | None = unit.vehicles.get(old.firm_id, new.vehicle_id)
    if vehicle is None or "depot_id" in changed:
        return new
    return replace(new, depot_id=vehicle.depot_id)


def no_longer_used(remembered: Remembered, job: Job) -> list[FieldFault]:
    """Return a fault for a job's vehicle or crew that is not the firm's any more on its day."""
    at = job.cut_at or job.planned_at
    ending = {
        name: one
        for name in ("vehicle_id", "crew_id")
        if (one := remembered.get(REFERENCES[name], getattr(job, name))) is not None
        and one.used_until is not None
    }
    depot = remembered.get("depots", job.depot_id) if ending and at is not None else None
    if depot is None or at is None:
        return []
    day = day_of(depot, at)
    return [
        FieldFault(
            pointer=f"/{name}",
            detail=f"{last_day_words(one)}; this is on {date_words(day)}.",
            code=NO_LONGER_USED,
        )
        for name, one in ending.items()
        if not is_used_on(day, one)
    ]


def record_faults(remembered: Remembered, told: Any, *, latest: datetime) -> list[FieldFault]:  # noqa: ANN401 - a job, or what can be read of one
    """Return what contradicts the clock or the lawn; what is not told, or unreadable, is None."""
    return [
        *_cut_ahead(remembered, told, latest),
        *_cut_long_ago(told, latest),
        *_lawn_faults(remembered, told),
    ]


def left_as_was(old: Job, new: Job) -> frozenset[str]:
    """Return where an amendment, leaving it so, contradicts no lawn: that one changed since."""
    if old.lawn_id != new.lawn_id:
        return frozenset()
    beside_lawn = ("property_id", "/lawn_id"), ("area_mowed", "/area_mowed")
    return frozenset(
        pointer for name, pointer in beside_lawn if getattr(old, name) == getattr(new, name)
    )


def _cut_ahead(remembered: Remembered, told: Any, latest: datetime) -> list[FieldFault]:  # noqa: ANN401 - see above
    if told.state is not JobState.MOWN or told.cut_at is None or told.cut_at <= latest:
        return []
    detail = "A cut lies in the past."
    vehicle = remembered.get("vehicles", told.vehicle_id) if told.vehicle_id else None
    depot = remembered.get("depots", vehicle.depot_id if vehicle else told.depot_id or NOBODY)
    if depot is not None:
        zone = ZoneInfo(depot.time_zone)
        until = clock_words(latest.astimezone(zone), day=told.cut_at.astimezone(zone).date())
        detail = f"A cut lies in the past; by the depot's clock it may be of {until} at the latest."
    return [FieldFault(pointer="/cut_at", detail=detail)]


def _cut_long_ago(told: Any, latest: datetime) -> list[FieldFault]:  # noqa: ANN401 - see above
    """Return a fault of a cut that was too long ago when it was first recorded."""
    since = told.created_at or latest
    if told.state is not JobState.MOWN or told.cut_at is None or told.cut_at >= since - OLDEST_CUT:
        return []
    detail = (
        f"A cut is recorded within {OLDEST_CUT.days} days; what a bed had before is its opening "
        "balance, and nothing here asks for older mowings. Those of the last year are given as "
        "any cut: with clippings left, or with where they were tipped (POST /loads), and "
        "its weight, which teaches the estimates."
    )
    return [FieldFault(pointer="/cut_at", detail=detail)]


def _lawn_faults(remembered: Remembered, told: Any) -> list[FieldFault]:  # noqa: ANN401 - see above
    """Return what contradicts the lawn: another property's, or more mown than there is."""
    lawn = remembered.get("lawns", told.lawn_id) if told.lawn_id else None
    if lawn is None:
        return []
    faults = []
    if told.property_id is not None and lawn.property_id != told.property_id:
        faults.append(
            FieldFault(pointer="/lawn_id", detail="The lawn belongs to another property.")
        )
    if told.area_mowed and told.area_mowed.si_value > lawn.area.si_value * AREA_SLACK:
        faults.append(
            FieldFault(
                pointer="/area_mowed",
                detail=(
                    f"The lawn has {lawn.area.si_value:g} m² on record; correct the area mown, "
                    "or the lawn."
                ),
                code="more_than_the_lawn",
            )
        )
    return faults


def _missing(pointer: str, detail: str) -> FieldFault:
    return FieldFault(pointer=pointer, detail=detail, code="reference_missing")

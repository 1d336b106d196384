"""Reports of cuts: mown and bagged, or left on the lawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller, Own
from service.core.crews import Vehicle
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable
from service.core.jobs import Job, JobState
from service.core.materials import ClippingsHandling
from service.core.places import Lawn
from service.core.records import NOBODY, Identifiers
from service.core.reports import Done, Report, ReportKind
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.field.late_cut import late_cut_told, late_cuts
from service.usecases.records.field.scope import (
    AlreadyMown,
    Behind,
    NotThisKeys,
    needed,
    vehicle_of,
)
from service.usecases.records.job_names import AS_PLANNED, JOBS_OWN
from service.usecases.records.own_vehicle import own_vehicle_id
from service.usecases.records.visits import HEIGHTS, Visits

SAID: Final = (
    "area_mowed",
    *HEIGHTS,
    "wetness",
    "treatment_history",
    "weeds_in_seed",
    "disease_seen",
    "litter_seen",
    "leaves_mixed",
    "measured_mass",
    "minutes_on_site",
    "remarks",
)
# A planned job of the day stands within as much of the cut.
AROUND: Final = timedelta(days=1)


def keep_cut(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    """Keep a cut: the end of the planned job of its lawn, or a job of its own.

    Raises
    ------
    RecordMissing, RecordNotUsable, AlreadyMown
    """
    del identifiers  # the job's id is the report's, so that a lot is known before it is sent
    return _tipped_since(behind, caller, _kept(behind, caller, report))


def _tipped_since(behind: Behind, caller: Caller, done: Done) -> Done:
    """Return a cut that is told only now, with what it is to be said whether it was tipped in."""
    with behind.open_reading() as unit:
        job: Job | None = unit.jobs.get(caller.firm_id, done.job_id or NOBODY)
        late = late_cuts(unit, [] if job is None or done.again else [job], is_new=True)
        if not late:
            return done
        (cut,) = late
        told = late_cut_told(unit, cut)
    return replace(done, sentence=f"{done.sentence} {told['sentence']}", warnings=(told,))


def _kept(behind: Behind, caller: Caller, report: Report) -> Done:
    if report.job_id is not None:
        return _of_job(behind, caller, report, report.job_id)
    lawn_id = report.lawn_id or NOBODY
    with behind.open_reading() as unit:
        lawn: Lawn | None = unit.lawns.get(caller.firm_id, lawn_id)
        near = unit.jobs.visits(
            caller.firm_id,
            [report.id],
            lawn_ids=[lawn_id],
            start=report.at - AROUND,
            end=report.at + AROUND,
        )
        kept = next((job for job in near if report.id in {job.id, job.reported_as_id}), None)
        if kept is not None:
            return _told(kept)
        vehicle_id = vehicle_of(behind, caller, report)
        planned = _planned_for(unit, caller, report, near, vehicle_id)
    values: dict[str, Any] = {
        "id": report.id,
        "lawn_id": lawn_id,
        "crew_id": report.crew_id or (planned and planned.crew_id),
        "vehicle_id": vehicle_id,
        "state": JobState.MOWN,
        "cut_at": report.at,
        **_said(report),
    }
    if values["crew_id"] is None:
        raise needed("crew_id", "Name the crew that mowed.")
    if planned is not None and not values.keys() & set(HEIGHTS):
        values |= {name: getattr(planned, name) for name in HEIGHTS}
    if "area_mowed" not in values and (planned or lawn):
        # Who says of a lawn that it is mown says it of all that was to be mown there.
        values["area_mowed"] = planned.area_mowed if planned else lawn.area if lawn else None
    if "area_mowed" not in values:
        detail = "There is no lawn with this id."
        raise RecordNotUsable(
            [FieldFault(pointer="/lawn_id", detail=detail, code="reference_missing")]
        )
    if planned is not None and values["area_mowed"] == planned.area_mowed:
        values[AS_PLANNED] = ("/area_mowed",)
    (answer,) = behind.record_jobs.create_many(caller, [values])
    if answer.job is None:
        raise answer.refusal or needed("lawn_id", "There is no such lawn.")
    return _told(answer.job)


def _planned_for(
    unit: UnitOfWork, caller: Caller, report: Report, near: Sequence[Job], vehicle_id: UUID
) -> Job | None:
    """Return the planned job that the cut will complete once it is kept."""
    like = next((job for job in near if job.state is JobState.PLANNED), None)
    vehicle: Vehicle | None = unit.vehicles.get(caller.firm_id, vehicle_id)
    if like is None or vehicle is None:
        return None
    cut = replace(
        like,
        id=report.id,
        state=JobState.MOWN,
        cut_at=report.at,
        crew_id=report.crew_id or like.crew_id,
        vehicle_id=vehicle_id,
        depot_id=vehicle.depot_id,
    )
    return Visits(near, read_lot_facts(unit, caller.firm_id, [*near, cut])).planned_for(cut)


def _of_job(behind: Behind, caller: Caller, report: Report, job_id: UUID) -> Done:
    """Complete the job that a report names.

    Of another crew's, which the plan has this one do, crew and vehicle are the key's own.
    """
    try:
        job = behind.record_jobs.read(caller, job_id)
    except RecordMissing as missing:
        if caller.scope is None:
            raise
        raise NotThisKeys(id=job_id) from missing
    if not caller.may_see(job, JOBS_OWN, what="report work"):
        report = _by_key(behind, caller, report)
    changes = _changes(report)
    if job.state is not JobState.PLANNED:
        if job.reported_as_id == report.id or is_said_of(job, report):
            return _told(job, again=job.reported_as_id != report.id)
        raise AlreadyMown(lot=job.lot_code, state=job.state.value.replace("_", " "))
    job = behind.record_jobs.amend(
        caller,
        job.id,
        {**changes, "reported_as_id": report.id},
        expected_version=job.version,
        reason=report.reason or "Reported as mown.",
    )
    return _told(job)


def _by_key(behind: Behind, caller: Caller, report: Report) -> Report:
    """Return a report with the crew and the vehicle of the key, where it names none."""
    scope = caller.scope
    crew_id = scope.id if scope is not None and scope.own is Own.CREW else None
    with behind.open_reading() as unit:
        vehicle_id = report.vehicle_id or own_vehicle_id(unit, caller)
    if vehicle_id is None:
        raise needed("vehicle_id", "Name the vehicle that has the clippings.")
    return replace(report, crew_id=report.crew_id or crew_id, vehicle_id=vehicle_id)


def is_said_of(job: Job, report: Report) -> bool:
    """Return whether a job says already what a report says of it: another try kept it."""
    return replace(job, **_changes(report)) == job


def _changes(report: Report) -> dict[str, Any]:
    changes: dict[str, Any] = {
        "state": JobState.MOWN,
        "cut_at": report.at,
        **_said(report),
    }
    if changes.keys() & set(HEIGHTS):
        changes = dict.fromkeys(HEIGHTS) | changes
    for name in ("crew_id", "vehicle_id"):
        if getattr(report, name) is not None:
            changes[name] = getattr(report, name)
    return changes


def _said(report: Report) -> dict[str, Any]:
    """Return the fields of a job that a report says anything of."""
    said = {name: getattr(report, name) for name in SAID if getattr(report, name) is not None}
    clippings = report.clippings or ClippingsHandling.COLLECTED
    said["clippings"] = ClippingsHandling.LEFT if report.kind is ReportKind.LEFT else clippings
    return said


def _told(job: Job, *, again: bool = False) -> Done:
    if again:
        sentence = "It was on record already."
    elif job.state is JobState.POSSIBLE_DUPLICATE:
        sentence = (
            "A cut like it is on record. It is kept, and counts for nothing until somebody "
            "decides whether it is the same."
        )
    elif job.reported_as_id is not None:
        sentence = f"Mown: the planned job {job.lot_code} is done."
    else:
        sentence = f"Mown, and on record as {job.lot_code}."
    return Done(sentence=sentence, job_id=job.id, again=again)

"""A report that was a mistake is taken back: by an entry of its own, as everything is."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.crews import VehicleOutage
from service.core.errors import RecordMissing, Refusal
from service.core.jobs import Job, JobState
from service.core.loads import LoadState
from service.core.materials import ClippingsHandling, GrassKind, TreatmentHistory, Wetness
from service.core.measures.quantities import Measure
from service.core.records import NOBODY, Identifiers
from service.core.reports import Done, Report, ReportKind
from service.usecases.base.calendar import depot_clock
from service.usecases.base.destination_kinds import KINDS
from service.usecases.mass_book.movements import TIPPED_STATES, MoreThanThereIs
from service.usecases.records.field.scope import Behind, refuse_others_vehicle
from service.usecases.records.visits import WORKED_OUT

TAKEN_BACK_ALREADY = "It was taken back already."
# The fields of a job that are words of a list.
WORDS: Final[Mapping[str, type[StrEnum]]] = {
    "state": JobState,
    "wetness": Wetness,
    "grass_kind": GrassKind,
    "clippings": ClippingsHandling,
    "treatment_history": TreatmentHistory,
}
REASON = "Taken back by whoever reported it."


class NotUndone(Refusal):
    """What an undo did, or what did nothing, has nothing to take back."""

    code = "not_undone"
    sentence = "That report changed nothing that could be taken back. Report what was, instead."


class TippedSince(Refusal):
    """What was cut has been tipped: whoever takes the cut back takes back the tip before."""

    code = "tipped_since"
    sentence = (
        "What was cut there was tipped since: {tips}. If there was no cut, take back the tip "
        "first, then the cut. If only the tip was wrong, take back the tip and report it anew. If "
        "only the area or the height was wrong, correct the cut; or ask the office."
    )


def key_of(report_id: UUID) -> str:
    """Return the key under which the answer to a report is kept."""
    return f"report {report_id}"


def keep_undo(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    """Take back what an earlier report wrote.

    Raises
    ------
    RecordMissing, NotUndone
        And whatever the use case behind refuses, with the way on.
    """
    del identifiers  # it makes no record
    undoes = report.undoes or NOBODY
    with behind.open_reading() as unit:
        kept = unit.answers.get(caller.firm_id, key_of(undoes))
    if kept is None or kept.body is None:
        if behind.unkept_tips.drop(caller, undoes):
            # It was refused: there is nothing to take back but that it waits for the office.
            return Done(sentence="Taken back.")
        raise RecordMissing(record="report", id=undoes)
    was: dict[str, Any] = json.loads(kept.body)
    reason = report.reason or REASON
    kind = ReportKind(was["kind"])
    if was["again"]:
        # What stood before it is somebody else's word.
        raise NotUndone
    if was["job_id"] is not None:
        _cut(behind, caller, UUID(was["job_id"]), undoes, reason)
    elif was["load_id"] is not None:
        _load(behind, caller, UUID(was["load_id"]), kind, reason)
    elif was["vehicle_outage_id"] is not None:
        _outage(behind, caller, report, UUID(was["vehicle_outage_id"]), kind)
    elif was["before"] or was.get("hold_entry_ids"):
        vehicles = {UUID(job_id): UUID(one) for job_id, one in (was["before"] or {}).items()}
        changes = {job_id: {"vehicle_id": one} for job_id, one in vehicles.items()}
        entries = [UUID(one) for one in was.get("hold_entry_ids") or ()]
        # First what may be refused: some of a heap can have been tipped since.
        behind.load_held.taken_back(caller, entries, report_id=undoes, reason=reason)
        if changes:
            behind.record_jobs.amend_many(caller, changes, reason=reason, never_aboard=True)
    else:
        raise NotUndone
    return Done(sentence="Taken back.")


def _cut(behind: Behind, caller: Caller, job_id: UUID, report_id: UUID, reason: str) -> None:
    job = behind.record_jobs.read(caller, job_id)
    changes: dict[str, Any] = {"state": JobState.CANCELLED}
    if job.reported_as_id == report_id:
        # It was planned before that report, and is again: for another crew, if it was theirs.
        changes = _as_planned(behind, caller, job)
        caller = caller.granted(job.id)
    elif job.id != report_id:
        raise NotUndone
    if job.state is not changes["state"]:
        try:
            behind.record_jobs.amend(
                caller, job.id, changes, expected_version=job.version, reason=reason
            )
        except MoreThanThereIs as refusal:
            tips = _tips_of(behind, job)
            if not tips:
                raise
            raise TippedSince(tips=", ".join(tips)) from refusal


def _tips_of(behind: Behind, job: Job) -> list[str]:
    """Return when and where some of a cut was tipped, in words."""
    told = []
    with behind.open_reading() as unit:
        depot = unit.depots.get(job.firm_id, job.depot_id)
        loads = unit.loads.all(job.firm_id, lot_code=job.lot_code)
        for load in sorted(loads, key=lambda one: (one.arrive_at, one.id)):
            if load.done_at is None or load.state not in TIPPED_STATES:
                continue
            books = getattr(unit, KINDS[load.destination_kind].repository)
            place = books.get(job.firm_id, load.destination_id)
            where = load.destination_kind.value.replace("_", " ")
            at = depot_clock(depot, load.done_at, now=job.at)
            told.append(f"{at}, {where if place is None else place.name}")
    return told


def _as_planned(behind: Behind, caller: Caller, job: Job) -> dict[str, Any]:
    """Return what a completed job was before its cut, but for what was corrected of it since."""
    was: dict[str, Any] = {}
    for amendment in behind.record_jobs.history(caller, job.id):
        changed: Mapping[str, Any] = amendment.changes
        if str(changed.get("reported_as_id", [None, None])[1]) == str(job.reported_as_id):
            was = {
                name: read_field(name, before)
                for name, (before, became) in changed.items()
                if name not in WORKED_OUT and read_field(name, became) == getattr(job, name)
            }
    return was | {"state": JobState.PLANNED, "cut_at": None, "reported_as_id": None}


def read_field(name: str, kept: object) -> object:
    """Return a job's value as it was before its history kept it as plain text and numbers."""
    if isinstance(kept, dict):
        return Measure(**kept)
    word = WORDS.get(name)
    return word(kept) if word is not None and isinstance(kept, str) else kept


def _load(behind: Behind, caller: Caller, load_id: UUID, kind: ReportKind, reason: str) -> None:
    with behind.open_reading() as unit:
        load = unit.loads.get(caller.firm_id, load_id)
    if load is None:
        raise RecordMissing(record="load", id=load_id)
    changes: dict[str, Any] = {"state": LoadState.PLANNED}
    if kind is ReportKind.WEIGHED:
        changes = {"weighed_net": None, "weigh_ticket": None}
    if load.state not in {LoadState.PLANNED, LoadState.SUPERSEDED}:
        behind.update_load(caller, load.id, changes, expected_version=load.version, reason=reason)


def _was_to_be_back(behind: Behind, caller: Caller, outage: VehicleOutage) -> datetime | None:
    """Return for when a vehicle was said to be back before it was reported so; None: nobody had."""
    for amendment in reversed(behind.vehicle_outages.history(caller, outage.id)):
        changed: Mapping[str, Any] = amendment.changes
        if "back_at" in changed:
            before: datetime | None = changed["back_at"][0]
            return before
    return None


def _outage(
    behind: Behind, caller: Caller, report: Report, outage_id: UUID, kind: ReportKind
) -> None:
    with behind.open_reading() as unit:
        outage: VehicleOutage | None = unit.vehicle_outages.get(caller.firm_id, outage_id)
    if outage is None:
        raise RecordMissing(record="vehicle outage", id=outage_id)
    refuse_others_vehicle(behind, caller, report, outage.vehicle_id)
    caller = caller.granted(outage.id)
    version = outage.version
    if kind is ReportKind.VEHICLE_OUT:
        behind.vehicle_outages.delete(caller, outage.id, expected_version=version)
        return
    behind.vehicle_outages.amend(
        caller,
        outage.id,
        {"back_at": _was_to_be_back(behind, caller, outage)},
        expected_version=version,
        reason=report.reason or REASON,
    )

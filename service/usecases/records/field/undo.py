"""A report that was a mistake is taken back: by an entry of its own, as everything is."""

from __future__ import annotations

import json
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordMissing, Refusal
from service.core.jobs import JobState
from service.core.loads import LoadState
from service.core.records import Identifiers
from service.core.reports import Done, Report, ReportKind
from service.usecases.records.field.scope import Behind, needed

REASON = "Taken back by whoever reported it."


class NotUndone(Refusal):
    """What an undo did, or what did nothing, has nothing to take back."""

    code = "not_undone"
    sentence = "That report changed nothing that could be taken back. Report what was, instead."


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
    if report.undoes is None:
        raise needed("undoes", "Name the report that was a mistake.")
    with behind.open_reading() as unit:
        kept = unit.answers.get(caller.firm_id, key_of(report.undoes))
    if kept is None or kept.body is None:
        raise RecordMissing(record="report", id=report.undoes)
    was: dict[str, Any] = json.loads(kept.body)
    reason = report.reason or REASON
    kind = ReportKind(was["kind"])
    if was["job_id"] is not None:
        _cut(behind, caller, UUID(was["job_id"]), report.undoes, reason)
    elif was["load_id"] is not None:
        _load(behind, caller, UUID(was["load_id"]), kind, reason)
    elif was["vehicle_outage_id"] is not None:
        _outage(behind, caller, UUID(was["vehicle_outage_id"]), kind, reason)
    elif was["before"]:
        for job_id, vehicle_id in was["before"].items():
            job = behind.record_jobs.read(caller, UUID(job_id))
            behind.record_jobs.amend(
                caller,
                job.id,
                {"vehicle_id": UUID(vehicle_id)},
                expected_version=job.version,
                reason=reason,
            )
    else:
        raise NotUndone
    return Done(sentence="Taken back.")


def _cut(behind: Behind, caller: Caller, job_id: UUID, report_id: UUID, reason: str) -> None:
    job = behind.record_jobs.read(caller, job_id)
    changes: dict[str, Any] = {"state": JobState.CANCELLED}
    if job.reported_as_id == report_id:
        # It was planned before that report, and is again.
        changes = {"state": JobState.PLANNED, "cut_at": None, "reported_as_id": None}
    if job.state is not changes["state"]:
        behind.record_jobs.amend(
            caller, job.id, changes, expected_version=job.version, reason=reason
        )


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


def _outage(behind: Behind, caller: Caller, outage_id: UUID, kind: ReportKind, reason: str) -> None:
    outage = behind.vehicle_outages.read(caller, outage_id)
    if kind is ReportKind.VEHICLE_OUT:
        behind.vehicle_outages.delete(caller, outage.id, expected_version=outage.version)
        return
    behind.vehicle_outages.amend(
        caller, outage.id, {"back_at": None}, expected_version=outage.version, reason=reason
    )

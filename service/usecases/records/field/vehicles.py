"""Reports of vehicles: out, back, and what was forked over into another."""

from __future__ import annotations

from dataclasses import replace
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.crews import VehicleOutage
from service.core.errors import FieldFault, RecordExists, RecordNotUsable
from service.core.records import NOBODY, Identifiers
from service.core.reports import Done, Report
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.records.field.aboard import aboard
from service.usecases.records.field.scope import (
    Behind,
    NothingAboard,
    refuse_others_vehicle,
    vehicle_of,
)
from service.usecases.records.keep_outages import ALREADY_OUT
from service.usecases.records.loads.tipped_parts import told_share
from service.usecases.records.visits import lot_ids

ON_RECORD = "It was on record already."
LOADED = "Loaded: it is aboard now."
FORKED_OVER = "Forked over into another vehicle."
ONLY_WHOLE: Final = (
    "A lot is forked over as a whole; {aboard:.1%} of {lot} is aboard. Leave this out if all of "
    "that is in the other vehicle now. Of a part, report its tip with the other vehicle's "
    "vehicle_id and the part in parts; what is not tipped is still in this one."
)
# A share that was copied from what is told is rounded. Common practice, no source.
ALIKE: Final = 0.005
STILL_OUT = "It is on record as out already."


def keep_loaded(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    """Keep that a vehicle loaded of what lies in a bay: it is aboard from then on.

    Raises
    ------
    RecordMissing, RecordNotUsable, StateNotReachable, MoreThanThereIs
    """
    del identifiers  # it makes no record
    vehicle_id = vehicle_of(behind, caller, report)
    refuse_others_vehicle(behind, caller, report, vehicle_id)
    entry_id = report.hold_entry_id or NOBODY
    is_news = behind.load_held(
        caller,
        entry_id,
        vehicle_id,
        report_id=report.id,
        at=report.at,
        mass=report.mass,
        reason=report.reason,
    )
    if not is_news:
        return Done(sentence=ON_RECORD, again=True)
    hot = behind.tell_tipped.loaded(caller, entry_id)
    said = " ".join((LOADED, *(str(one["sentence"]) for one in hot)))
    return Done(sentence=said, hold_entry_ids=(str(entry_id),), warnings=hot)


def keep_given(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    """Keep that lots were forked over: they are aboard the other vehicle from then on.

    A lot is in one body or in another: a part of what is aboard is refused.

    Raises
    ------
    RecordNotUsable, NothingAboard
    """
    del identifiers  # it makes no record
    parts = report.parts
    if not parts:
        with behind.open_reading() as unit:
            parts = aboard(unit, caller, report, vehicle_of(behind, caller, report))
    ids = [part.job_id for part in parts if part.hold_entry_id is None]
    _refuse_parts_of_lots(behind, caller, report)
    loaded = {part.hold_entry_id for part in parts if part.hold_entry_id is not None}
    if not parts:
        raise NothingAboard
    jobs = {job.id: job for job in (behind.record_jobs.read(caller, job_id) for job_id in ids)}
    moved = {job.id: job for job in jobs.values() if job.vehicle_id != report.to_vehicle_id}
    reason = report.reason or FORKED_OVER
    entries: list[UUID] = []
    vehicle_id = vehicle_of(behind, caller, report) if loaded else None
    if vehicle_id is not None:
        refuse_others_vehicle(behind, caller, report, vehicle_id)
    leaves = {part.lot_id for part in parts}
    givers = {job.vehicle_id for job in moved.values()}
    givers |= {vehicle_id} if vehicle_id is not None else set()
    for giver in sorted(givers - {report.to_vehicle_id}):
        behind.keep_mixed(caller, giver, leaves, at=report.at)
    # First what may be refused: of a heap all that is in the body is forked over.
    if moved:
        behind.record_jobs.amend_many(
            caller,
            {job_id: {"vehicle_id": report.to_vehicle_id} for job_id in moved},
            reason=reason,
            taken_over_at=report.at,
        )
    if vehicle_id is not None:
        entries = behind.load_held.forked_over(
            caller,
            vehicle_id,
            report.to_vehicle_id or NOBODY,
            report_id=report.id,
            at=report.at,
            only=loaded,
            reason=reason,
        )
    if not moved and not entries:
        return Done(sentence=ON_RECORD, again=True)
    before = {str(job.id): str(job.vehicle_id) for job in moved.values()}
    return Done(
        sentence=f"Forked over: {len(before) + len(entries)} of the lots.",
        before=before,
        hold_entry_ids=tuple(map(str, entries)),
    )


def _refuse_parts_of_lots(behind: Behind, caller: Caller, report: Report) -> None:
    """Refuse to fork over another amount of a lot than what is aboard. Raises RecordNotUsable."""
    if all(part.share is None and part.mass is None for part in report.parts):
        return
    faults = []
    with behind.open_reading() as unit:
        known = lot_ids(unit, caller.firm_id, sorted({part.job_id for part in report.parts}))
        parts = [replace(one, job_id=known.get(one.job_id, one.job_id)) for one in report.parts]
        jobs = unit.jobs.get_many(caller.firm_id, sorted({part.job_id for part in parts}))
        aboard, _ = lots_aboard(unit, caller.firm_id, jobs, report.vehicle_id)
        for number, part in enumerate(parts):
            all_of_it = aboard.get(part.lot_id, 0.0)
            job = jobs.get(part.job_id)
            if job is None or abs(told_share(part, job, aboard) - all_of_it) <= ALIKE:
                continue
            detail = ONLY_WHOLE.format(aboard=all_of_it, lot=job.lot_code)
            name = "mass" if part.mass is not None else "share"
            faults.append(FieldFault(pointer=f"/parts/{number}/{name}", detail=detail))
    if faults:
        raise RecordNotUsable(faults)


def keep_out(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    """Keep that a vehicle is out from then on.

    Raises
    ------
    RecordNotUsable
    """
    vehicle_id = vehicle_of(behind, caller, report)
    refuse_others_vehicle(behind, caller, report, vehicle_id)
    standing = _standing(behind, caller, report)
    if standing is not None:
        return Done(again=True, sentence=STILL_OUT, vehicle_outage_id=standing.id)
    values = {"vehicle_id": vehicle_id, "out_since": report.at, "reason": report.reason}
    values |= {"point": report.point, "remarks": report.remarks}
    try:
        outage = behind.vehicle_outages.create(caller, values, identifiers=identifiers)
    except RecordNotUsable as refusal:
        if all(fault.fault_code != ALREADY_OUT for fault in refusal.faults):
            raise
        # It was out later on, too: the office knows more than one report does.
        return Done(again=True, sentence=STILL_OUT)
    except RecordExists as kept:
        # A try before this one kept it, by another reading of the device's clock.
        return Done(sentence=STILL_OUT, vehicle_outage_id=UUID(str(kept.facts["id"])))
    return Done(sentence="The office knows that the vehicle is out.", vehicle_outage_id=outage.id)


def keep_back(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    """Keep that a vehicle works again.

    Raises
    ------
    RecordNotUsable, VersionOvertaken
    """
    del identifiers  # it makes no record
    vehicle_id = vehicle_of(behind, caller, report)
    refuse_others_vehicle(behind, caller, report, vehicle_id)
    standing = _standing(behind, caller, report, of_days_before=True)
    if standing is None:
        return Done(sentence="Nothing on record says that it is out.", again=True)
    behind.vehicle_outages.amend(
        caller.granted(standing.id),
        standing.id,
        {"back_at": report.at},
        expected_version=standing.version,
        reason=report.reason or "works again",
    )
    return Done(sentence="The office knows that it works again.", vehicle_outage_id=standing.id)


def _standing(
    behind: Behind, caller: Caller, report: Report, *, of_days_before: bool = False
) -> VehicleOutage | None:
    """Return the record that a vehicle was out then and is not back, of the hours before.

    Or, if that is asked for, of any day before, also of one that was to be back later than then.
    """
    vehicle_id = vehicle_of(behind, caller, report)
    with behind.open_reading() as unit:
        found: list[VehicleOutage] = unit.vehicle_outages.all(caller.firm_id, vehicle_id=vehicle_id)
    then = [
        one
        for one in found
        if one.out_since <= report.at
        and (
            of_days_before or (report.at - one.out_since).days == 0
            if one.back_at is None
            else of_days_before and one.back_at > report.at
        )
    ]
    return max(then, key=lambda one: one.out_since, default=None)

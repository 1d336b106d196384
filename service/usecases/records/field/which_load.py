"""Which load a report is about: the one it names, what took its place, or the one for a place."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.core.loads import OPEN_LOAD_STATES, Load, LoadState
from service.core.mass_book import NOTHING
from service.core.reports import Report, ReportKind
from service.documents.rendering.reader import refusal_code
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.records.field.aboard import aboard
from service.usecases.records.field.scope import Behind, vehicle_of
from service.usecases.records.held.queue_states import STAYED_STATES
from service.usecases.records.loads.parts_on_record import parts_on_record
from service.usecases.records.loads.said_of_grass import MEANS

# A weight is told at the gate or in the evening; common practice, no source.
WEIGHED_WITHIN: Final = timedelta(days=1)
# Gate and crew tell of one load each by its own clock; common practice, no source.
TOLD_TWICE_WITHIN: Final = timedelta(minutes=15)
SAID_BY_GATES: Final = {
    ReportKind.TIPPED: LoadState.DELIVERED,
    ReportKind.REFUSED: LoadState.REFUSED,
    ReportKind.PART_TAKEN: LoadState.PARTLY_REFUSED,
}


def known_load(behind: Behind, caller: Caller, report: Report) -> Load | None:
    """Return the load that a report is about, as it is on record by now; None if there is none.

    Raises
    ------
    RecordMissing
        If it names one that never was.
    """
    with behind.open_reading() as unit:
        if report.load_id is not None:
            load: Load | None = unit.loads.get(caller.firm_id, report.load_id)
            if load is None:
                raise RecordMissing(record="load", id=report.load_id)
            elsewhere = report.destination_id not in {None, load.destination_id}
            if load.state is LoadState.SUPERSEDED:
                load = _successor(unit, load, report)
            if elsewhere or load is None:
                return None
            if load.state not in OPEN_LOAD_STATES:
                return load
            lots = {part.lot_id for part in load.parts}
            return _told_of_lots(unit, caller, report, load, lots) or load
        if report.destination_id is None:
            return None
        vehicle_id = vehicle_of(behind, caller, report)
        if report.parts:
            parts = parts_on_record(unit, caller.firm_id, report.parts)
            lots = {part.lot_id for part in parts if part.share is None and part.mass is None}
            is_whole = len(lots) == len(parts)
            there = replace(report, vehicle_id=vehicle_id)
            return _told_of_lots(unit, caller, report, there, lots) if is_whole else None
        return _there(unit, caller, report, vehicle_id)


def _told_of_lots(
    unit: UnitOfWork, caller: Caller, report: Report, there: Load | Report, lots: set[UUID]
) -> Load | None:
    """Return the load by which somebody else told a tip of lots that are aboard no more.

    Parameters
    ----------
    there
        What names the vehicle and the place.
    """
    if report.kind is not ReportKind.TIPPED:
        return None
    twice = [
        load
        for load in _loads_there(unit, caller, report, there)
        if load.id != report.load_id
        and lots <= {part.lot_id for part in load.parts}
        and is_told_twice(load, report)
        and not _is_own_word(unit, caller, load)
    ]
    jobs = unit.jobs.get_many(
        caller.firm_id, sorted({p.job_id for one in twice for p in one.parts})
    )
    left, _ = lots_aboard(unit, caller.firm_id, jobs, there.vehicle_id)
    if any(left.get(lot_id, 0.0) > NOTHING for lot_id in lots):
        return None
    return min(twice, key=lambda one: (_apart(one, report), one.id), default=None)


def _is_own_word(unit: UnitOfWork, caller: Caller, load: Load) -> bool:
    """Return whether a crew or vehicle told of a tip itself: its next one is a second tip.

    A key of the whole firm passes on what anybody says.
    """
    lots = sorted({part.job_id for part in load.parts}) if caller.scope is not None else []
    return any(
        one.cause_id == load.id and one.key_id == caller.key_id
        for one in unit.mass_movements.of_lots(load.firm_id, lots)
    )


def _successor(unit: UnitOfWork, load: Load, report: Report) -> Load | None:
    """Return the load that took the place of one: the same lots, to the place it was tipped at.

    One that a breakdown took off its vehicle was tipped before it, if nobody else has it.
    """
    place = report.destination_id or load.destination_id
    lots = {part.job_id for part in load.parts}
    others = unit.loads.all(
        load.firm_id,
        working_day=load.working_day,
        destination_id=place,
        vehicle_id=report.vehicle_id or load.vehicle_id,
    )
    alike = [
        one
        for one in others
        if one.state is not LoadState.SUPERSEDED and lots & {part.job_id for part in one.parts}
    ]
    return max(alike, key=lambda one: (one.state in OPEN_LOAD_STATES, one.id), default=None)


def _there(unit: UnitOfWork, caller: Caller, report: Report, vehicle_id: UUID) -> Load | None:
    """Return the load of a vehicle for a place that a report is of, if it is all that is aboard."""
    found = _loads_there(unit, caller, report, replace(report, vehicle_id=vehicle_id))
    ended = [load for load in found if load.state in STAYED_STATES and _is_before(load, report)]
    if report.kind is ReportKind.WEIGHED:
        return max(ended, key=lambda one: (one.done_at or one.arrive_at, one.id), default=None)
    ahead = [load for load in found if load.state in OPEN_LOAD_STATES]
    if report.kind is ReportKind.SET_OFF:
        ahead = ahead or ended
    whole = {part.lot_id for part in aboard(unit, caller, report, vehicle_id)}
    # With anything else aboard it may be of that; what is aboard at all is of a second tip.
    twice = [
        load
        for load in found
        if (is_told_twice(load, report) or _says_it_was_all(load, report))
        and whole <= {part.lot_id for part in load.parts}
        and not (report.kind is ReportKind.TIPPED and _is_second(unit, caller, load, whole))
    ]
    if twice:
        return min(twice, key=lambda one: (_apart(one, report), one.id))
    for load in sorted(ahead, key=lambda one: (one.sequence, one.id)):
        # A body is emptied: what else lies in it is tipped with it.
        if load.state not in OPEN_LOAD_STATES or whole <= {part.lot_id for part in load.parts}:
            return load
    return None


def _loads_there(
    unit: UnitOfWork, caller: Caller, report: Report, there: Load | Report
) -> list[Load]:
    """Return the loads of a vehicle for a place, of the days around a report."""
    found = unit.loads.all(
        caller.firm_id,
        vehicle_id=there.vehicle_id,
        destination_id=there.destination_id,
        working_day=tuple(report.at.date() + timedelta(days=n) for n in (-1, 0, 1)),
    )
    return [load for load in found if load.state is not LoadState.SUPERSEDED]


def _is_second(unit: UnitOfWork, caller: Caller, load: Load, whole: set[UUID]) -> bool:
    """Return whether a tip is not the one that a load is of: by what was aboard, or who told."""
    is_all = load.state is LoadState.DELIVERED
    return (is_all and bool(whole)) or _is_own_word(unit, caller, load)


def _says_it_was_all(load: Load, report: Report) -> bool:
    """Return whether all is told as tipped of what a gate said then that it took a part of."""
    return (
        (report.kind, load.state) == (ReportKind.TIPPED, LoadState.PARTLY_REFUSED)
        and _apart(load, report) <= TOLD_TWICE_WITHIN
        and _weighs_the_same(load, report)
    )


def is_told_twice(load: Load, report: Report) -> bool:
    """Return whether what a gate says of a load is on record by the crew's word, or the reverse.

    As much was sent away at about the same time, nothing is said of the grass that the first did
    not say, and no other ticket or weight was given for it.
    """
    shares = {ReportKind.PART_TAKEN: report.refused_share, ReportKind.REFUSED: 1.0}
    seen = MEANS.get(refusal_code(report.reason) or "")
    return (
        SAID_BY_GATES.get(report.kind) is load.state
        and shares.get(report.kind) in {None, load.refused_share}
        and _apart(load, report) <= TOLD_TWICE_WITHIN
        and seen in {None, MEANS.get(refusal_code(load.refusal_reason) or "")}
        and _weighs_the_same(load, report)
    )


def _weighs_the_same(load: Load, report: Report) -> bool:
    return (report.weigh_ticket is None or load.weigh_ticket in {None, report.weigh_ticket}) and (
        report.weighed_net is None or load.weighed_net in {None, report.weighed_net}
    )


def _apart(load: Load, report: Report) -> timedelta:
    return abs((load.done_at or load.arrive_at) - report.at)


def _is_before(load: Load, report: Report) -> bool:
    return load.done_at is not None and report.at - WEIGHED_WITHIN <= load.done_at <= report.at

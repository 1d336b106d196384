"""Reports of loads: on the way, tipped at a place, weighed, sent away, a part taken.

A device knows the load of the plan it saw last. A plan since may have put another in its place,
and a crew may tip where no plan sent it: what happened is kept either way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from service.core.callers.access import Caller
from service.core.loads import (
    ENDED_STATES,
    Load,
    LoadPart,
    LoadState,
    TicketReview,
)
from service.core.mass_book import NOTHING
from service.core.records import Identifiers
from service.core.reports import Done, Report, ReportKind
from service.usecases.base.idempotency import SeededIdentifiers
from service.usecases.mass_book.aboard import lots_aboard
from service.usecases.records.field.aboard import (
    aboard,
    aboard_anywhere,
    is_of_more_than_was_aboard,
)
from service.usecases.records.field.scope import (
    Behind,
    EndedOtherwise,
    EndedSince,
    NothingAboard,
    NoTipThere,
    TipNotKept,
    WeighedOtherwise,
    needed,
    vehicle_of,
)
from service.usecases.records.field.sent_there import was_planned, was_told
from service.usecases.records.field.which_load import WEIGHED_WITHIN, is_told_twice, known_load
from service.usecases.records.held.queue_states import StateNotReachable
from service.usecases.records.loads.parts_on_record import parts_on_record
from service.usecases.records.loads.record_tip import NewTip
from service.usecases.records.loads.update_load import NotMownYet

ENDS: Final = {
    ReportKind.SET_OFF: LoadState.UNDER_WAY,
    ReportKind.TIPPED: LoadState.DELIVERED,
    ReportKind.REFUSED: LoadState.REFUSED,
    ReportKind.PART_TAKEN: LoadState.PARTLY_REFUSED,
}
SENTENCES: Final = {
    ReportKind.SET_OFF: "On its way.",
    ReportKind.TIPPED: "Tipped, and on record.",
    ReportKind.REFUSED: "Sent away: it is aboard again, and a next place is looked for.",
    ReportKind.PART_TAKEN: "A part was taken; the rest is aboard again.",
    ReportKind.WEIGHED: "The weight is on record.",
}
OFF_THE_PLAN: Final = " No plan sent it there; it is kept as it happened."
OTHERWISE: Final = " It was planned with other grass; it is kept as it happened."
CHANGED_SINCE: Final = " The plan has changed since; it is kept as it happened."
TOLD: Final = " The office is told; ask there what to do with it."
ON_RECORD: Final = "It was on record already."


def keep_load(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    """Keep what happened to a load, or to what was in the body without one.

    Raises
    ------
    Refusal
        Each says what else can be sent.
    """
    return _with_warnings(behind, caller, _kept(behind, caller, report, identifiers))


def _with_warnings(behind: Behind, caller: Caller, done: Done) -> Done:
    """Return what became of a report, with what stands against its place, or had no room there."""
    if done.load_id is None:
        return done
    told = behind.tell_tipped(caller, done.load_id)
    if not told:
        return done
    said = " ".join(str(one["sentence"]) for one in told)
    return replace(done, sentence=f"{done.sentence} {said}{TOLD}", warnings=told)


def _kept(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    load = known_load(behind, caller, report)
    if load is None and report.kind is ReportKind.SET_OFF:
        raise needed("load_id", "Name the load that is on its way; its plan is gone.")
    if load is not None and _is_others_word(report, load):
        return _with_ticket_of_other(behind, caller, report, load)
    if load is not None and not _is_of_more(behind, report, load):
        told = _of_load(behind, caller, report, load)
        if told is not None:
            return told
    planned, load = load, _off_the_plan(behind, caller, report, load, identifiers)
    is_foreseen = planned is not None and planned.destination_id == load.destination_id
    if report.kind is not ReportKind.TIPPED:
        changes = _changes(report)
        load = behind.update_load(
            caller, load.id, changes, expected_version=load.version, reason=report.reason
        )
    said = OTHERWISE if is_foreseen else _by_plan(behind, load, report)
    return Done(sentence=SENTENCES[report.kind] + said, load_id=load.id)


def _is_others_word(report: Report, load: Load) -> bool:
    """Return whether a load that a report does not name is on record by the word of another."""
    is_named = report.load_id is not None and (
        report.load_id == load.id or report.kind is not ReportKind.TIPPED
    )
    return not is_named and is_told_twice(load, report)


def _with_ticket_of_other(behind: Behind, caller: Caller, report: Report, load: Load) -> Done:
    """Keep of what gate and crew both tell what the first said, and a ticket only the other has."""
    if load.weighed_net is not None or not _ticket(report):
        return Done(sentence=ON_RECORD, load_id=load.id, again=True)
    behind.update_load(caller, load.id, _ticket(report), expected_version=load.version)
    return Done(
        sentence=f"{ON_RECORD} {SENTENCES[ReportKind.WEIGHED]}", load_id=load.id, again=True
    )


def _by_plan(behind: Behind, load: Load, report: Report) -> str:
    """Return what the plan has to do with a tip that none of its loads is: who did as told did."""
    with behind.open_reading() as unit:
        if was_told(unit, load):
            return ""
        return CHANGED_SINCE if was_planned(unit, load, report) else OFF_THE_PLAN


def keep_weight(behind: Behind, caller: Caller, report: Report, identifiers: Identifiers) -> Done:
    """Keep the ticket of a tip: of the load that is named, or of the last tip there.

    Raises
    ------
    RecordNotUsable, NoTipThere, TipNotKept, WeighedOtherwise
    """
    del identifiers  # it makes no record
    load = known_load(behind, caller, report)
    _refuse_unkept(behind, caller, report, load)
    if load is None or load.state not in ENDED_STATES:
        raise NoTipThere
    changes = _ticket(report)
    if all(getattr(load, name) == value for name, value in changes.items()):
        return Done(sentence=ON_RECORD, load_id=load.id, again=True)
    _refuse_second_weight(load, report)
    behind.update_load(
        caller, load.id, changes, expected_version=load.version, reason=report.reason
    )
    done = Done(sentence=SENTENCES[report.kind], load_id=load.id)
    return _with_warnings(behind, caller, done)


def _refuse_unkept(behind: Behind, caller: Caller, report: Report, load: Load | None) -> None:
    """Refuse the weight of a tip that was refused, which would land on the one before."""
    if report.load_id is not None or report.destination_id is None:
        return
    since = report.at - WEIGHED_WITHIN
    if load is not None and load.done_at is not None:
        since = load.done_at
    vehicle_id = vehicle_of(behind, caller, report)
    place = report.destination_id
    if behind.unkept_tips.is_any(caller, vehicle_id, place, since=since, until=report.at):
        raise TipNotKept


def _refuse_second_weight(load: Load, report: Report) -> None:
    """Refuse another ticket in place of one that counts or may, unless somebody says why."""
    told = (report.weighed_net, report.weigh_ticket)
    if load.weighed_net is None or load.ticket_review is TicketReview.SET_ASIDE:
        return
    if told == (None, None) or report.reason is not None:
        return
    if told != (load.weighed_net, load.weigh_ticket):
        kg = f"{load.weighed_net.si_value:g}"
        raise WeighedOtherwise(ticket=load.weigh_ticket or "-", kg=kg)


def _of_load(behind: Behind, caller: Caller, report: Report, load: Load) -> Done | None:
    """Keep it of a load of a plan; None if it was of another than the load is by now."""
    changes = _changes(report)
    said = {name: value for name, value in changes.items() if name != "done_at"}
    if all(getattr(load, name) == value for name, value in said.items()):
        return Done(sentence=ON_RECORD, load_id=load.id, again=True)
    if load.state in ENDED_STATES and report.kind is ReportKind.SET_OFF:
        return Done(sentence=ON_RECORD, load_id=load.id, again=True)
    if load.state is changes["state"] is LoadState.DELIVERED:
        changes = _ticket(report)
        _refuse_second_weight(load, report)
    elif load.state in ENDED_STATES:
        _refuse_contradiction(load, report, changes)
    elif report.parts and report.kind is not ReportKind.SET_OFF:
        changes["parts"] = _parts_tipped(behind, caller, report, load)
    elif report.kind is not ReportKind.SET_OFF:
        with behind.open_reading() as unit:
            if is_of_more_than_was_aboard(unit, load, report):
                return None
    try:
        behind.update_load(
            caller, load.id, changes, expected_version=load.version, reason=report.reason
        )
    except (NotMownYet, StateNotReachable):
        if report.kind is ReportKind.SET_OFF:
            raise
        return None
    return Done(sentence=SENTENCES[report.kind], load_id=load.id)


def _is_of_more(behind: Behind, report: Report, load: Load) -> bool:
    """Return whether whole lots are told of a load that was tipped, and some are still aboard."""
    whole = [part for part in report.parts if part.share is None and part.mass is None]
    if not whole or (load.state, report.kind) != (LoadState.DELIVERED, ReportKind.TIPPED):
        return False
    with behind.open_reading() as unit:
        parts = parts_on_record(unit, load.firm_id, whole)
        jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in parts}))
        aboard, _ = lots_aboard(unit, load.firm_id, jobs, load.vehicle_id)
    return any(aboard.get(part.lot_id, 0.0) > NOTHING for part in parts)


def _parts_tipped(
    behind: Behind, caller: Caller, report: Report, load: Load
) -> tuple[LoadPart, ...]:
    """Return what was brought of which lots, where it is told otherwise than it was planned.

    Raises
    ------
    RecordNotUsable
    """
    tip = NewTip(
        vehicle_id=load.vehicle_id,
        crew_id=report.crew_id,
        destination_kind=load.destination_kind,
        destination_id=load.destination_id,
        done_at=report.at,
        parts=report.parts,
        weighed_net=report.weighed_net,
        weigh_ticket=report.weigh_ticket,
    )
    return behind.record_tip.parts_tipped(caller, tip)


def _refuse_contradiction(load: Load, report: Report, changes: Mapping[str, Any]) -> None:
    """Refuse what says otherwise of a load that ended: without a reason, or of an earlier hour."""
    state = load.state.value.replace("_", " ")
    if report.reason is None:
        raise EndedOtherwise(state=state)
    names = changes.keys() & {"state", "refused_share"}
    is_otherwise = any(getattr(load, name) != changes[name] for name in names)
    if is_otherwise and load.done_at is not None and load.done_at > report.at:
        raise EndedSince(state=state)


def _changes(report: Report) -> dict[str, Any]:
    """Return what a report changes of its load."""
    state = ENDS[report.kind]
    changes: dict[str, Any] = {"state": state}
    if state is not LoadState.UNDER_WAY:
        changes["done_at"] = report.at
    if state in {LoadState.REFUSED, LoadState.PARTLY_REFUSED}:
        changes["refusal_reason"] = report.reason
    if state is LoadState.PARTLY_REFUSED and report.refused_share is not None:
        changes["refused_share"] = report.refused_share
    return changes | _ticket(report)


def _ticket(report: Report) -> dict[str, Any]:
    names = ("weighed_net", "weigh_ticket")
    return {name: getattr(report, name) for name in names if getattr(report, name) is not None}


def _off_the_plan(
    behind: Behind, caller: Caller, report: Report, load: Load | None, identifiers: Identifiers
) -> Load:
    """Keep a tip that no plan foresaw: of what is named, of the load's lots, or of all aboard."""
    with behind.open_reading() as unit:
        # By a try of this report that was cut off: its lots are aboard no more.
        kept: Load | None = unit.loads.get(caller.firm_id, SeededIdentifiers(report.id).next_id())
        if kept is not None:
            return kept
        meant: Load | None = load
        if report.load_id is not None:
            meant = unit.loads.get(caller.firm_id, report.load_id) or load
        vehicle_id = report.vehicle_id or (meant.vehicle_id if meant else None)
        vehicle_id = vehicle_id or vehicle_of(behind, caller, report)
        parts = aboard(unit, caller, report, vehicle_id)
        forked_over = aboard_anywhere(unit, meant, report) if meant is not None else ()
    if report.parts:
        parts = report.parts
    elif meant is not None:
        lots = {part.lot_id for part in meant.parts}
        named = tuple(part for part in parts if part.lot_id in lots)
        parts = named or forked_over or parts
    kind = report.destination_kind or (meant.destination_kind if meant else None)
    place = report.destination_id or (meant.destination_id if meant else None)
    if kind is None or place is None:
        raise needed("destination_id", "Name the place and its kind, or the load.")
    if not parts:
        raise NothingAboard
    tip = NewTip(
        vehicle_id=vehicle_id,
        crew_id=report.crew_id,
        destination_kind=kind,
        destination_id=place,
        done_at=report.at,
        parts=parts,
        **_ticket(report),
    )
    return behind.record_tip(caller, tip, identifiers=identifiers, reason=report.reason)

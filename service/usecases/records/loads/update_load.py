"""What the crew, the gate and the dispatcher do to a load: start, deliver, refuse, lock, weigh."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import OF_THE_FIRM, Caller, Own
from service.core.errors import (
    FieldFault,
    NotAllowed,
    RecordNotUsable,
    Refusal,
)
from service.core.jobs import JobState
from service.core.loads import ENDED_STATES, Load, LoadState, TicketReview
from service.core.notes import Receipt
from service.core.places import DestinationKind
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import depot_clock
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import RenewNote, UnitOfWork
from service.usecases.base.staleness import touch_days_from
from service.usecases.base.use_cases import Changing, Stamp
from service.usecases.day.body_contents import read_body
from service.usecases.day.problem.locks import ended, locks_on
from service.usecases.mass_book.keeping import book_load
from service.usecases.records.amending import write_over
from service.usecases.records.follow_recalls import follow_recalls
from service.usecases.records.held.loadings import follow_loadings
from service.usecases.records.held.queue_states import (
    STAYED_STATES,
    StateNotReachable,
    follow_bay,
    follow_brought_on,
)
from service.usecases.records.loads.charges import as_charged_at_its_end
from service.usecases.records.loads.correct_loads import (
    as_it_became,
    as_tipped,
    follow_heap,
    with_amounts,
)
from service.usecases.records.loads.lay_together import bodies_of, mixed_by_tip
from service.usecases.records.loads.load_faults import load_faults, reviewed
from service.usecases.records.loads.on_the_way import end_on_the_way, refuse_what_is_not_there
from service.usecases.records.loads.said_of_grass import keep_word
from service.usecases.records.loads.shut_gates import with_gate_asked
from service.usecases.records.loads.tickets import named_again, with_ticket_before
from service.usecases.records.loads.tipped_before_outage import refuse_superseded
from service.usecases.records.loads.weighed_end import weighed_at_its_end
from service.usecases.records.own_vehicle import find_load

SETTLING: Final = "settle a tip at a shut gate"
ITS_PLACES: Final = frozenset({Own.SITE, Own.CLIENT})
# A mistaken word is taken back: what is on its way or ended can be planned again, or end otherwise.
NEXT_STATES = {
    LoadState.PLANNED: ENDED_STATES | {LoadState.UNDER_WAY},
    LoadState.UNDER_WAY: ENDED_STATES | {LoadState.PLANNED},
    LoadState.DELIVERED: ENDED_STATES | {LoadState.PLANNED},
    LoadState.PARTLY_REFUSED: ENDED_STATES | {LoadState.PLANNED},
    LoadState.REFUSED: ENDED_STATES | {LoadState.PLANNED},
    LoadState.SUPERSEDED: ENDED_STATES,  # of one that was tipped before its vehicle was out
}


class NotMownYet(Refusal):
    """A load cannot leave before its grass is cut."""

    code = "not_mown_yet"
    sentence = "The lots {lots} are not recorded as mown; record that of their jobs first."


class AnsweredByClient(Refusal):
    """What a client signed for cannot be said never to have come."""

    code = "answered_by_client"
    sentence = (
        "The client answered the note of this load at {at}; correct what was taken, or ask them."
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class UpdateLoad(Changing):
    """Amend a load by what happened to it; the day is planned again around it."""

    rulebook: Rulebook
    renew_note: RenewNote

    def __call__(
        self,
        caller: Caller,
        load_id: UUID,
        changes: Mapping[str, Any],
        *,
        expected_version: int,
        reason: str | None = None,
    ) -> Load:
        """Write what happened and return the load.

        Parameters
        ----------
        changes
            Any of ``state``, ``locked``, ``weighed_net``, ``weigh_ticket``,
            ``ticket_review``, ``refusal_reason``, ``refused_share``, ``done_at``, ``at_gate_at``,
            ``against_gate``, ``parts``.
        reason
            Why, in words. With one, a tip that should not have been is kept as what happened.

        Raises
        ------
        RecordMissing, VersionOvertaken, NotAllowed, StateNotReachable, RecordNotUsable,
        NotMownYet, NotForThisPlace, OutsideHours, MoreThanThereIs, NoLongerPlanned
        """
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            old = find_load(unit, caller, load_id)
            new = replace(old, **_whole(old, changes), version=expected_version + 1, updated_at=now)
            if new.parts != old.parts:
                jobs = unit.jobs.get_many(caller.firm_id, [part.job_id for part in new.parts])
                new = with_amounts(unit, new, jobs)
            new = reviewed(old, new, caller, is_said="ticket_review" in changes)
            refuse_superseded(unit, old, new)
            handed_on = _handed_on(unit, old, changes)
            if (new.locked is not old.locked or handed_on) and caller.scope is not None:
                # A lock binds the plan of the whole day.
                raise NotAllowed(role=caller.role.value, act="lock a load", whose=OF_THE_FIRM)
            _refuse_settling(caller, old, new)
            new = with_ticket_before(unit, self._as_said(unit, old, new, changes))
            refuse_what_is_not_there(unit, old, new)
            new = as_charged_at_its_end(unit, old, new)
            faults = load_faults(unit, old, new, now=now)
            if faults:
                raise RecordNotUsable(faults)
            new = with_gate_asked(unit, old, new)
            if _is_to_judge(old, new):
                new = self._judged(unit, new, now, insists=reason is not None)
            doubted = named_again(unit, old, new)
            first = min(one.working_day for one in (new, *doubted))
            # The days first, as planning does: two orders would lock each other out.
            touch_days_from(unit, firm_id=caller.firm_id, day=first)
            # Then the jobs, as their amendments do.
            unit.jobs.lock(caller.firm_id, sorted({part.job_id for part in new.parts}))
            stamp = self.stamp(now, caller, reason)
            is_tipped = new.state in STAYED_STATES and old.state not in STAYED_STATES
            freed = [(lock, ended(lock, now)) for lock in handed_on]
            bodies = bodies_of(unit, new, new.done_at or now) if is_tipped else []
            self._write(unit, [(old, new), *freed], stamp)
            self._ask_again(unit, doubted, stamp)
            if is_hold(new.destination_kind):
                follow_bay(unit, old, new, now)
                if new.state is old.state:
                    follow_heap(unit, new, now=now, rulebook=self.rulebook)
            follow_loadings(unit, old, new, now)
            follow_brought_on(unit, new, now)
            book_load(unit, new, stamp)
            if is_tipped:
                end_on_the_way(unit, new, stamp)
                new = mixed_by_tip(
                    unit,
                    new,
                    bodies,
                    stamp=stamp,
                    renew_note=self.renew_note,
                    rulebook=self.rulebook,
                )
            follow_recalls(unit, new, now=now)
            if _says_other(old, new):
                self.renew_note(unit, new)
            if new.refusal_reason != old.refusal_reason:
                new = keep_word(
                    unit,
                    new,
                    stamp,
                    self.renew_note,
                    said_by=caller.role.value,
                    in_own_words=caller.scope is not None and caller.scope.own in ITS_PLACES,
                    rulebook=self.rulebook,
                )
            unit.commit()
        return new

    def faults(
        self, caller: Caller, load_id: UUID, changes: Mapping[str, Any], unreadable: Collection[str]
    ) -> list[FieldFault]:
        """Return what else is wrong with changes of which some cannot be read."""
        now = self.clock.now()
        with self.open_unit_of_work() as unit:
            old = find_load(unit, caller, load_id)
            said = {name: value for name, value in changes.items() if name not in unreadable}
            new = replace(old, **said, updated_at=now)
            if new.state is not old.state:
                new = _said_anew(new, said)
            return load_faults(unit, old, new, now=now)

    def _write(self, unit: UnitOfWork, pairs: Sequence[tuple[Load, Load]], stamp: Stamp) -> None:
        """Write loads over what they were, with what was changed."""
        for old, new in pairs:
            why = replace(stamp, reason=stamp.reason or new.refusal_reason)
            write_over(unit, "loads", old, new, why)

    def _ask_again(self, unit: UnitOfWork, doubted: Sequence[Load], stamp: Stamp) -> None:
        """Let the weights of loads count whose tickets are given once by now."""
        for old in doubted:
            new = with_ticket_before(unit, old)
            if new.ticket_like_id != old.ticket_like_id:
                new = as_charged_at_its_end(unit, old, new).renewed(stamp.now)
                self._write(unit, [(old, new)], stamp)
                book_load(unit, new, stamp)
                self.renew_note(unit, new)

    def _as_said(self, unit: UnitOfWork, old: Load, new: Load, changes: Mapping[str, Any]) -> Load:
        """Return a load as its state makes it, and the time at which it came to it."""
        now = new.updated_at
        if new.state is old.state:
            stayed_with_more = new.state in STAYED_STATES and new.parts != old.parts
            if new.done_at == old.done_at and not stayed_with_more:
                return new
            return as_it_became(unit, new, now=now, rulebook=self.rulebook)
        new = _said_anew(new, changes)
        if new.state not in NEXT_STATES[old.state]:
            raise StateNotReachable(state=old.state.value, wanted=new.state.value)
        _refuse_uncut(unit, new)
        _refuse_undoing(unit, new)
        new = weighed_at_its_end(unit, old, self._ended(new, now), changes)
        if _is_other_time(old, new):
            return as_it_became(unit, new, now=now, rulebook=self.rulebook)
        return as_tipped(unit, new, now=now, rulebook=self.rulebook)

    def _judged(self, unit: UnitOfWork, load: Load, now: datetime, *, insists: bool) -> Load:
        """Judge a load by everything in its body, as plans are; return it as what was tipped.

        What was tipped against a rule is a fact, and whoever has it must be called: it is kept if
        somebody says so in words.
        """
        body = read_body(unit, load, rulebook=self.rulebook, now=now)
        return body.judged(load, insists=insists and load.state is not LoadState.UNDER_WAY)

    def _ended(self, load: Load, now: datetime) -> Load:
        if load.state in ENDED_STATES and load.done_at is None:
            load = replace(load, done_at=now)
        if load.state is LoadState.REFUSED:
            load = replace(load, refused_share=1.0)
        return load


def _refuse_settling(caller: Caller, old: Load, new: Load) -> None:
    """Refuse that a crew says that a site takes what it tipped before a shut gate."""
    is_settled = new.against_gate is not old.against_gate
    if is_settled and caller.scope is not None and caller.scope.own not in ITS_PLACES:
        raise NotAllowed(role=caller.role.value, act=SETTLING, whose=OF_THE_FIRM)


def _handed_on(unit: UnitOfWork, load: Load, changes: Mapping[str, Any]) -> list[Load]:
    """Return the locks that end with a superseded load's own: of its lots, vehicle and place.

    A lock goes on to the load that takes the place of its own.
    """
    if changes.get("locked") is not False or load.state is not LoadState.SUPERSEDED:
        return []
    tip = (load.vehicle_id, load.destination_id)
    return [
        lock
        for lock in locks_on(unit, load)
        if lock.id != load.id and (lock.vehicle_id, lock.destination_id) == tip
    ]


def _whole(old: Load, changes: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return changes with what follows: a lock that was lost ends whole, a gate's word as well."""
    if changes.get("locked") is False and old.state is LoadState.SUPERSEDED:
        return {**changes, "at_gate_at": None, "weighed_net": None, "weigh_ticket": None}
    return changes


def _says_other(old: Load, new: Load) -> bool:
    """Return whether a load that stayed is of other grass, or less, than its note may say."""
    names = ("weighed_net", "weigh_ticket", "ticket_review", "refused_share", "status", "parts")
    return new.state in STAYED_STATES and (
        _is_other_time(old, new) or any(getattr(old, name) != getattr(new, name) for name in names)
    )


def _is_to_judge(old: Load, new: Load) -> bool:
    """Return whether a load sets off or is tipped by what is said, or was at another hour."""
    if new.state in {LoadState.REFUSED, LoadState.PLANNED}:
        return False
    return _is_other_time(old, new) or (
        new.state is not old.state and old.state not in STAYED_STATES
    )


def _is_other_time(old: Load, new: Load) -> bool:
    """Return whether a load that was tipped is said to have been so at another hour."""
    return {old.state, new.state} <= STAYED_STATES and old.done_at != new.done_at


def _said_anew(load: Load, changes: Mapping[str, Any]) -> Load:
    """Return a load whose state changes without what was said only of the state before."""
    bare: dict[str, Any] = {}
    if load.state not in {LoadState.REFUSED, LoadState.PARTLY_REFUSED}:
        bare = {"refused_share": 0.0, "refusal_reason": None}
    if load.state not in ENDED_STATES:
        bare["done_at"] = None
    if load.state is LoadState.PLANNED:
        # What was never tipped was never weighed: its ticket would go on teaching.
        bare |= {"weighed_net": None, "weigh_ticket": None, "ticket_review": TicketReview.AWAITED}
    return replace(load, **{name: value for name, value in bare.items() if name not in changes})


def _refuse_undoing(unit: UnitOfWork, load: Load) -> None:
    """Refuse to plan a load again that a client has answered for."""
    if load.state in ENDED_STATES or load.destination_kind is not DestinationKind.BED:
        return
    for note in unit.delivery_notes.all(load.firm_id, load_id=load.id):
        said = note.acknowledgement
        if said is not None and said.receipt not in {Receipt.REFUSED, Receipt.ABSENT}:
            depot = unit.depots.get(load.firm_id, load.depot_id)
            raise AnsweredByClient(at=depot_clock(depot, said.received_at))


def _refuse_uncut(unit: UnitOfWork, load: Load) -> None:
    """Refuse to move a load whose jobs are still planned: its mass would be planned twice."""
    jobs = unit.jobs.get_many(load.firm_id, [part.job_id for part in load.parts])
    uncut = [
        part.lot_code
        for part in load.parts
        if part.job_id in jobs and jobs[part.job_id].state is not JobState.MOWN
    ]
    if uncut:
        raise NotMownYet(lots=", ".join(uncut))

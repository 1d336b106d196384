"""Loads that lie at a place that took nothing at all: its client, law, its gate or advice says so.

What is wrong with the lot, or with a client's hour, is refused until somebody says why; how much is
too much is told as a limit; what a recall freezes, by the recall.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Final
from uuid import UUID

from service.core.acceptance.live_status import AgainstGate
from service.core.loads import Load
from service.core.measures.units import date_words
from service.core.permission.consent import Consent, ConsentState
from service.core.places import Bed
from service.core.plans import RuleClass
from service.destinations.laid.tipped import let_in, standing_of
from service.destinations.ready import ReadyDestination
from service.destinations.reasons import Reason, refusal
from service.destinations.set_aside import is_only_advice
from service.documents.rendering.reader import refusal_words
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.destinations import ready_now, ready_then, tainted_reason
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import recall_of
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.mass_book.settled import came_at

CONSENT_CODES: Final = frozenset({"no_consent", "consent_not_yet", "consent_expired"})


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedTip:
    """A tip where nothing is taken; ``reasons`` are all that stands against it, law first."""

    load: Load
    place: str
    reasons: tuple[Reason, ...]

    @property
    def rule_class(self) -> RuleClass:
        """Return whose word it is; of several the strictest."""
        return self.reasons[0].rule_class


def consents_then(
    unit: UnitOfWork, firm_id: UUID, loads: Sequence[Load], beds: Sequence[Bed], *, day: date
) -> dict[UUID, Consent]:
    """Return what clients had said when loads came, by the load, where they said otherwise since.

    Of beds whose clients take clippings nobody asks: what was tipped there may stay.
    """
    asked = {bed.id for bed in beds if not _stands(bed.consent, day)}
    came = [load for load in loads if load.state in TIPPED_STATES and load.destination_id in asked]
    if not came:
        return {}
    found: dict[UUID, Consent] = {}
    changes = unit.amendments.of(firm_id, *sorted({load.destination_id for load in came}))
    for load in came:
        for change in changes:
            said = change.changes.get("consent")
            is_since = change.record_id == load.destination_id and change.at > came_at(load)
            if is_since and isinstance(said, list | tuple):
                found[load.id] = _consent(said[0])
                break
    return found


def refused_tips(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[RefusedTip]:
    """Yield the loads tipped on a day, by their hours, at places that take nothing."""
    for load in sorted(facts.fixed_loads, key=lambda one: (came_at(one), one.id)):
        told = refused_tip(load, facts, rulebook=rulebook)
        if told is not None:
            yield told


def refused_tip(
    load: Load, facts: DayFacts, *, rulebook: Rulebook, of_lots: Sequence[Reason] = ()
) -> RefusedTip | None:
    """Return what stands against a tip by the records of now; None: nothing, or it is not there.

    What a person set aside for the load does not, nor what a client or a site said only later, nor
    ground that somebody found unfit only later, nor a heap that has cooled since.

    Parameters
    ----------
    of_lots
        What stands against its lots there; the office is told of that as a recall.
    """
    if load.state not in TIPPED_STATES or load.mass_kg.high <= 0.0:
        return None
    ready = ready_then(load, facts, rulebook=rulebook)
    if ready is None:
        return None
    standing = _standing(load, ready, facts, rulebook=rulebook)
    then = facts.consents_then.get(load.id)
    if then is not None and _stands(then, facts.span.day):
        standing = [one for one in standing if one.code not in CONSENT_CODES]
    lots = _lies_under(load, facts)
    if lots:
        standing.append(tainted_reason(lots))
    standing += [
        _said_no(one) for one in facts.turned_away_before if _lay_refused(one, load, facts)
    ]
    known = {one.code for one in standing}
    standing += [one for one in of_lots if one.code not in known]
    if load.override_reason is not None:
        standing = [one for one in standing if not is_only_advice(one)]
    if not standing:
        return None
    order = tuple(RuleClass)
    standing.sort(key=lambda one: order.index(one.rule_class))
    return RefusedTip(load=load, place=ready.name, reasons=tuple(standing))


def _standing(
    load: Load, ready: ReadyDestination, facts: DayFacts, *, rulebook: Rulebook
) -> list[Reason]:
    """Return what stands against whatever comes, at the moment it came."""
    if let_in(load) or load.against_gate is AgainstGate.SETTLED:
        return []
    shut = ready.shut_at(came_at(load))
    found = [*([] if shut is None else [shut]), *standing_of(ready.destination)]
    if is_hold(load.destination_kind) and found:
        # Who tipped on a hot heap is to keep away from it until it has cooled.
        now = ready_now(load, facts, rulebook=rulebook)
        still = set() if now is None else {one.code for one in standing_of(now.destination)}
        found = [one for one in found if one.code in still]
    return list({one.code: one for one in reversed(found)}.values())[::-1]


def _lies_under(load: Load, facts: DayFacts) -> tuple[str, ...]:
    """Return the lots that taint the bed and lay there when a load came, but for its own."""
    bed_id = load.destination_id
    if recall_of(facts.recalls, place_id=bed_id, job_ids=()) is not None:
        return ()
    own = {part.lot_code for part in load.parts}
    return tuple(
        lot.lot_code
        for lot in facts.tainted.get(bed_id, ())
        if lot.lot_code not in own and lot.since <= came_at(load)
    )


def _lay_refused(other: Load, load: Load, facts: DayFacts) -> bool:
    """Return whether a client had said no to what lay there already when a load came."""
    lies = other.waits_to_be_taken_up and other.destination_id == load.destination_id
    said_at = facts.said_no_at.get(other.id, other.updated_at)
    return lies and other.id != load.id and said_at <= came_at(load)


def _said_no(lies: Load) -> Reason:
    words = refusal_words(lies.refusal_reason)
    return refusal(
        RuleClass.CLIENT,
        "turned_away_before",
        f"Its client has refused what lies there since {date_words(lies.working_day)}: {words}.",
        load_id=str(lies.id),
        reason=lies.refusal_reason,
    )


def _consent(was: Mapping[str, Any] | None) -> Consent:
    """Return what a client had said of a bed, as far as it says whether anything may lie there."""
    told = was or {}
    state = ConsentState(told.get("state", ConsentState.NOT_ASKED))
    return Consent(state=state, given_on=told.get("given_on"), expires_on=told.get("expires_on"))


def _stands(consent: Consent, day: date) -> bool:
    is_begun = consent.given_on is None or consent.given_on <= day
    is_over = consent.expires_on is not None and consent.expires_on < day
    return consent.state is ConsentState.GIVEN and is_begun and not is_over

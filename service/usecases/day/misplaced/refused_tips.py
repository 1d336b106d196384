"""Loads that lie on a bed though it takes nothing at all: its client, law or advice says so.

What is wrong with the lot, or with the hour, is refused when it is told; how much of it is too much
is told as a limit; what a recall freezes, by the recall.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final
from uuid import UUID

from service.core.loads import Load
from service.core.permission.consent import Consent, ConsentState
from service.core.places import Bed, DestinationKind, GroundState
from service.core.plans import RuleClass
from service.destinations.beds.cautions import ground_on
from service.destinations.beds.refusals import BedStanding
from service.destinations.laid.ledger import BedLedger
from service.destinations.reasons import Reason
from service.destinations.set_aside import is_only_advice
from service.rules.lookup import Rulebook
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.destinations import depot_day, tainted_reason
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import recall_of
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.mass_book.settled import came_at

CONSENT_CODES: Final = frozenset({"no_consent", "consent_not_yet", "consent_expired"})


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedTip:
    """A tip on a bed that takes nothing; ``reasons`` are all that stands against it, law first."""

    load: Load
    bed: Bed
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
    """Yield the loads tipped on a day, by their hours, on beds that take nothing."""
    beds = {bed.id: bed for bed in facts.beds}
    for load in sorted(facts.fixed_loads, key=lambda one: (came_at(one), one.id)):
        bed = beds.get(load.destination_id)
        told = None if bed is None else refused_tip(load, bed, facts, rulebook=rulebook)
        if told is not None:
            yield told


def refused_tip(load: Load, bed: Bed, facts: DayFacts, *, rulebook: Rulebook) -> RefusedTip | None:
    """Return what stands against a tip by the records of now; None: nothing, or it is not there.

    What a person set aside for the load does not, nor what a client said only later, nor ground
    that somebody found unfit only later.
    """
    is_there = load.state in TIPPED_STATES and load.mass_kg.high > 0.0
    if not is_there or load.destination_kind is not DestinationKind.BED:
        return None
    standing = _standing(load, bed, facts, rulebook=rulebook)
    then = facts.consents_then.get(load.id)
    if then is not None and _stands(then, facts.span.day):
        standing = [one for one in standing if one.code not in CONSENT_CODES]
    lots = _lies_under(load, facts)
    if lots:
        standing.append(tainted_reason(lots))
    if load.override_reason is not None:
        standing = [one for one in standing if not is_only_advice(one)]
    if not standing:
        return None
    order = tuple(RuleClass)
    standing.sort(key=lambda one: order.index(one.rule_class))
    return RefusedTip(load=load, bed=bed, reasons=tuple(standing))


def _standing(load: Load, bed: Bed, facts: DayFacts, *, rulebook: Rulebook) -> list[Reason]:
    came, day = came_at(load), facts.span.day
    at = replace(depot_day(facts, rulebook=rulebook), now=came)
    if bed.ground_state_at is not None and bed.ground_state_at > came:
        bed = replace(bed, ground_state=GroundState.UNKNOWN, ground_state_at=None)
    before = tuple(layer for layer in facts.ledgers[bed.id].layers if layer.day < day)
    standing = BedStanding(
        bed=bed, ledger=BedLedger(layers=before), day=day, ground_now=ground_on(bed, at)
    )
    return list(standing.reasons(facts.rules(rulebook)))


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


def _consent(was: Mapping[str, Any] | None) -> Consent:
    """Return what a client had said of a bed, as far as it says whether anything may lie there."""
    told = was or {}
    state = ConsentState(told.get("state", ConsentState.NOT_ASKED))
    return Consent(state=state, given_on=told.get("given_on"), expires_on=told.get("expires_on"))


def _stands(consent: Consent, day: date) -> bool:
    is_begun = consent.given_on is None or consent.given_on <= day
    is_over = consent.expires_on is not None and consent.expires_on < day
    return consent.state is ConsentState.GIVEN and is_begun and not is_over

"""What waits for a word of tips that their places had no room for, or that take nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final
from uuid import UUID

from service.core.acceptance.live_status import AgainstGate
from service.core.places import DestinationKind
from service.core.plans import RuleClass
from service.destinations.heaps import BAY_HOT
from service.destinations.set_aside import HARMS
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.refused_tips import RefusedTip
from service.usecases.mass_book.settled import came_at
from service.usecases.records.loads.shut_gates import gate_at
from service.usecases.telling.decisions.decision import (
    Decision,
    Gravity,
    Urgency,
    Way,
    about_load,
    clock_of_day,
)
from service.usecases.telling.warnings.limits import limit_warnings
from service.usecases.telling.warnings.tips import CODE, TO_DO, WHOSE, refused_words

SAID_CLOSED: Final = "It had said itself that it was closed."
# From a hot heap nobody fetches anything back.
OF_A_HOT_HEAP: Final = (
    Way(what="Have the heap measured again", method="POST", href="/heap-temperatures"),
    Way(what="See what lies there", method="GET", href="/hold-queue"),
)


def over_limits(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the tips that their places had no room for, until the record says otherwise."""
    for told in limit_warnings(facts, rulebook=rulebook):
        load_id = UUID(told["load_id"])
        place = DestinationKind(told["destination_kind"]), UUID(told["destination_id"])
        whose = {RuleClass(one["rule_class"]) for one in (told, *told["also_over"])}
        yield Decision(
            code=told["code"],
            urgency=Urgency.NOW if RuleClass.LAW in whose else Urgency.TODAY,
            sentence=told["why"],
            lot_codes=tuple(told["lot_codes"]),
            vehicle_id=UUID(told["vehicle_id"]),
            load_id=load_id,
            destination_kind=place[0],
            destination_id=place[1],
            ways=(
                Way(
                    what="Fetch the rest, and say what stayed (partly_refused, refused_share)",
                    method="PATCH",
                    href=f"/loads/{load_id}",
                ),
                Way(
                    what="Keep its weight, or correct it", method="PATCH", href=f"/loads/{load_id}"
                ),
                *(
                    (_at_place(place, "and keep what they take"),)
                    if whose & {RuleClass.CLIENT, RuleClass.SITE}
                    else ()
                ),
            ),
        )


def tipped_where_refused(refused: Iterable[RefusedTip]) -> Iterator[Decision]:
    """Yield the tips at places that take nothing, until the record says otherwise."""
    for tip in refused:
        load_id, codes = tip.load.id, {one.code for one in tip.reasons}
        is_hot = BAY_HOT in codes
        is_harmless = tip.rule_class is RuleClass.ADVICE and not {*HARMS, BAY_HOT} & codes
        # What lies under it is settled by what is said of its lots, not of the bed.
        is_of_lots = codes == {"bed_tainted"}
        place = tip.load.destination_kind, tip.load.destination_id
        graver = Gravity.TAINTED if {*HARMS, "bed_tainted"} & codes else None
        yield Decision(
            code=CODE,
            urgency=Urgency.TODAY if is_harmless else Urgency.NOW,
            graver=Gravity.HURTS if is_hot else graver,
            sentence=refused_words(tip),
            **about_load(tip.load),
            ways=OF_A_HOT_HEAP
            if is_hot
            else (
                _fetch(load_id),
                *(() if is_of_lots else (_at_place(place, "and keep what is so of it"),)),
            ),
        )


def tipped_at_shut_gates(unit: UnitOfWork, facts: DayFacts) -> Iterator[Decision]:
    """Yield the tips of days before at gates that were shut, until somebody settles them."""
    sites = {site.id: site for site in facts.sites}
    waiting = unit.loads.all(
        facts.depot.firm_id, against_gate=(AgainstGate.OUTSIDE_HOURS, AgainstGate.SAID_CLOSED)
    )
    for load in sorted(waiting, key=lambda one: (came_at(one), one.id)):
        site = sites.get(load.destination_id)
        is_here = load.depot_id == facts.depot.id and load.working_day < facts.span.day
        if site is None or not is_here:
            continue
        gate = gate_at(site, load)
        shut = gate.closed_day() or gate.closed_hour()
        if load.against_gate is AgainstGate.OUTSIDE_HOURS and shut is None:
            continue
        said = SAID_CLOSED if shut is None else shut.sentence
        codes = ", ".join(part.lot_code for part in load.parts)
        yield Decision(
            code=CODE,
            urgency=Urgency.TODAY,
            sentence=(
                f"{codes} was tipped at {site.name} at {clock_of_day(facts, came_at(load))}, "
                f"though {WHOSE[RuleClass.SITE]}. {said} {TO_DO[RuleClass.SITE]}"
            ),
            **about_load(load),
            ways=(
                _fetch(load.id),
                Way(
                    what="Say that they take it (against_gate: settled), and why",
                    method="PATCH",
                    href=f"/loads/{load.id}",
                ),
                Way(
                    what="Or correct its hours of then (hours, terms_from)",
                    method="PATCH",
                    href=f"/compost-sites/{site.id}",
                ),
            ),
        )


def _fetch(load_id: UUID) -> Way:
    return Way(
        what="Fetch it back, and say so (refused, refusal_reason)",
        method="PATCH",
        href=f"/loads/{load_id}",
    )


def _at_place(place: tuple[DestinationKind, UUID], keep: str) -> Way:
    """Return how to keep what is asked of whoever has a place."""
    kind, place_id = place
    who = "the client" if kind is DestinationKind.BED else f"the {KINDS[kind].one}"
    path = KINDS[kind].repository.replace("_", "-")
    return Way(what=f"Ask {who}, {keep}", method="PATCH", href=f"/{path}/{place_id}")

"""Tips that a crew reported and that could not be kept, until they are told again or taken back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Final
from uuid import UUID

from service.core.loads import ENDED_STATES, Load
from service.core.places import DestinationKind
from service.usecases.base.calendar import day_of
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.records.field.unkept import UnkeptTip, unkept_tips
from service.usecases.records.field.which_load import TOLD_TWICE_WITHIN
from service.usecases.telling.decisions.decision import Decision, Urgency, Way, clock_of_day

AROUND: Final = (-timedelta(days=1), timedelta(), timedelta(days=1))


def tips_not_kept(unit: UnitOfWork, facts: DayFacts) -> Iterator[Decision]:
    """Yield the tips of the depot's vehicles, of the day and before, that were refused."""
    found = [
        one
        for one in unkept_tips(unit, facts.depot.firm_id)
        if one.vehicle_id in facts.vehicles and one.at < facts.span.end
    ]
    if not found:
        return
    days = {day_of(facts.depot, one.at + apart) for one in found for apart in AROUND}
    loads = unit.loads.all(
        facts.depot.firm_id,
        vehicle_id=tuple(sorted({one.vehicle_id for one in found})),
        working_day=tuple(sorted(days)),
        state=tuple(sorted(ENDED_STATES)),
    )
    places = {place.id: (kind, place.name) for kind, some in facts.places.items() for place in some}
    for one in found:
        if not any(_is_it(load, one) for load in loads):
            yield _told(one, facts, places)


def _is_it(load: Load, tip: UnkeptTip) -> bool:
    """Return whether a tip was told again since: under another id, or by another hand."""
    at = load.done_at or load.arrive_at
    return (
        load.vehicle_id == tip.vehicle_id
        and tip.destination_id in {None, load.destination_id}
        and abs(at - tip.at) <= TOLD_TWICE_WITHIN
        and load.updated_at > tip.refused_at
    )


def _told(
    tip: UnkeptTip, facts: DayFacts, places: dict[UUID, tuple[DestinationKind, str]]
) -> Decision:
    kind, name = (
        (None, None) if tip.destination_id is None else places.get(tip.destination_id, (None, None))
    )
    where = f" at {name}" if name else "" if kind is None else f" at a {KINDS[kind].one}"
    ticket = ""
    if tip.ticket is not None:
        kg = "" if tip.weighed_kg is None else f", {tip.weighed_kg:,.0f} kg"
        ticket = f" with ticket {tip.ticket}{kg}"
    why = f": {tip.why.rstrip('. ')}." if tip.why else "."
    registration = facts.vehicles[tip.vehicle_id].registration
    return Decision(
        code="tip_not_kept",
        urgency=Urgency.NOW,
        sentence=(
            f"{registration} reported a tip{where} at {clock_of_day(facts, tip.at)}{ticket}, and "
            f"it could not be kept{why} What was in it counts as aboard, or as never cut. Ask the "
            "crew; record the cut or the tip, or say that there was none."
        ),
        vehicle_id=tip.vehicle_id,
        destination_kind=kind,
        destination_id=None if kind is None else tip.destination_id,
        ways=(
            Way(what="Record what was tipped, where and when", method="POST", href="/loads"),
            *(
                # One without an id of its own cannot be named.
                (
                    Way(
                        what=f"Say that there was no such tip (undo of {tip.tip_id})",
                        method="POST",
                        href="/reports",
                    ),
                )
                if " " not in tip.tip_id
                else ()
            ),
        ),
    )

"""Tell a day that is planned for the asking only: nothing of it is kept."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any
from uuid import UUID

from service.core.errors import FieldFault
from service.core.records import Identifiers
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.day.loads import LoadStamp, loads_of
from service.usecases.day.planned_day import PlannedDay
from service.usecases.planning.planner import UnstoredPlan
from service.usecases.telling.routing.day_routing import told_routing
from service.usecases.telling.told.lots import LEFT


def told_unkept(
    facts: DayFacts, made: UnstoredPlan, *, identifiers: Identifiers, rulebook: Rulebook
) -> dict[str, Any]:
    """Return the routing of a plan that is not kept; its loads have ids that nobody knows."""
    stamp = LoadStamp(plan_id=identifiers.next_id(), firm_id=facts.depot.firm_id, facts=facts)
    planned = loads_of(stamp, made.built, made.plan, made.asked, identifiers)
    return told_routing(
        PlannedDay(
            facts=facts,
            asked=made.asked,
            built=made.built,
            plan=made.plan,
            planned=planned.loads,
            advice=made.advice,
            held_stays=made.held_stays,
        ),
        rulebook=rulebook,
    )


def strangers(*named: tuple[str, Sequence[UUID], Collection[UUID]]) -> list[FieldFault]:
    """Return a fault for every id that the day does not have.

    Parameters
    ----------
    named
        The pointer of a field, with a gap for the item's number; its ids; those the day has.
    """
    return [
        stranger(pointer.format(number), name)
        for pointer, names, known in named
        for number, name in enumerate(names)
        if name not in known
    ]


def stranger(pointer: str, record_id: UUID) -> FieldFault:
    """Return the fault of an id that the day does not have."""
    detail = f"There is no such record with the id {record_id} on this day."
    return FieldFault(pointer=pointer, detail=detail, code="reference_missing")


def left_behind_kg(routing: dict[str, Any]) -> float:
    """Return what no vehicle takes over of the lots of those that are out, at the high end [kg]."""
    return float(
        round(
            sum(
                lot["mass_kg"]["high"] * max(0.0, 1.0 - sum(way["share"] for way in lot["goes_to"]))
                for lot in routing["lots"]
                if lot["needs_attention"] is not None
                and lot["mass_kg"]
                and lot["outcome"] not in LEFT
            )
        )
    )


def unplaced_kg(routing: dict[str, Any]) -> float:
    """Return what finds no place, at the high end [kg]."""
    return float(sum(item["mass_high_kg"] for item in routing["unplaced"]))

"""Advice that one person set aside for a load: it is asked as if it had not been said."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from typing import Final
from uuid import UUID

from service.core.loads import Load
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.set_aside import HARMS, SETTLED_FIRST, insisted_on, is_only_advice
from service.destinations.verdicts import Destination, Lot, verdict_on
from service.usecases.day.destinations import Asked
from service.usecases.day.freezes import CODE as RECALLED
from service.usecases.day.freezes import REMEDY as FROZEN

CODE: Final = "overridden"
# Who alone may set a rule aside, in words.
WHOSE: Final = {
    RuleClass.LAW: "It is the law: nobody here may set it aside.",
    RuleClass.LABEL: "It is the product's label: nobody here may set it aside.",
    RuleClass.ROAD: "It is a limit of the road: nobody here may set it aside.",
    RuleClass.SITE: "Only the site can say otherwise: ask, and keep its word on its record.",
    RuleClass.CLIENT: "Only the client can say otherwise: ask, and keep the word on the record.",
    RuleClass.ADVICE: "It may be the law here, for all that is known: find out, and record it.",
}
OF_THE_LOT: Final = (
    "This is of the clippings themselves: no reason sets it aside. Correct the record if it is "
    "wrong, or choose another place."
)
OF_HARM: Final = (
    "No reason sets this aside. Choose another place, or keep on this one's record what shows "
    "otherwise."
)
OF_WHAT_LIES_THERE: Final = (
    "No reason sets this aside. Begin the recall of what lies there and end it when it is settled, "
    "or correct what is recorded of its lots; until then choose another place."
)
OF_ADVICE: Final = "It is advice: choose the place again with a Change-Reason, and it is kept."


def with_overrides(asked: Asked, loads: Iterable[Load]) -> Asked:
    """Return the answers in which what was set aside for locked loads is no refusal.

    Only advice, only of that place to those lots, and only while the load is locked.
    """
    setting_aside = [
        load
        for load in loads
        if load.is_bound and load.override_reason is not None and load.destination_id in asked.by_id
    ]
    # A place has one room for all its lots: it is that of all that was chosen for it.
    room_kg: dict[UUID, float] = defaultdict(float)
    for load in setting_aside:
        room_kg[load.destination_id] += _whole_kg(load)
    rows = dict(asked.verdicts)
    for load in setting_aside:
        position = asked.position[load.destination_id]
        destination = asked.by_id[load.destination_id].destination
        for part in load.parts:
            row = rows.get(part.lot_id)
            if row is not None:
                lot, kg = asked.lots[part.lot_id], room_kg[load.destination_id]
                said = _insisted(load, row[position], lot, destination, kg)
                rows[part.lot_id] = (*row[:position], said, *row[position + 1 :])
    return replace(asked, verdicts=rows)


def said_of(load: Load, lot: Lot, destination: Destination) -> Verdict:
    """Return what a place says to a lot of a load, which may set its advice aside."""
    said = verdict_on(lot, destination)
    if load.override_reason is None:
        return said
    return _insisted(load, said, lot, destination, _whole_kg(load))


def _whole_kg(load: Load) -> float:
    """Return what a load is at most once each of its lots is rounded up to whole kilograms."""
    return load.mass_kg.high + len(load.parts)


def _insisted(
    load: Load, said: Verdict, lot: Lot, destination: Destination, room_kg: float
) -> Verdict:
    """Return a verdict, or, of a refusal that was set aside, what stands all the same."""
    if not (said.refused and is_only_advice(said)):
        return said
    strict = insisted_on(lot, destination)
    if strict is not None and strict.refused:
        return strict
    return replace(
        said,
        accepted_kg=room_kg if strict is None else min(room_kg, strict.accepted_kg),
        code=CODE,
        sentence=(
            f"Chosen by hand against advice ({load.override_reason}). The advice: {said.sentence}"
        ),
        facts={**said.facts, "advice": said.code, "reason": load.override_reason},
        ground=None,
    )


def who_may_say_otherwise(said: Verdict) -> str:
    """Return who alone may say otherwise, or that nobody may."""
    if is_only_advice(said):
        return OF_ADVICE
    if said.code == RECALLED:
        return FROZEN
    if said.code in SETTLED_FIRST:
        return OF_WHAT_LIES_THERE
    if said.rule_class is RuleClass.ADVICE and said.code in HARMS:
        return OF_HARM
    if said.rule_class is RuleClass.ADVICE and said.ground is Ground.LOT:
        return OF_THE_LOT
    return WHOSE[said.rule_class]

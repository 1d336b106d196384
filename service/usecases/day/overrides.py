"""Advice that one person set aside for a load: it is asked as if it had not been said."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from service.core.loads import Load
from service.core.plans import Verdict
from service.destinations.verdicts import Lot, is_only_advice
from service.usecases.day.destinations import Asked

CODE = "overridden"


def with_overrides(asked: Asked, loads: Iterable[Load]) -> Asked:
    """Return the answers in which what was set aside for locked loads is no refusal.

    Only advice, only of that place to those lots, and only while the load is locked.
    """
    rows = dict(asked.verdicts)
    for load in loads:
        position = asked.position.get(load.destination_id)
        if not load.locked or load.override_reason is None or position is None:
            continue
        for part in load.parts:
            row = rows.get(part.lot_id)
            if row is not None and row[position].refused and is_only_advice(row[position]):
                said = _set_aside(row[position], asked.lots[part.lot_id], load.override_reason)
                rows[part.lot_id] = (*row[:position], said, *row[position + 1 :])
    return replace(asked, verdicts=rows)


def _set_aside(said: Verdict, lot: Lot, reason: str) -> Verdict:
    return replace(
        said,
        accepted_kg=lot.mass_kg.high,
        code=CODE,
        sentence=f"Chosen by hand against advice ({reason}). The advice: {said.sentence}",
        facts={**said.facts, "advice": said.code, "reason": reason},
        ground=None,
    )

"""The day in one table: what goes where, how much of it, and why the rest does not."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from service.documents.rendering.reader import Reader
from service.usecases.base.destination_kinds import KINDS
from service.usecases.telling.in_language import ENGLISH

OUTCOMES: Final = {
    **{word.value: f"to {kind.many}" for word, kind in KINDS.items()},
    "bed": "to client beds",
    "hold_bay": "to the hold bay",
    "leave_on_lawn": "left on the lawn",
    "unplaced": "unplaced",
}
REASONS: Final = {
    "label_leave_on_lawn": "kept there by a label",
    "treated_leave_on_lawn": "kept there by a label",
    "leave_on_lawn": "that nobody takes, short enough to feed the lawn",
}


@dataclass(slots=True, kw_only=True)
class Row:
    """One outcome: how much [kg, likely], and how many lots for which reason."""

    mass_kg: float = 0.0
    reasons: Counter[str] = field(default_factory=Counter)


def rows_of(routing: Mapping[str, Any]) -> dict[str, Row]:
    """Return the rows of a day's routing, one an outcome, in the order they are told.

    A lot that goes to several places of a kind counts once for it.
    """
    rows = {outcome: Row() for outcome in OUTCOMES}
    for lot in routing["lots"]:
        parts = _parts(lot)
        for outcome, share, _ in parts:
            rows[outcome].mass_kg += lot["mass_kg"]["likely"] * share
        for outcome, reason in {(outcome, reason) for outcome, _, reason in parts}:
            rows[outcome].reasons[reason] += 1
    return rows


def _parts(lot: Mapping[str, Any]) -> list[tuple[str, float, str]]:
    """Return where a lot goes: outcome, share of it, reason."""
    if lot["outcome"] == "left_on_lawn":
        mown = lot["state"] == "mown"
        return [("leave_on_lawn", 1.0, "left already" if mown else "to be left, as asked")]
    if lot["outcome"] == "leave_on_lawn":
        return [("leave_on_lawn", 1.0, REASONS.get(lot["advice"]["code"], lot["status"]))]
    if lot["outcome"] == "unplaced":
        return [("unplaced", 1.0, lot["status"])]
    return [(part["destination_kind"], part["share"], lot["status"]) for part in lot["goes_to"]]


def words_of(reasons: Counter[str]) -> str:
    """Return reasons in words, the commonest first, each with its lots."""
    words = Reader(ENGLISH).table("status")
    told = (f"{words.get(reason, reason)} ({count})" for reason, count in reasons.most_common())
    return ", ".join(told) or "-"


def table_of(routing: Mapping[str, Any]) -> list[str]:
    """Return the table as lines of text."""
    lines = [f"  {'':<17} {'kg, likely':>10}   lots, wholly or in part"]
    for outcome, row in rows_of(routing).items():
        reasons = words_of(row.reasons)
        lines.append(f"  {OUTCOMES[outcome]:<17} {row.mass_kg:>10,.0f}   {reasons}")
    return lines


def refusals_of(routing: Mapping[str, Any]) -> dict[str, int]:
    """Return how many beds and sites refuse clean clippings today, by code."""
    found: dict[str, int] = {}
    for lot in routing["lots"]:
        if lot["status"] == "clean":
            for code, count in (lot["elsewhere"] or {}).get("refused_by_code", {}).items():
                found[code] = max(count, found.get(code, 0))
    return dict(sorted(found.items()))

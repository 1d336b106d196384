"""May clippings from a treated lawn go there yet? The worst answer wins.

Two clocks that are never merged: this module keeps the one for the material
(days and mowings since the treatment) and, in `reentry`, the one for people
(hours since the spray). The product's label beats the table where it speaks;
it cannot loosen a rule of law, nor a label rule that says never; a bioassay that
passed ends a never whose row says so. For food beds
it must name them to loosen anything: a label speaks of mulch, and people eat there.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from service.agronomy.treatments.facts import LabelWait, TreatmentFact, WaitRule
from service.core.errors import Refusal

__all__ = [
    "LAWN",
    "LabelWait",
    "Outcome",
    "TreatmentClockWrong",
    "TreatmentFact",
    "TreatmentVerdict",
    "WaitRule",
    "badness",
    "reentry_hours_left",
    "verdict_for",
]


class TreatmentClockWrong(Refusal):
    """Days, mowings or hours since a treatment are negative."""

    code = "treatment_clock_wrong"
    sentence = "{name} since the treatment is {value}; it cannot be below zero."


class Outcome(StrEnum):
    """What a treatment means for one kind of destination, best first."""

    CLEAR = "clear"
    WAIT = "wait"
    UNKNOWN = "unknown"
    NEVER = "never"


_SEVERITY: Final = (Outcome.CLEAR, Outcome.WAIT, Outcome.UNKNOWN, Outcome.NEVER)
# Material left where it was cut goes nowhere: no wait is needed for it.
LAWN: Final = "lawn"
FOOD: Final = "edible_bed"


@dataclass(frozen=True, slots=True, kw_only=True)
class TreatmentVerdict:
    """What all treatments together mean for one kind of destination.

    Parameters
    ----------
    destination, outcome
        The kind, and the worst outcome over all treatments and substances.
    days_left, mowings_left
        What is still to wait [d, 1], each the longest over all treatments.
    composting_days
        Days of composting the material must still undergo there [d].
    because
        Substance or product that decided, empty if nothing did.
    rule, kind, sources
        The words of the rule that decided, what stands behind it, and its
        source keys; empty if nothing did.
    """

    destination: str
    outcome: Outcome
    days_left: int
    mowings_left: int
    composting_days: int
    because: str
    rule: str
    kind: str
    sources: tuple[str, ...]


def verdict_for(destination: str, treatments: Iterable[TreatmentFact]) -> TreatmentVerdict:
    """Return what all recorded treatments mean for a kind of destination.

    Parameters
    ----------
    destination
        "bed", "edible_bed", "compost_site" or "lawn".
    treatments
        Every treatment on record. None on record is clear here; whether an
        empty record means clean or unknown is the caller's to decide.

    Raises
    ------
    TreatmentClockWrong
    """
    verdicts = [
        verdict for treatment in treatments for verdict in _verdicts_of(treatment, destination)
    ]
    if not verdicts:
        return _verdict(destination, Outcome.CLEAR)
    # Each clock must run down on its own: one treatment may want days, another mowings.
    return replace(
        max(verdicts, key=badness),
        days_left=max(verdict.days_left for verdict in verdicts),
        mowings_left=max(verdict.mowings_left for verdict in verdicts),
        composting_days=max(verdict.composting_days for verdict in verdicts),
    )


def reentry_hours_left(*, hours_since: float, label_hours: float | None) -> float | None:
    """Return how long people must still stay off the lawn [h].

    Parameters
    ----------
    hours_since
        Hours since the spray [h], >= 0.
    label_hours
        The label's re-entry interval [h], >= 0; None if it is not at hand.

    Returns
    -------
    float or None
        Hours left, 0 if none; None if the label is not at hand: then the label
        must be found, and nobody goes on before the spray has dried.

    Raises
    ------
    TreatmentClockWrong
    """
    if hours_since < 0:
        raise TreatmentClockWrong(name="hours", value=hours_since)
    if label_hours is None:
        return None
    if label_hours < 0:
        raise TreatmentClockWrong(name="hours on the label", value=label_hours)
    return max(label_hours - hours_since, 0.0)


def _verdicts_of(treatment: TreatmentFact, destination: str) -> list[TreatmentVerdict]:
    for name in ("days_since", "mowings_since"):
        value = getattr(treatment, name)
        if value is not None and value < 0:
            raise TreatmentClockWrong(name=name, value=value)
    by_label = _label_verdict(treatment, destination)
    rows = [row for row in treatment.waits if row.destination == destination]
    if destination == LAWN and not rows and by_label is None:
        return [_verdict(destination, Outcome.CLEAR)]
    silent = by_label is None or (
        destination == FOOD
        and treatment.label is not None
        and FOOD not in treatment.label.destinations
    )
    by_table = [_row_verdict(treatment, row) for row in rows if silent or _stands(row)]
    if by_label is not None:
        by_table.insert(0, by_label)
    if not silent:
        return by_table
    known = {row.substance for row in rows}
    missing = [name for name in treatment.substances if name not in known]
    if not treatment.substances:
        missing = [treatment.product]
    by_table += [
        _verdict(destination, Outcome.UNKNOWN, because=name, rule="no rule is known for it")
        for name in missing
    ]
    return by_table


def _stands(row: WaitRule) -> bool:
    """Whether a row of the table holds even where the product's label speaks."""
    return row.kind == "law" or (row.kind == "label" and row.never)


def _label_verdict(treatment: TreatmentFact, destination: str) -> TreatmentVerdict | None:
    label = treatment.label
    if label is None or (label.days is None and label.mowings is None and not label.never):
        return None
    if destination not in label.destinations and (label.destinations or destination == LAWN):
        return None
    return _counted(
        treatment,
        destination,
        days=label.days or 0,
        mowings=label.mowings or 0,
        never=label.never,
        because=treatment.product,
        rule=label.stated_by,
        kind="label",
    )


def _row_verdict(treatment: TreatmentFact, row: WaitRule) -> TreatmentVerdict:
    return _counted(
        treatment,
        row.destination,
        days=row.days,
        mowings=row.mowings,
        never=row.never and not (treatment.bioassay_passed and row.bioassay_ends),
        composting_days=row.composting_days,
        because=row.substance,
        rule=row.where,
        kind=row.kind,
        sources=row.sources,
    )


def _counted(
    treatment: TreatmentFact,
    destination: str,
    *,
    days: int,
    mowings: int,
    never: bool,
    because: str,
    rule: str,
    kind: str,
    composting_days: int = 0,
    sources: tuple[str, ...] = (),
) -> TreatmentVerdict:
    days_left = mowings_left = 0
    # A clock that is needed but not known is unknown, never run down.
    unknown = (days > 0 and treatment.days_since is None) or (
        mowings > 0 and treatment.mowings_since is None
    )
    if never:
        outcome = Outcome.NEVER
    elif unknown:
        outcome = Outcome.UNKNOWN
    else:
        days_left = max(days - (treatment.days_since or 0), 0)
        mowings_left = max(mowings - (treatment.mowings_since or 0), 0)
        outcome = Outcome.WAIT if days_left or mowings_left else Outcome.CLEAR
    return TreatmentVerdict(
        destination=destination,
        outcome=outcome,
        days_left=days_left,
        mowings_left=mowings_left,
        composting_days=composting_days,
        because=because,
        rule=rule,
        kind=kind,
        sources=sources,
    )


def _verdict(
    destination: str, outcome: Outcome, *, because: str = "", rule: str = ""
) -> TreatmentVerdict:
    return TreatmentVerdict(
        destination=destination,
        outcome=outcome,
        days_left=0,
        mowings_left=0,
        composting_days=0,
        because=because,
        rule=rule,
        kind="",
        sources=(),
    )


def badness(verdict: TreatmentVerdict) -> tuple[int, int, int, int]:
    """Return how bad a verdict is, to be compared with others: the worst is the greatest."""
    return (
        _SEVERITY.index(verdict.outcome),
        verdict.days_left,
        verdict.mowings_left,
        verdict.composting_days,
    )

"""What a label keeps on the lawn that was treated, until when, and of which product."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from service.agronomy.treatments.facts import TreatmentFact
from service.core.plans import RuleClass
from service.core.treatments import Treatment
from service.destinations.verdicts import Wait
from service.rules.lookup import Rulebook

BINDING: Final = frozenset({RuleClass.LABEL, RuleClass.LAW})
NOTHING_KEPT: Final = Wait(
    over=True,
    code="may_leave",
    sentence="Nothing on record keeps the clippings on the lawn.",
    rule_class=RuleClass.ADVICE,
)


def kept_on_lawn(
    treatments: Sequence[tuple[Treatment, TreatmentFact]],
    *,
    day: date,
    rulebook: Rulebook,
    jurisdiction: str,
) -> Wait | None:
    """Return what keeps the clippings on the treated lawn, the strictest word first; else None.

    Parameters
    ----------
    treatments
        Those on record before the cut, with days and mowings since.
    day
        The working day of the cut.
    """
    found = [
        wait
        for treatment, fact in treatments
        for wait in _of(treatment, fact, day=day, rulebook=rulebook, jurisdiction=jurisdiction)
    ]
    return min(found, key=lambda wait: wait.rule_class not in BINDING, default=None)


def _of(
    treatment: Treatment,
    fact: TreatmentFact,
    *,
    day: date,
    rulebook: Rulebook,
    jurisdiction: str,
) -> Iterator[Wait]:
    label = treatment.label_wait
    if label is not None and label.leave_on_lawn:
        yield _wait(
            treatment,
            code="label_leave_on_lawn",
            sentence=f"The label of {treatment.product} keeps the clippings on the treated lawn.",
        )
    since = fact.mowings_since or 0
    if label is not None and label.leave_on_lawn_mowings is not None:
        if since < label.leave_on_lawn_mowings:
            still = label.leave_on_lawn_mowings - since
            yield _wait(
                treatment,
                code="label_leave_on_lawn",
                sentence=(
                    f"The label of {treatment.product} keeps the clippings of the first "
                    f"{count(label.leave_on_lawn_mowings, 'mowing')} on the treated lawn: "
                    f"{count(still, 'mowing')} still to go, this one with them."
                ),
                mowings_left=still,
            )
        return
    for name in fact.substances:
        row = rulebook.treatments.kept_on_lawn(name, day, jurisdiction=jurisdiction)
        if row is None or (row.mowings is not None and since >= row.mowings):
            continue
        left = None if row.mowings is None else row.mowings - since
        end = (
            "no end is named"
            if left is None
            else f"{count(left, 'mowing')} still to go, this one with them"
        )
        yield _wait(
            treatment,
            code="treated_leave_on_lawn",
            sentence=(
                f"{named(treatment, name)}, put on on {treatment.applied_on}: leave the clippings "
                f"on the treated lawn; {end} ({row.where})."
            ),
            rule_class=RuleClass.LABEL if row.kind == "label" else RuleClass.ADVICE,
            because=name,
            mowings_left=left,
            sources=row.sources,
        )


def _wait(
    treatment: Treatment,
    *,
    code: str,
    sentence: str,
    rule_class: RuleClass = RuleClass.LABEL,
    because: str | None = None,
    mowings_left: int | None = None,
    sources: tuple[str, ...] = (),
) -> Wait:
    facts = facts_of(treatment) | {"because": because or treatment.product}
    if mowings_left is not None:
        facts["mowings_left"] = mowings_left
    return Wait(
        over=False,
        code=code,
        sentence=sentence,
        rule_class=rule_class,
        facts=facts,
        sources=sources,
    )


def facts_of(treatment: Treatment) -> dict[str, object]:
    """Return the product, the day and who said so, as facts of an answer."""
    return {
        "product": treatment.product,
        "applied_on": treatment.applied_on.isoformat(),
        "stated_by": treatment.stated_by,
        "statement_source": treatment.statement_source.value,
    }


def named(treatment: Treatment, because: str) -> str:
    """Return the product with the ingredient that decides, or the product alone."""
    if not because or because == treatment.product:
        return treatment.product
    return f"{treatment.product} ({because})"


def still_to_go(days: int, mowings: int) -> str:
    """Return what is left of a wait in words."""
    parts = [count(number, word) for number, word in ((days, "day"), (mowings, "mowing")) if number]
    return " and ".join(parts)


def count(number: int, word: str) -> str:
    """Return a number with its word, in the singular or the plural."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"

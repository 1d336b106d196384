"""What a label keeps on the lawn that was treated, until when, and of which product."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from service.agronomy.treatments.facts import TreatmentFact
from service.core.measures.units import date_words
from service.core.plans import RuleClass
from service.core.treatments import LabelWait, Treatment
from service.destinations.verdicts import Wait
from service.rules.here import RulesHere
from service.rules.treatment_rows import KeptRow

BINDING: Final = frozenset({RuleClass.LABEL, RuleClass.LAW})
NOTHING_KEPT: Final = Wait(
    over=True,
    code="may_leave",
    sentence="Nothing on record keeps the clippings on the lawn.",
    rule_class=RuleClass.ADVICE,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """Why clippings stay on the lawn that was treated; without an end, ``mowings_left`` is None."""

    code: str
    sentence: str
    because: str
    rule_class: RuleClass = RuleClass.LABEL
    mowings_left: int | None = None
    sources: tuple[str, ...] = ()


def kept_on_lawn(
    treatments: Sequence[tuple[Treatment, TreatmentFact]], *, here: RulesHere
) -> Wait | None:
    """Return what keeps the clippings on the treated lawn, the strictest word first; else None.

    Parameters
    ----------
    treatments
        Those on record before the cut, with days and mowings since.
    here
        The rules of the working day of the cut.
    """
    found = [
        (treatment, kept)
        for treatment, fact in treatments
        if (
            kept := kept_by(
                treatment.product,
                fact.substances,
                mowings_since=fact.mowings_since or 0,
                label=treatment.label_wait,
                here=here,
                put_on=treatment.applied_on,
            )
        )
        is not None
    ]
    strictest = min(found, key=lambda pair: _rank(pair[1]), default=None)
    if strictest is None:
        return None
    treatment, kept = strictest
    facts = facts_of(treatment) | {"because": kept.because}
    if kept.mowings_left is not None:
        facts["mowings_left"] = kept.mowings_left
    return Wait(
        over=False,
        code=kept.code,
        sentence=kept.sentence,
        rule_class=kept.rule_class,
        facts=facts,
        sources=kept.sources,
    )


def kept_by(
    product: str,
    substances: Sequence[str],
    *,
    mowings_since: int,
    label: LabelWait | None,
    here: RulesHere,
    put_on: date | None = None,
) -> Kept | None:
    """Return what of one product keeps clippings on the lawn, the strictest word first; else None.

    Parameters
    ----------
    substances
        ISO common names.
    label
        What its own label says, where that is known.
    put_on
        The day it was put on, if there is a record.
    """
    if label is not None and label.leave_on_lawn:
        return Kept(
            code="label_leave_on_lawn",
            sentence=f"The label of {product} keeps the clippings on the treated lawn.",
            because=product,
        )
    if label is not None and label.leave_on_lawn_mowings is not None:
        still = label.leave_on_lawn_mowings - mowings_since
        if still <= 0:
            return None
        return Kept(
            code="label_leave_on_lawn",
            sentence=(
                f"The label of {product} keeps the clippings of the first "
                f"{count(label.leave_on_lawn_mowings, 'mowing')} on the treated lawn: "
                f"{count(still, 'mowing')} still to go, this one with them."
            ),
            because=product,
            mowings_left=still,
        )
    found = (
        _by_table(
            product,
            name,
            mowings_since=mowings_since,
            row=here.book.treatments.kept_on_lawn(name, here.day, jurisdiction=here.jurisdiction),
            put_on=put_on,
        )
        for name in substances
    )
    return min((kept for kept in found if kept is not None), key=_rank, default=None)


def _by_table(
    product: str, name: str, *, mowings_since: int, row: KeptRow | None, put_on: date | None
) -> Kept | None:
    if row is None or (row.mowings is not None and mowings_since >= row.mowings):
        return None
    left = None if row.mowings is None else row.mowings - mowings_since
    end = (
        "no end is named"
        if left is None
        else f"{count(left, 'mowing')} still to go, this one with them"
    )
    then = "" if put_on is None else f", put on on {date_words(put_on)}"
    return Kept(
        code="treated_leave_on_lawn",
        sentence=(
            f"{named(product, name)}{then}: leave the clippings on the treated lawn; {end} "
            f"({row.where})."
        ),
        rule_class=RuleClass.LABEL if row.kind == "label" else RuleClass.ADVICE,
        because=name,
        mowings_left=left,
        sources=row.sources,
    )


def _rank(kept: Kept) -> bool:
    return kept.rule_class not in BINDING


def facts_of(treatment: Treatment) -> dict[str, object]:
    """Return the product, the day and who said so, as facts of an answer."""
    return {
        "product": treatment.product,
        "applied_on": treatment.applied_on.isoformat(),
        "stated_by": treatment.stated_by,
        "statement_source": treatment.statement_source.value,
    }


def named(product: str, because: str) -> str:
    """Return the product with the ingredient that decides, or the product alone."""
    return product if not because or because == product else f"{product} ({because})"


def still_to_go(days: int, mowings: int) -> str:
    """Return what is left of a wait in words."""
    parts = [count(number, word) for number, word in ((days, "day"), (mowings, "mowing")) if number]
    return " and ".join(parts)


def count(number: int, word: str) -> str:
    """Return a number with its word, in the singular or the plural."""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"

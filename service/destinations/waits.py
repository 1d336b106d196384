"""What treatments of a lawn ask for, by use: the science's verdicts with the day's rules."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from uuid import UUID

from service.agronomy.treatments.waits import (
    LabelWait,
    Outcome,
    TreatmentFact,
    TreatmentVerdict,
    verdict_for,
)
from service.core.plans import RuleClass
from service.core.treatments import LabelWait as RecordedLabelWait
from service.core.treatments import Treatment
from service.destinations.verdicts import Wait
from service.rules.lookup import Rulebook

USES = ("bed", "edible_bed", "compost_site")
USE_WORDS = {
    "bed": "a bed",
    "edible_bed": "a bed with food plants",
    "compost_site": "composting",
}
KIND_CLASSES = {"law": RuleClass.LAW, "label": RuleClass.LABEL}


def waits_of(
    treatments: Sequence[Treatment],
    mowings: Mapping[UUID, Sequence[datetime]],
    *,
    cut_on: date,
    rulebook: Rulebook,
    jurisdiction: str,
) -> dict[str, Wait]:
    """Return, by use, what the treatments on record still ask for.

    Parameters
    ----------
    treatments
        Every treatment on record for the lawns; those after the cut do not count.
    mowings
        By lawn, the times of the mowings before this one.
    cut_on
        The working day of the cut.
    """
    facts = [
        _fact(treatment, mowings, cut_on=cut_on, rulebook=rulebook, jurisdiction=jurisdiction)
        for treatment in treatments
        if treatment.applied_on <= cut_on
    ]
    if not facts:
        return {}
    verdicts = {use: verdict_for(use, facts) for use in USES}
    waits = {use: _wait(verdict) for use, verdict in verdicts.items()}
    waits["lawn"] = _lawn_wait(treatments, waits, cut_on=cut_on)
    return waits


def _fact(
    treatment: Treatment,
    mowings: Mapping[UUID, Sequence[datetime]],
    *,
    cut_on: date,
    rulebook: Rulebook,
    jurisdiction: str,
) -> TreatmentFact:
    found = [rulebook.treatments.substance_of(name) for name in treatment.active_ingredients]
    # An ingredient the table does not know keeps its written name: no rule, so unknown.
    names = tuple(
        substance.name if substance is not None else written
        for substance, written in zip(found, treatment.active_ingredients, strict=True)
    )
    label = stated_label(treatment)
    return TreatmentFact(
        product=treatment.product,
        substances=names,
        waits=[
            row
            for name in names
            for row in rulebook.treatments.waits_on(name, cut_on, jurisdiction=jurisdiction)
        ],
        days_since=(cut_on - treatment.applied_on).days,
        mowings_since=sum(
            1 for at in mowings.get(treatment.lawn_id, ()) if at.date() > treatment.applied_on
        ),
        label=None
        if label is None
        else LabelWait(
            days=label.days,
            mowings=label.mowings,
            never=label.leave_on_lawn,
            stated_by=f"the label of {treatment.product}",
        ),
    )


def stated_label(treatment: Treatment) -> RecordedLabelWait | None:
    """Return what the label says, or None where it is silent or says nothing."""
    label = treatment.label_wait
    if label is None or not (label.leave_on_lawn or label.days or label.mowings):
        return None
    return label


def _wait(verdict: TreatmentVerdict) -> Wait:
    use = USE_WORDS[verdict.destination]
    facts: dict[str, object] = {"because": verdict.because, "rule": verdict.rule}
    if verdict.outcome is Outcome.CLEAR:
        code, sentence = "treatment_clear", f"Every wait on record for {use} has passed."
        facts["composting_days"] = verdict.composting_days
    elif verdict.outcome is Outcome.WAIT:
        left = _left(verdict)
        code = "treatment_wait"
        sentence = f"{verdict.because}: {left} still to go before {use} ({verdict.rule})."
        facts |= {"days_left": verdict.days_left, "mowings_left": verdict.mowings_left}
    elif verdict.outcome is Outcome.UNKNOWN:
        code = "treatment_unknown"
        sentence = f"{verdict.because}: what it asks for before {use} is not known."
    else:
        code = "treatment_never"
        sentence = f"{verdict.because}: never to {use} ({verdict.rule})."
    return Wait(
        over=verdict.outcome is Outcome.CLEAR,
        code=code,
        sentence=sentence,
        rule_class=KIND_CLASSES.get(verdict.kind, RuleClass.ADVICE),
        facts=facts,
        sources=verdict.sources,
        composting_days=verdict.composting_days,
    )


def _left(verdict: TreatmentVerdict) -> str:
    parts = []
    if verdict.days_left:
        parts.append(f"{verdict.days_left} days")
    if verdict.mowings_left:
        parts.append(f"{verdict.mowings_left} mowings")
    return " and ".join(parts)


def _lawn_wait(treatments: Sequence[Treatment], waits: Mapping[str, Wait], *, cut_on: date) -> Wait:
    """Return whether the clippings must stay on the treated lawn: a label or a law says so."""
    told = [
        treatment
        for treatment in treatments
        if treatment.applied_on <= cut_on
        and treatment.label_wait is not None
        and treatment.label_wait.leave_on_lawn
    ]
    if told:
        return Wait(
            over=False,
            code="label_leave_on_lawn",
            sentence=f"The label of {told[0].product} keeps the clippings on the treated lawn.",
            rule_class=RuleClass.LABEL,
            facts={"product": told[0].product},
        )
    strict = [
        waits[use]
        for use in ("bed", "compost_site")
        if not waits[use].over and waits[use].rule_class in {RuleClass.LABEL, RuleClass.LAW}
    ]
    if len(strict) == len(("bed", "compost_site")):
        return Wait(
            over=False,
            code="treated_leave_on_lawn",
            sentence=f"Leave the clippings on the treated lawn. {strict[0].sentence}",
            rule_class=strict[0].rule_class,
            facts=dict(strict[0].facts),
            sources=strict[0].sources,
        )
    return Wait(
        over=True,
        code="may_leave",
        sentence="Nothing on record keeps the clippings on the lawn.",
        rule_class=RuleClass.ADVICE,
    )

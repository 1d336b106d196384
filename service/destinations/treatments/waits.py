"""What treatments of a lawn ask for, by use: the science's verdicts with the day's rules."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from service.agronomy.treatments.waits import (
    LabelWait,
    Outcome,
    TreatmentFact,
    badness,
    verdict_for,
)
from service.core.plans import RuleClass
from service.core.treatments import LabelWait as RecordedLabelWait
from service.core.treatments import Treatment
from service.destinations.treatments.kept_on_lawn import (
    BINDING,
    NOTHING_KEPT,
    facts_of,
    kept_on_lawn,
    named,
    still_to_go,
)
from service.destinations.verdicts import Wait
from service.rules.here import RulesHere

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
    here: RulesHere,
) -> dict[str, Wait]:
    """Return, by use, what the treatments on record still ask for.

    Parameters
    ----------
    treatments
        Every treatment on record for the lawns; those after the cut do not count.
    mowings
        By lawn, the times of the mowings before this one.
    here
        The rules of the working day of the cut.
    """
    cut_on = here.day
    known = [
        _Known(
            treatment=treatment,
            fact=_fact(treatment, mowings, here=here),
        )
        for treatment in treatments
        if treatment.applied_on <= cut_on
    ]
    if not known:
        return {}
    waits = {use: _wait(use, known, cut_on=cut_on) for use in USES}
    kept = kept_on_lawn(
        [(item.treatment, item.fact) for item in known],
        here=here,
    )
    waits["lawn"] = kept or _stays(waits)
    return waits


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """A treatment on record, and what science is told of it."""

    treatment: Treatment
    fact: TreatmentFact


def _fact(
    treatment: Treatment,
    mowings: Mapping[UUID, Sequence[datetime]],
    *,
    here: RulesHere,
) -> TreatmentFact:
    cut_on = here.day
    found = [here.book.treatments.substance_of(name) for name in treatment.active_ingredients]
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
            for row in here.book.treatments.waits_on(name, cut_on, jurisdiction=here.jurisdiction)
        ],
        days_since=(cut_on - treatment.applied_on).days,
        mowings_since=sum(
            1 for at in mowings.get(treatment.lawn_id, ()) if at.date() > treatment.applied_on
        ),
        bioassay_passed=treatment.bioassay is not None
        and treatment.bioassay.passed
        and treatment.bioassay.clippings_cut_on <= cut_on,
        label=None
        if label is None
        else LabelWait(
            days=label.days,
            mowings=max(label.mowings or 0, label.leave_on_lawn_mowings or 0) or label.mowings,
            # What stays on the lawn at first goes nowhere else then either.
            never=label.leave_on_lawn,
            stated_by=f"the label of {treatment.product}",
        ),
    )


def stated_label(treatment: Treatment) -> RecordedLabelWait | None:
    """Return what the label says, or None where it is silent or says nothing."""
    label = treatment.label_wait
    if label is None or not (
        label.leave_on_lawn or label.days or label.mowings or label.leave_on_lawn_mowings
    ):
        return None
    return label


def _wait(use: str, known: Sequence[_Known], *, cut_on: date) -> Wait:
    verdict = verdict_for(use, [item.fact for item in known])
    decides = max(known, key=lambda item: badness(verdict_for(use, [item.fact])))
    name = named(decides.treatment.product, verdict.because)
    said = name[:1].upper() + name[1:]  # it begins a sentence; a product is kept as it was typed
    words = USE_WORDS[use]
    facts: dict[str, object] = {"use": use, "because": verdict.because, "rule": verdict.rule}
    if verdict.outcome is not Outcome.CLEAR:
        facts |= facts_of(decides.treatment)
    if verdict.outcome is Outcome.CLEAR:
        code, sentence = "treatment_clear", f"Every wait on record for {words} has passed."
        facts["composting_days"] = verdict.composting_days
    elif verdict.outcome is Outcome.WAIT:
        code = "treatment_wait"
        left = still_to_go(verdict.days_left, verdict.mowings_left)
        sentence = f"{said}: {left} still to go before {words} ({verdict.rule})."
        facts |= {"days_left": verdict.days_left, "mowings_left": verdict.mowings_left}
        if verdict.days_left:
            facts["until_on"] = (cut_on + timedelta(days=verdict.days_left)).isoformat()
    elif verdict.outcome is Outcome.UNKNOWN:
        code = "treatment_unknown"
        sentence = (
            f"{said}: what it asks for before {words} is not known. Until it is, the clippings "
            f"count as unknown. Ask {decides.treatment.stated_by}, who stated it, for the active "
            "ingredients on the label and what it says of clippings, and keep them with the "
            "treatment."
        )
    else:
        code = "treatment_never"
        sentence = f"{said}: never to {words} ({verdict.rule})."
    return Wait(
        over=verdict.outcome is Outcome.CLEAR,
        code=code,
        sentence=sentence,
        rule_class=KIND_CLASSES.get(verdict.kind, RuleClass.ADVICE),
        facts=facts,
        sources=verdict.sources,
        composting_days=verdict.composting_days,
    )


def _stays(waits: Mapping[str, Wait]) -> Wait:
    """Return whether clippings stay on the lawn because they may go nowhere else.

    Where a label or a law closes one of the two uses, and the other is closed as well, they must;
    where only advice closes both, they should: nothing is gained by carrying them off, for their
    waits are counted on the lawn.
    """
    closed = [waits[use] for use in ("bed", "compost_site") if not waits[use].over]
    if len(closed) < len(("bed", "compost_site")):
        return NOTHING_KEPT
    told = min(closed, key=lambda wait: wait.rule_class not in BINDING)
    unknown = any(wait.code == "treatment_unknown" for wait in closed)
    if unknown and told.rule_class not in BINDING:
        # Somebody can still find out, and then they may go: the hold bay is for that.
        return NOTHING_KEPT
    return Wait(
        over=False,
        code="treated_leave_on_lawn",
        sentence=f"Leave the clippings on the treated lawn. {told.sentence}",
        rule_class=told.rule_class,
        facts=dict(told.facts),
        sources=told.sources,
    )

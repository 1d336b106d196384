"""The words of destinations and of the lawn itself, as they are told."""

from __future__ import annotations

from service.core.plans import Verdict
from service.destinations.lawn import LawnAdvice
from service.destinations.verdicts import whole_kg
from service.usecases.telling.told.lots import AdviceTold, VerdictTold


def told_verdict(verdict: Verdict, *, name: str) -> VerdictTold:
    """Return what a destination says to a lot."""
    return VerdictTold(
        destination_kind=verdict.destination_kind,
        destination_id=verdict.destination_id,
        name=name,
        accepted_kg=whole_kg(verdict.accepted_kg),
        code=verdict.code,
        sentence=verdict.sentence,
        rule_class=verdict.rule_class,
        facts=verdict.facts,
        sources=tuple(verdict.sources),
    )


def told_advice(advice: LawnAdvice) -> AdviceTold:
    """Return whether clippings should stay on the lawn."""
    return AdviceTold(
        must=advice.must,
        code=advice.code,
        sentence=advice.sentence,
        rule_class=advice.rule_class,
        facts=advice.facts,
        sources=tuple(advice.sources),
    )

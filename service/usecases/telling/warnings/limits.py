"""What a dispatcher must know of tips that a limit of their place left no room for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from service.core.places import DestinationKind
from service.core.plans import RuleClass
from service.destinations.verdicts import Limit, kg_at_most, whole_kg
from service.rules.lookup import Rulebook
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.over_limits import OverLimit, over_limits

OVER_LIMIT: Final = "over_limit"
WHOSE: Final = {
    RuleClass.LAW: "more than the law allows",
    RuleClass.CLIENT: "more than its client takes",
    RuleClass.SITE: "more than it has room for",
    RuleClass.ADVICE: "more than it should get",
}


def limit_warnings(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[dict[str, Any]]:
    """Yield the tips of the day that are more than their places had room for."""
    for over in over_limits(facts, rulebook=rulebook):
        load = over.load
        yield {
            "vehicle_id": str(load.vehicle_id),
            "code": OVER_LIMIT,
            "load_id": str(load.id),
            "destination_kind": load.destination_kind.value,
            "destination_id": str(load.destination_id),
            "lot_codes": [part.lot_code for part in load.parts],
            "limit_code": over.limit.code,
            "rule_class": over.limit.rule_class.value,
            "is_likely": over.is_likely_over(over.limit),
            "mass_high_kg": kg_at_most(over.high_kg),
            "room_kg": whole_kg(over.limit.mass_kg),
            "also_over": [
                {
                    "limit_code": limit.code,
                    "rule_class": limit.rule_class.value,
                    "room_kg": whole_kg(limit.mass_kg),
                }
                for limit in over.broken[1:]
            ],
            "why": over_words(over),
        }


def over_words(over: OverLimit) -> str:
    """Return in words what lies there, and what there was room for."""
    verb = "lies" if over.is_likely_over(over.limit) else "may lie"
    mass = (
        f"{over.high_kg:.6g} kg as weighed"
        if over.load.weight_counts
        else f"{whole_kg(over.low_kg)} to {kg_at_most(over.high_kg)} kg, likely "
        f"{kg_at_most(over.likely_kg)}"
    )
    is_bed = over.load.destination_kind is DestinationKind.BED
    where = f"{'on' if is_bed else 'at'} {over.place}"
    also = (
        f" It {'is' if over.is_likely_over(limit) else 'may be'} also {_whose(limit)}: "
        f"{whole_kg(limit.mass_kg)} kg. {limit.sentence}"
        for limit in over.broken[1:]
    )
    return (
        f"{_whose(over.limit).capitalize()} {verb} {where}: {mass}; there was room for "
        f"{whole_kg(over.limit.mass_kg)} kg. {over.limit.sentence}{''.join(also)}"
    )


def _whose(limit: Limit) -> str:
    return WHOSE.get(limit.rule_class, "more than it may get")

"""What a dispatcher must know of tips that a limit of their bed left no room for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.places import DestinationKind
from service.core.plans import RuleClass
from service.core.records import Clock
from service.destinations.verdicts import Limit, whole_kg
from service.rules.lookup import Rulebook
from service.usecases.base.ports import OpenUnitOfWork
from service.usecases.day.facts import DayFacts
from service.usecases.day.over_limits import OverLimit, over_limit, over_limits
from service.usecases.day.reading import read_day

WHOSE: Final = {
    RuleClass.LAW: "more than the law allows",
    RuleClass.CLIENT: "more than its client takes",
    RuleClass.ADVICE: "more than it should get",
}


def limit_warnings(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[dict[str, Any]]:
    """Yield the tips of the day that are more than their beds had room for."""
    for over in over_limits(facts, rulebook=rulebook):
        load = over.load
        yield {
            "vehicle_id": str(load.vehicle_id),
            "code": "over_limit",
            "load_id": str(load.id),
            "destination_kind": load.destination_kind.value,
            "destination_id": str(load.destination_id),
            "lot_codes": [part.lot_code for part in load.parts],
            "limit_code": over.limit.code,
            "rule_class": over.limit.rule_class.value,
            "is_likely": over.is_likely_over(over.limit),
            "mass_high_kg": round(over.high_kg),
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


class TellOverLimit:
    """Tell whoever tipped a load, at once, that its bed had no room for so much."""

    def __init__(self, *, open_reading: OpenUnitOfWork, clock: Clock, rulebook: Rulebook) -> None:
        """Take the records, the clock and the rules."""
        self._open = open_reading
        self._clock = clock
        self._rulebook = rulebook

    def __call__(self, caller: Caller, load_id: UUID) -> str | None:
        """Return it in words; None if there was room, or nothing of it lies on a bed."""
        with self._open() as unit:
            load = unit.loads.get(caller.firm_id, load_id)
            if load is None or load.destination_kind is not DestinationKind.BED:
                return None
            facts = read_day(
                unit,
                firm_id=caller.firm_id,
                depot_id=load.depot_id,
                day=load.working_day,
                now=self._clock.now(),
                met_by=load,
            )
            bed = next((one for one in facts.beds if one.id == load.destination_id), None)
        over = None if bed is None else over_limit(load, bed, facts, rulebook=self._rulebook)
        return None if over is None else over_words(over)


def over_words(over: OverLimit) -> str:
    """Return in words what lies there, and what there was room for."""
    verb = "lies" if over.is_likely_over(over.limit) else "may lie"
    mass = (
        f"{over.high_kg:.0f} kg as weighed"
        if over.load.weight_counts
        else f"{over.low_kg:.0f} to {over.high_kg:.0f} kg, likely {over.likely_kg:.0f}"
    )
    also = (
        f" It {'is' if over.is_likely_over(limit) else 'may be'} also {_whose(limit)}: "
        f"{whole_kg(limit.mass_kg)} kg. {limit.sentence}"
        for limit in over.broken[1:]
    )
    return (
        f"{_whose(over.limit).capitalize()} {verb} on {over.bed.name}: {mass}; there was room for "
        f"{whole_kg(over.limit.mass_kg)} kg. {over.limit.sentence}{''.join(also)}"
    )


def _whose(limit: Limit) -> str:
    return WHOSE.get(limit.rule_class, "more than it may get")

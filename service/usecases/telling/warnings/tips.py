"""What a dispatcher, and whoever tipped, must know of tips on beds that take nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.loads import Load
from service.core.places import DestinationKind
from service.core.plans import RuleClass
from service.core.reports import TipWarning
from service.destinations.verdicts import kg_at_most, whole_kg
from service.rules.lookup import Rulebook
from service.usecases.base.use_cases import Looking
from service.usecases.day.facts import DayFacts
from service.usecases.day.misplaced.over_limits import over_limit
from service.usecases.day.misplaced.refused_tips import RefusedTip, refused_tip, refused_tips
from service.usecases.day.reading.read_day import read_met
from service.usecases.day.tainted import tainted_beds
from service.usecases.telling.warnings.limits import OVER_LIMIT, over_words
from service.usecases.telling.warnings.weights import doubted, is_to_review

CODE: Final = "tipped_where_refused"
WHOSE: Final = {
    RuleClass.LAW: "by law nothing may be laid there",
    RuleClass.CLIENT: "its client takes nothing there",
}
TO_DO: Final = {
    RuleClass.LAW: "Call the client, and fetch it back unless the record of the bed is wrong.",
    RuleClass.CLIENT: "Call the client, and fetch it back unless they take it.",
    RuleClass.ADVICE: "Put nothing more on it; the office says whether it is fetched back.",
}


def refused_warnings(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[dict[str, Any]]:
    """Yield the tips of the day on beds that take nothing."""
    for tip in refused_tips(facts, rulebook=rulebook):
        load = tip.load
        yield {
            "vehicle_id": str(load.vehicle_id),
            "code": CODE,
            "load_id": str(load.id),
            "destination_kind": load.destination_kind.value,
            "destination_id": str(load.destination_id),
            "lot_codes": [part.lot_code for part in load.parts],
            "rule_class": tip.rule_class.value,
            "refused_by": [one.code for one in tip.reasons],
            "why": refused_words(tip),
        }


def refused_words(tip: RefusedTip) -> str:
    """Return in words what lies where, whose word is against it, and what to do."""
    lots = ", ".join(part.lot_code for part in tip.load.parts)
    whose = WHOSE.get(tip.rule_class, "nothing should be laid there")
    said = " ".join(one.sentence for one in tip.reasons)
    to_do = TO_DO.get(tip.rule_class, TO_DO[RuleClass.ADVICE])
    return f"{lots} was tipped on {tip.bed.name}, though {whose}. {said} {to_do}"


@dataclass(frozen=True, kw_only=True, eq=False)
class TellTipped(Looking):
    """Tell whoever tipped a load, at once, that its bed takes nothing, or had not so much room."""

    rulebook: Rulebook

    def __call__(self, caller: Caller, load_id: UUID) -> tuple[TipWarning, ...]:
        """Return what is to be said: of its weight, and where it lies on a bed of that."""
        with self.open_reading() as unit:
            load = unit.loads.get(caller.firm_id, load_id)
            if load is None:
                return ()
            weight = _of_weight(load)
            if load.destination_kind is not DestinationKind.BED:
                return weight
            facts = read_met(unit, load, now=self.clock.now())
            bed = next((one for one in facts.beds if one.id == load.destination_id), None)
            if bed is None:
                return weight
            facts = replace(facts, tainted=tainted_beds(unit, caller.firm_id, [bed.id]))
        tip = refused_tip(load, bed, facts, rulebook=self.rulebook)
        over = over_limit(load, bed, facts, rulebook=self.rulebook)
        told: dict[str, object] = {
            "lots": [part.lot_code for part in load.parts],
            "place": bed.name,
        }
        refused = [_warning(CODE, tip.rule_class, refused_words(tip), told)] if tip else []
        if over is None:
            return (*refused, *weight)
        told |= {
            "mass_high_kg": kg_at_most(over.high_kg),
            "room_kg": whole_kg(over.limit.mass_kg),
        }
        too_much = _warning(OVER_LIMIT, over.limit.rule_class, over_words(over), told)
        return (*refused, too_much, *weight)


def _of_weight(load: Load) -> tuple[TipWarning, ...]:
    """Return that a weight counts for nothing yet, if so."""
    if not is_to_review(load):
        return ()
    found = doubted(load)
    facts = {name: fact for name, fact in found.items() if name not in {"code", "why"}}
    return (_warning(str(found["code"]), RuleClass.ADVICE, str(found["why"]), facts),)


def _warning(
    code: str, rule_class: RuleClass, sentence: str, facts: Mapping[str, object]
) -> TipWarning:
    return {
        "code": code,
        "rule_class": rule_class.value,
        "sentence": sentence,
        "facts": dict(facts),
    }

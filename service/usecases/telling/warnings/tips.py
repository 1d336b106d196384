"""What a dispatcher, and whoever tipped, must know of tips at places that take nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.loads import HoldEntry, Load
from service.core.places import DestinationKind
from service.core.plans import Ground, RuleClass
from service.core.reports import TipWarning
from service.destinations.heaps import BAY_HOT, KEPT_AWAY, heap_level, hottest_of_last
from service.destinations.reasons import Reason
from service.destinations.verdicts import kg_at_most, whole_kg
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import day_of, find_depot
from service.usecases.base.destination_kinds import is_hold
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Looking
from service.usecases.day.asking import refusals_now
from service.usecases.day.destinations import ready_then
from service.usecases.day.facts import DayFacts
from service.usecases.day.held.not_loaded import left_by
from service.usecases.day.misplaced.over_limits import over_limit
from service.usecases.day.misplaced.refused_tips import RefusedTip, refused_tip, refused_tips
from service.usecases.day.reading.read_day import lying_there, read_met
from service.usecases.day.tainted import tainted_beds
from service.usecases.telling.told.forms import plain
from service.usecases.telling.warnings.limits import OVER_LIMIT, over_words
from service.usecases.telling.warnings.weights import doubted, is_to_review

CODE: Final = "tipped_where_refused"
NOT_LOADED: Final = "was_it_loaded"
OF_THE_LOT: Final = frozenset({Ground.LOT, Ground.PAIR})
MAY_NOT_GO_THERE: Final = "it may not go there"
WHOSE: Final = {
    RuleClass.LAW: "by law nothing may be laid there",
    RuleClass.CLIENT: "its client takes nothing there",
    RuleClass.SITE: "it took nothing then",
}
TO_DO: Final = {
    RuleClass.LAW: "Call the client, and fetch it back unless the record of the bed is wrong.",
    RuleClass.CLIENT: "Call the client, and fetch it back unless they take it.",
    RuleClass.SITE: "Ring them, and fetch it back unless they take it.",
    RuleClass.ADVICE: "Put nothing more on it; the office says whether it is fetched back.",
}
LOADED_HOT: Final = "loaded_hot"
HOT_ABOARD: Final = (
    "Load no more of it. Stand where no building and nobody is near, keep everybody away, do not "
    "drive on the road with it, and call the office. If it smokes or smells of burning, call the "
    "fire service first, whose word goes before all."
)
KEEP_AWAY: Final = (
    "Keep everybody away from it, and fork nothing back. If it smokes or smells of burning, call "
    "the fire service, whose word goes first."
)


def refused_warnings(facts: DayFacts, *, rulebook: Rulebook) -> Iterator[dict[str, Any]]:
    """Yield the tips of the day at places that take nothing."""
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
    load, first = tip.load, tip.reasons[0]
    lots = ", ".join(part.lot_code for part in load.parts)
    where = f"{'on' if load.destination_kind is DestinationKind.BED else 'at'} {tip.place}"
    whose = WHOSE.get(tip.rule_class, "nothing should be laid there")
    to_do = TO_DO.get(tip.rule_class, TO_DO[RuleClass.ADVICE])
    if first.ground in OF_THE_LOT or is_hold(load.destination_kind):
        whose = MAY_NOT_GO_THERE
    if any(one.code == BAY_HOT for one in tip.reasons):
        to_do = KEEP_AWAY
    said = " ".join(one.sentence for one in tip.reasons)
    return f"{lots} was tipped {where}, though {whose}. {said} {to_do}"


@dataclass(frozen=True, kw_only=True, eq=False)
class TellTipped(Looking):
    """Tell whoever tipped, at once, that its place takes nothing, or had not so much room."""

    rulebook: Rulebook

    def __call__(self, caller: Caller, load_id: UUID) -> tuple[TipWarning, ...]:
        """Return what is to be said: of where it was tipped, and of its weight."""
        with self.open_reading() as unit:
            load = unit.loads.get(caller.firm_id, load_id)
            if load is None:
                return ()
            facts = self._met_by(unit, load)
            of_lots = self._against_lots(unit, load, facts)
            left = left_by(unit, load)
            bays = unit.hold_bays.get_many(load.firm_id, sorted({e.hold_bay_id for e in left}))
        tip = refused_tip(load, facts, rulebook=self.rulebook, of_lots=of_lots)
        over = over_limit(load, facts, rulebook=self.rulebook)
        lots = [part.lot_code for part in load.parts]
        found = []
        if tip is not None:
            found.append(
                _warning(CODE, tip.rule_class, refused_words(tip), _facts_of(tip, lots=lots))
            )
        if over is not None:
            told: dict[str, object] = {
                "lots": lots,
                "place": over.place,
                "mass_high_kg": kg_at_most(over.high_kg),
                "room_kg": whole_kg(over.limit.mass_kg),
            }
            found.append(_warning(OVER_LIMIT, over.limit.rule_class, over_words(over), told))
        found += [_left_there(entry, bays[entry.hold_bay_id].name) for entry in left]
        return (*found, *_of_weight(load))

    def loaded(self, caller: Caller, entry_id: UUID) -> tuple[TipWarning, ...]:
        """Return that what was just loaded is too hot to be near; nothing of a heap that is not."""
        with self.open_reading() as unit:
            entry = unit.hold_entries.get(caller.firm_id, entry_id)
            reading = None if entry is None else hottest_of_last(entry)
            bay = None if entry is None else unit.hold_bays.get(caller.firm_id, entry.hold_bay_id)
            if entry is None or reading is None or bay is None:
                return ()
            depot = find_depot(unit, caller.firm_id, bay.depot_id)
        day = day_of(depot, self.clock.now())
        here = RulesHere(self.rulebook, day, depot.jurisdiction)
        if heap_level(reading.temperature_c, here=here) not in KEPT_AWAY:
            return ()
        lots = ", ".join(entry.lot_codes)
        sentence = f"{lots} was measured at {reading.temperature_c:g} C inside. {HOT_ABOARD}"
        facts = {"lots": list(entry.lot_codes), "temperature_c": reading.temperature_c}
        return (_warning(LOADED_HOT, RuleClass.ADVICE, sentence, facts),)

    def _met_by(self, unit: UnitOfWork, load: Load) -> DayFacts:
        """Return the day of a load, as much of it as the load meets, with what lies where it is."""
        facts = read_met(unit, load, now=self.clock.now())
        lying = lying_there(unit, load) if is_hold(load.destination_kind) else ()
        beds = [bed.id for bed in facts.beds]
        return replace(facts, held=lying, tainted=tainted_beds(unit, load.firm_id, beds))

    def _against_lots(self, unit: UnitOfWork, load: Load, facts: DayFacts) -> tuple[Reason, ...]:
        """Return why its place does not take what was in it, by the records of now."""
        if is_hold(load.destination_kind):
            return ()
        jobs = unit.jobs.get_many(load.firm_id, sorted({part.job_id for part in load.parts}))
        facts = replace(facts, lot_facts=read_lot_facts(unit, load.firm_id, list(jobs.values())))
        ready = ready_then(load, facts, rulebook=self.rulebook)
        # What waited in a bay was judged by its own clock as it was brought on.
        fresh = tuple(part for part in load.parts if part.hold_entry_id is None)
        load = replace(load, parts=fresh)
        return tuple(
            Reason(
                code=said.code,
                sentence=said.sentence,
                rule_class=said.rule_class,
                ground=said.ground,
                facts=said.facts,
                sources=said.sources,
            )
            for said in refusals_now(load, jobs, facts, ready, rulebook=self.rulebook)
            if said.ground is not None
        )


def _facts_of(tip: RefusedTip, *, lots: list[str]) -> dict[str, object]:
    """Return what a crew reads of a tip: of a bed that takes nothing whose word it is, else why."""
    told: dict[str, object] = {"lots": lots, "place": tip.place}
    first = next((one for one in tip.reasons if one.code == BAY_HOT), tip.reasons[0])
    is_bed = tip.load.destination_kind is DestinationKind.BED
    if not is_bed or first.ground in OF_THE_LOT:
        told["refusal"] = {"code": first.code, "facts": plain(first.facts)}
    return told


def _left_there(entry: HoldEntry, bay: str) -> TipWarning:
    """Return that a heap counts as lying in its bay."""
    facts: dict[str, object] = {"lots": list(entry.lot_codes), "place": bay}
    return _warning(NOT_LOADED, RuleClass.ADVICE, not_loaded_words(entry, bay), facts)


def not_loaded_words(entry: HoldEntry, bay: str) -> str:
    """Return in words that a heap counts as lying in its bay, and what to do."""
    lots = ", ".join(entry.lot_codes)
    return (
        f"{lots} counts as still lying in {bay}: it was planned with this tip, and nobody said "
        "that it was loaded. If it was tipped too, say so. If it lies there, look whether it "
        "smokes or smells of burning, and measure it."
    )


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

"""What waits for a word of what lies in the bays, by the clocks of now: with a plan or without."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Any, Final
from uuid import UUID

from service.core.plans import DayPlan
from service.destinations.heaps import KEPT_AWAY, NOT_MOVED, heap_level, hottest_of_last
from service.rules.lookup import Rulebook
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.asking import ask_held
from service.usecases.day.facts import DayFacts
from service.usecases.day.freezes import CODE as RECALLED
from service.usecases.day.held.not_loaded import NOT_TIPPED, not_loaded
from service.usecases.mass_book.movements import TIPPED_STATES
from service.usecases.telling.decisions.decision import Decision, Gravity, Urgency, Way
from service.usecases.telling.held.queue import QueueTeller
from service.usecases.telling.told.held import HeldTold
from service.usecases.telling.warnings.subjects import named
from service.usecases.telling.warnings.tips import LOADED_HOT, NOT_LOADED, not_loaded_words

# As the steps say it, and the tables of hay from 71.1 C on [purdue-hay].
LOOKED_AT_EVERY: Final = timedelta(hours=2)


def held_now(facts: DayFacts, plan: DayPlan | None, *, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield what presses of what is held, on the day it is; a heap knows no Sunday."""
    if not facts.held or not facts.span.start <= facts.now < facts.span.end:
        return
    routing: Any = {} if plan is None else plan.routing
    stays = {
        UUID(told["hold_entry_id"]): told["stays"]
        for told in routing.get("held", ())
        if told["stays"] is not None
    }
    asked = ask_held(facts, rulebook=rulebook)
    queue = QueueTeller(facts, asked, facts.planned_loads, rulebook=rulebook, stays=stays)
    for held in queue.entries():
        yield from _of(held)


def hot_aboard(facts: DayFacts, rulebook: Rulebook) -> Iterator[Decision]:
    """Yield the vehicles that loaded of a heap from which people keep away."""
    here = facts.rules(rulebook)
    for grass in facts.loaded:
        reading = hottest_of_last(grass.entry)
        level = None if reading is None else heap_level(reading.temperature_c, here=here)
        if reading is None or level not in KEPT_AWAY:
            continue
        what = named(grass.entry.lot_codes, most=1)
        yield Decision(
            code=LOADED_HOT,
            urgency=Urgency.NOW,
            graver=Gravity.HURTS,
            sentence=(
                "Ring its crew: nobody drives on the road with it, and everybody stays away. "
                f"{what} was measured at {reading.temperature_c:g} C inside, and is aboard. If it "
                "smokes or smells of burning, the fire service is called first, whose word goes "
                "before all."
            ),
            lot_codes=grass.entry.lot_codes,
            vehicle_id=grass.vehicle_id,
            hold_entry_id=grass.entry.id,
            ways=(
                Way(
                    what="Say where it was tipped, or that it was not loaded",
                    method="POST",
                    href="/reports",
                ),
            ),
        )


def was_it_loaded(unit: UnitOfWork, facts: DayFacts) -> Iterator[Decision]:
    """Yield the heaps that a vehicle was to fetch before it tipped, of which nobody said a word."""
    if not facts.held or not facts.span.start <= facts.now < facts.span.end:
        return
    day = facts.span.day
    loads = unit.loads.all(
        facts.depot.firm_id,
        depot_id=facts.depot.id,
        working_day=(day - timedelta(days=1), day),
        state=(*NOT_TIPPED, *sorted(TIPPED_STATES)),
    )
    tips = [load for load in loads if load.state in TIPPED_STATES]
    planned = [load for load in loads if load.state in NOT_TIPPED]
    bays = {bay.id: bay.name for some in facts.places.values() for bay in some}
    entries = {grass.entry.id: grass.entry for grass in facts.held}
    for tip, entry in not_loaded(tips, planned, list(entries.values())):
        what = named(entry.lot_codes, most=1)
        yield Decision(
            code=NOT_LOADED,
            urgency=Urgency.NOW,
            sentence=not_loaded_words(entry, bays.get(entry.hold_bay_id, "its bay")),
            lot_codes=entry.lot_codes,
            vehicle_id=tip.vehicle_id,
            load_id=tip.id,
            hold_entry_id=entry.id,
            ways=(
                Way(
                    what=f"It lies there: measure {what}", method="POST", href="/heap-temperatures"
                ),
                Way(
                    what=f"It was tipped too: report {what} as loaded, then as tipped",
                    method="POST",
                    href="/reports",
                ),
            ),
        )


def _of(held: HeldTold) -> Iterator[Decision]:
    entry_id, what = held.hold_entry_id, named(held.lot_codes, most=1)
    leaves = Way(
        what=f"Say what became of {what}", method="PATCH", href=f"/hold-entries/{entry_id}"
    )
    # Nothing of what is frozen is moved before its recall is ended.
    frozen = Way(what="Read what is recalled, and why", method="GET", href="/recalls")
    says = frozen if held.why.code == RECALLED else leaves
    measure = Way(what=f"Measure {what}", method="POST", href="/heap-temperatures")
    about: dict[str, Any] = {
        "hold_entry_id": entry_id,
        "lot_codes": held.lot_codes,
        "ways": (says, measure),
    }
    heat = held.heat
    is_hot = heat is not None and heat.level not in {None, "warm"}
    pressing = held.escalation
    if pressing is not None and not is_hot:
        is_red = pressing.level == "red"
        yield Decision(
            code=f"held_{pressing.level}",
            urgency=Urgency.NOW if is_red else Urgency.TODAY,
            deadline=None if is_red else held.red_at,
            sentence=_act_first(pressing.sentence, pressing.steps),
            own=pressing.sentence,
            caution=pressing.caution,
            **about,
        )
    if heat is not None and is_hot:
        stays = () if held.stays is None else (held.stays,)
        # One heap is one matter: how long it has lain is told with how hot it is.
        age = () if pressing is None else (pressing.sentence,)
        may_burn = heat.level in NOT_MOVED
        about["ways"] = (says,) if may_burn else (measure, says)
        yield Decision(
            code="held_hot",
            urgency=Urgency.NOW,
            graver=Gravity.HURTS if may_burn else None,
            deadline=None if may_burn else heat.at + LOOKED_AT_EVERY,
            sentence=_act_first(heat.sentence, (*heat.steps, *stays, *age)),
            caution=heat.caution,
            **about,
        )
    elif held.stays is not None:
        yield Decision(code="held_stays", urgency=Urgency.TODAY, sentence=held.stays, **about)


def _act_first(sentence: str, steps: Sequence[str]) -> str:
    """Return what is to be done now, what is so, and the rest: in passing the first is read."""
    return " ".join([*steps[:1], sentence, *steps[1:]])

"""What a measured heap says of itself: how hot it is, and why none of it is moved or laid."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta

from service.agronomy.heat.heap_temperature import heap_caution
from service.core.loads import HeapTemperature, HoldEntry
from service.core.plans import Ground, RuleClass
from service.destinations.keeping import HeldHeap
from service.destinations.reasons import Reason, refusal
from service.rules.here import RulesHere

HOT_LEVELS = ("warm", "hot")
# The table of hay begins at 65.6 C with a look twice a day: what is fresh is looked at more often
# from 60 C on, and stays hot until the table asks for more.
FIRE_ACTIONS = (
    "check_every_two_hours",
    "alert_fire_service",
    "move_only_with_fire_service",
    "fire_imminent",
)
# From the first of these on, the tables of hay have the fire service called before it is moved.
NOT_MOVED = frozenset(FIRE_ACTIONS[1:])
# People keep away from all that is hotter than warm, so nobody is sent to load of it.
FIRE_DANGER = "held_fire_danger"
BAY_HOT = "bay_hot"
KEPT_AWAY = frozenset({"hot", *FIRE_ACTIONS})
# Readings that are less apart are of one round with the probe; common practice, no source.
ONE_ROUND = timedelta(minutes=30)


def hottest_of_last(
    entry: HoldEntry, *, before: HeapTemperature | None = None
) -> HeapTemperature | None:
    """Return the hottest reading of the last time a heap was measured; None if nobody did.

    A heap that was turned and has cooled counts as it is now, at its hottest spot.

    Parameters
    ----------
    before
        A reading: the last time before its round is asked for.
    """
    readings = [
        one for one in entry.temperatures or () if before is None or before.at - one.at > ONE_ROUND
    ]
    if not readings:
        return None
    last = max(reading.at for reading in readings)
    of_last = (reading for reading in readings if last - reading.at <= ONE_ROUND)
    return max(of_last, key=lambda reading: reading.temperature_c)


def as_measured_by(entry: HoldEntry, at: datetime) -> HoldEntry:
    """Return an entry with what was measured in it by a moment."""
    readings = entry.temperatures or ()
    return replace(entry, temperatures=tuple(one for one in readings if one.at <= at))


def heap_level(temperature_c: float, *, here: RulesHere) -> str | None:
    """Return the gravest level a measured heap has reached; None below all.

    ``warm`` and ``hot`` are of fresh heaps; what is hotter is named by what the tables of hay have
    done about it.
    """
    thresholds_c = {level: here.value("heap_hot_c", level=level) for level in HOT_LEVELS} | {
        action: here.value("hay_heap_temperature_c_min", action=action) for action in FIRE_ACTIONS
    }
    return heap_caution(temperature_c, thresholds_c=thresholds_c)


def heap_reason(heap: HeldHeap | None) -> Reason | None:
    """Return why a bed takes nothing of a heap, or None; a compost site may still take it."""
    if heap is None:
        return None
    if heap.level is not None and heap.level != "warm":
        return danger_reason(heap) or refusal(
            RuleClass.ADVICE,
            "held_hot",
            f"It was measured at {heap.temperature_c:g} C: a hot heap is spread out and cools "
            "before any of it is laid on a bed.",
            ground=Ground.LOT,
            sources=("cwmi-physics",),
            temperature_c=heap.temperature_c,
            level=heap.level,
        )
    if heap.sour_since is None:
        return None
    return refusal(
        RuleClass.ADVICE,
        "held_sour",
        "It counts as sour: no layer on a bed, it would smell and may harm plants. "
        "A compost site may take it.",
        ground=Ground.LOT,
        sour_since=heap.sour_since.isoformat(),
    )


def danger_reason(heap: HeldHeap | None) -> Reason | None:
    """Return why nobody moves a heap at all, or None."""
    if heap is None or heap.level not in NOT_MOVED:
        return None
    return refusal(
        RuleClass.SITE,
        FIRE_DANGER,
        f"It was measured at {heap.temperature_c:g} C: do not open or move it; call the fire "
        "service, whose word goes first.",
        ground=Ground.LOT,
        sources=("purdue-hay", "penn-state-hay", "neshoba-hay", "coop-hay"),
        temperature_c=heap.temperature_c,
        level=heap.level,
    )


def bay_reason(lying: Iterable[HoldEntry], *, here: RulesHere) -> Reason | None:
    """Return why a bay takes nothing more: people keep away from a heap in it. None if not."""
    measured = [reading.temperature_c for entry in lying if (reading := hottest_of_last(entry))]
    if not measured:
        return None
    level = heap_level(max(measured), here=here)
    if level not in KEPT_AWAY:
        return None
    cool = here.row("heap_hot_c", level="hot")
    return refusal(
        RuleClass.SITE if level in NOT_MOVED else RuleClass.ADVICE,
        BAY_HOT,
        f"A heap in this bay was measured at {max(measured):g} C: keep away from it. Nothing "
        f"is tipped there until it is measured below {cool.value:g} C.",
        sources=("cwmi-physics", "common-practice"),
        temperature_c=max(measured),
        cool_c=cool.value,
    )

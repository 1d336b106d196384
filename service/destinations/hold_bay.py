"""Hold bays: they take everything, for hours, while there is room."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from uuid import UUID

from service.agronomy.heat.heap_temperature import heap_caution
from service.core.loads import LoadState
from service.core.places import DestinationKind, HoldBay, Point
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.beds.law import class_here
from service.destinations.keeping import HeldHeap
from service.destinations.ready import DepotDay, ReadyDestination
from service.destinations.verdicts import (
    Caution,
    Clippings,
    Limit,
    Reason,
    accepted,
    refused,
)
from service.rules.lookup import LawFacts, Rulebook

HOT_LEVELS = ("warm", "hot")
FIRE_ACTIONS = (
    "check_twice_daily",
    "check_every_two_hours",
    "alert_fire_service",
    "move_only_with_fire_service",
    "fire_imminent",
)
# From the first of these on, the tables of hay have the fire service called before it is moved.
NOT_MOVED = frozenset(FIRE_ACTIONS[2:])
# People keep away from all that is hotter than warm, so nobody is sent to load of it.
FIRE_DANGER = "held_fire_danger"
KEPT_AWAY = frozenset({"hot", *FIRE_ACTIONS})

ALREADY_HELD = Reason(
    code="already_held",
    sentence="It has waited in a bay already; it is brought on, not to another bay.",
    rule_class=RuleClass.ADVICE,
    ground=Ground.PAIR,
    sources=("common-practice",),
)


class HoldBayDestination:
    """One hold bay on one day, with what already lies in it."""

    kind = DestinationKind.HOLD_BAY
    property_id = None

    def __init__(
        self,
        bay: HoldBay,
        *,
        point: Point,
        lying_m3: float,
        rulebook: Rulebook,
        day: date,
        jurisdiction: str,
    ) -> None:
        """Take the bay, its depot's point and the high end of the volume lying in it."""
        self._bay = bay
        self._point = point
        self._lying_m3 = lying_m3
        # Whether a bay is the producer's own and serves no others is recorded nowhere: the limit of
        # the exemption is kept, and never told as law.
        self._volume = rulebook.ruled_on(
            "hold_bay_volume_m3_max", day, LawFacts(jurisdiction=jurisdiction)
        )

    @property
    def id(self) -> UUID:
        """Return the bay's id."""
        return self._bay.id

    @property
    def point(self) -> Point:
        """Return where its depot is."""
        return self._point

    @property
    def room_m3(self) -> float:
        """Return the volume left: of the bay, or of what law lets a bay hold."""
        return max(0.0, min(self._bay.volume_m3, self._volume.row.value) - self._lying_m3)

    def verdict(self, lot: Clippings) -> Verdict:
        """Return how much of the lot the bay has room for, at its high end of volume."""
        if lot.held is not None and not lot.held.is_aboard:
            return refused(self.kind, self.id, ALREADY_HELD)
        by_law = self._volume.row.value < self._bay.volume_m3
        return accepted(
            self.kind,
            self.id,
            [
                Limit(
                    mass_kg=self.room_m3 * lot.density_high_kg_per_m3,
                    code="bay_volume",
                    sentence=(
                        f"{self.room_m3:.1f} m3 of the bay are free; "
                        f"{self._lying_m3:.1f} m3 lie in it."
                    ),
                    rule_class=class_here(self._volume) if by_law else RuleClass.SITE,
                    facts={
                        "room_m3": round(self.room_m3, 2),
                        "lying_m3": round(self._lying_m3, 2),
                    },
                    sources=self._volume.row.sources if by_law else (),
                )
            ],
        )


def ready_bays(bays: Sequence[HoldBay], at: DepotDay) -> list[ReadyDestination]:
    """Return hold bays made ready for a depot's day, with what lies in them or is on its way."""
    tip_s = at.tipping_s("hold")
    return [
        ReadyDestination(
            destination=HoldBayDestination(
                bay,
                point=at.points[bay.id],
                lying_m3=_lying_m3(bay, at),
                rulebook=at.rulebook,
                day=at.day,
                jurisdiction=at.depot.jurisdiction,
            ),
            name=bay.name,
            tip_s=tip_s,
            open_s=0,
            close_s=at.end_s,
            cautions=() if bay.leachate_contained else (Caution(code="leachate_not_caught"),),
        )
        for bay in bays
    ]


def _lying_m3(bay: HoldBay, at: DepotDay) -> float:
    lying = (entry.volume_m3.high for entry in at.lying if entry.hold_bay_id == bay.id)
    on_its_way = (
        load.volume_m3.high
        for load in at.own_loads
        if load.destination_id == bay.id and load.state is LoadState.UNDER_WAY
    )
    return sum(lying) + sum(on_its_way)


def heap_level(
    temperature_c: float, *, rulebook: Rulebook, day: date, jurisdiction: str
) -> str | None:
    """Return the gravest level a measured heap has reached; None below all.

    ``warm`` and ``hot`` are of fresh heaps; what is hotter is named by what the tables of hay have
    done about it.
    """

    def rule(name: str, **case: str) -> float:
        return rulebook.value_on(name, day, jurisdiction=jurisdiction, **case).value

    thresholds_c = {level: rule("heap_hot_c", level=level) for level in HOT_LEVELS} | {
        action: rule("hay_heap_temperature_c_min", action=action) for action in FIRE_ACTIONS
    }
    return heap_caution(temperature_c, thresholds_c=thresholds_c)


def heap_reason(heap: HeldHeap | None) -> Reason | None:
    """Return why a bed takes nothing of a heap, or None; a compost site may still take it."""
    if heap is None:
        return None
    if heap.level is not None and heap.level != "warm":
        return danger_reason(heap) or Reason(
            code="held_hot",
            sentence=(
                f"It was measured at {heap.temperature_c:g} C: a hot heap is spread out and cools "
                "before any of it is laid on a bed."
            ),
            rule_class=RuleClass.ADVICE,
            ground=Ground.LOT,
            facts={"temperature_c": heap.temperature_c, "level": heap.level},
            sources=("cwmi-physics",),
        )
    if heap.sour_since is None:
        return None
    return Reason(
        code="held_sour",
        sentence=(
            "It counts as sour: no layer on a bed, it would smell and may harm plants. "
            "A compost site may take it."
        ),
        rule_class=RuleClass.ADVICE,
        ground=Ground.LOT,
        facts={"sour_since": heap.sour_since.isoformat()},
        sources=("common-practice",),
    )


def danger_reason(heap: HeldHeap | None) -> Reason | None:
    """Return why nobody moves a heap at all, or None."""
    if heap is None or heap.level not in NOT_MOVED:
        return None
    return Reason(
        code=FIRE_DANGER,
        sentence=(
            f"It was measured at {heap.temperature_c:g} C: do not open or move it; call the fire "
            "service, whose word goes first."
        ),
        # Not a rule of law, but nothing that one person at a desk sets aside.
        rule_class=RuleClass.SITE,
        ground=Ground.LOT,
        facts={"temperature_c": heap.temperature_c, "level": heap.level},
        sources=("purdue-hay", "penn-state-hay", "neshoba-hay", "coop-hay"),
    )

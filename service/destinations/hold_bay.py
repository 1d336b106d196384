"""Hold bays: they take everything, for hours, while there is room."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from uuid import UUID

from service.core.loads import LoadState
from service.core.places import DestinationKind, HoldBay, Point
from service.core.plans import Ground, RuleClass, Verdict
from service.destinations.heaps import bay_reason
from service.destinations.laid.tipped import broken
from service.destinations.ready import DepotDay, ReadyDestination
from service.destinations.reasons import Reason, class_here, refusal
from service.destinations.verdicts import Caution, Clippings, Limit, accepted, refused
from service.rules.here import RulesHere
from service.rules.lookup import LawFacts

ALREADY_HELD = refusal(
    RuleClass.ADVICE,
    "already_held",
    "It has waited in a bay already; it is brought on, not to another bay.",
    ground=Ground.PAIR,
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
        here: RulesHere,
        hot: Reason | None = None,
    ) -> None:
        """Take the bay, its depot's point, the high end of what lies in it, and if that is hot."""
        self._bay = bay
        self._point = point
        self._lying_m3 = lying_m3
        self._hot = hot
        # Whether a bay is the producer's own and serves no others is recorded nowhere: the limit of
        # the exemption is kept, and never told as law.
        self._volume = here.ruled(
            "hold_bay_volume_m3_max", LawFacts(jurisdiction=here.jurisdiction)
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
        if self._hot is not None:
            return refused(self.kind, self.id, self._hot)
        return accepted(self.kind, self.id, [self._limit(lot.density_high_kg_per_m3)])

    def standing(self) -> Iterator[Reason]:
        """Yield what stands against whatever comes: a heap in it that people keep away from."""
        if self._hot is not None:
            yield self._hot

    def broken_by(
        self, *, mass_kg: float, volume_m3: float, nitrogen_kg: float
    ) -> tuple[Limit, ...]:
        """Return its volume, if a load that was tipped there has more."""
        del nitrogen_kg  # nothing is laid here
        return broken([self._limit(mass_kg / volume_m3)], mass_kg)

    def _limit(self, density_kg_per_m3: float) -> Limit:
        by_law = self._volume.row.value < self._bay.volume_m3
        return Limit(
            mass_kg=self.room_m3 * density_kg_per_m3,
            code="bay_volume",
            sentence=(
                f"{self.room_m3:.1f} m3 of the bay are free; {self._lying_m3:.1f} m3 lie in it."
            ),
            rule_class=class_here(self._volume) if by_law else RuleClass.SITE,
            facts={"room_m3": round(self.room_m3, 2), "lying_m3": round(self._lying_m3, 2)},
            sources=self._volume.row.sources if by_law else (),
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
                here=at.here,
                hot=bay_reason(
                    (entry for entry in at.lying if entry.hold_bay_id == bay.id), here=at.here
                ),
            ),
            name=bay.name,
            tip_s=tip_s,
            open_s=0,
            close_s=at.end_s,
            cautions=() if bay.leachate_contained else (Caution(code="leachate_not_caught"),),
        )
        for bay in at.asked(bays)
    ]


def _lying_m3(bay: HoldBay, at: DepotDay) -> float:
    lying = (entry.volume_m3.high for entry in at.lying if entry.hold_bay_id == bay.id)
    on_its_way = (
        load.volume_m3.high
        for load in at.own_loads
        if load.destination_id == bay.id and load.state is LoadState.UNDER_WAY
    )
    return sum(lying) + sum(on_its_way)

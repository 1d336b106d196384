"""What lies in hold bays, and which of them hold more than they can."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from service.core.places import DestinationKind
from service.usecases.day.facts import DayFacts
from service.usecases.telling.told.forms import Range
from service.usecases.telling.told.held import BayTold


def bays_told(facts: DayFacts) -> tuple[BayTold, ...]:
    """Return a depot's bays by name, each with what lies in it: of one yard, so its ends add up."""
    return tuple(
        BayTold(
            hold_bay_id=bay.id,
            hold_bay=bay.name,
            volume_m3=bay.volume_m3,
            lying_m3=Range(
                **{
                    end: round(
                        sum(
                            getattr(entry.volume_m3, end)
                            for entry in facts.lying
                            if entry.hold_bay_id == bay.id
                        ),
                        2,
                    )
                    for end in ("low", "likely", "high")
                }
            ),
        )
        for bay in sorted(facts.places[DestinationKind.HOLD_BAY], key=lambda bay: bay.name)
    )


def bay_warnings(facts: DayFacts) -> Iterator[dict[str, Any]]:
    """Yield the bays in which more lies, or may lie, than they hold."""
    for bay in bays_told(facts):
        lying = bay.lying_m3
        if lying.high <= bay.volume_m3:
            continue
        verb = "lie" if lying.likely > bay.volume_m3 else "may lie"
        yield {
            "vehicle_id": None,
            "code": "bay_over_volume",
            "destination_kind": DestinationKind.HOLD_BAY.value,
            "destination_id": str(bay.hold_bay_id),
            "volume_m3": bay.volume_m3,
            "lying_high_m3": lying.high,
            "why": (
                f"More {verb} in {bay.hold_bay} than it holds: {lying.low:g} to {lying.high:g} m3, "
                f"likely {lying.likely:g}; it holds {bay.volume_m3:g} m3. What lies higher or "
                "outside heats and runs off: bring some of it on, and tip no more there."
            ),
        }

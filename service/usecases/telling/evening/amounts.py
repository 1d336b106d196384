"""What moved, added up: one way for the evening of a day and for sums of many."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any, Final
from uuid import UUID

from service.core.mass_book import LAWN, VEHICLE, MassMoved
from service.core.places import DestinationKind

ENDS: Final = ("low", "likely", "high")


@dataclass(slots=True, kw_only=True)
class Amount:
    """Kilograms: as estimated, as counted, and of what was weighed both ways."""

    mass_kg: dict[str, float] = field(default_factory=lambda: dict.fromkeys(ENDS, 0.0))
    counted_kg: float = 0.0
    weighed_kg: float = 0.0
    estimated_of_weighed_kg: float = 0.0

    def add(self, moved: MassMoved, sign: float = 1.0) -> None:
        """Count some more; or less, of what left a place again: what it weighed there stays so."""
        for end in ENDS:
            self.mass_kg[end] += sign * getattr(moved, f"mass_{end}_kg")
        if sign < 0.0:
            self.counted_kg -= moved.counted_before_kg
        else:
            self.counted_kg += moved.counted_kg
            self.weighed_kg += moved.weighed_kg
            self.estimated_of_weighed_kg += moved.estimated_of_weighed_kg

    def to_json(self) -> dict[str, Any]:
        """Return it in whole hundred grams."""
        return {
            "mass_kg": {end: hundred_grams(kg) for end, kg in self.mass_kg.items()},
            "counted_kg": hundred_grams(self.counted_kg),
            "weighed_kg": hundred_grams(self.weighed_kg),
            "estimated_of_weighed_kg": hundred_grams(self.estimated_of_weighed_kg),
        }


def hundred_grams(kg: float) -> float:
    """Return kilograms rounded to tenths; nothing never has a sign."""
    return round(kg, 1) + 0.0


def came_to_places(moved: Iterable[MassMoved]) -> Iterator[tuple[str, UUID, MassMoved, float]]:
    """Yield what came to a place, by its kind and id, and with -1 what left a bay.

    It was counted when it came to the bay, and is again where it comes to next: in a body it is
    nowhere yet.
    """
    for one in moved:
        if one.to_kind not in {VEHICLE, LAWN}:
            yield one.to_kind, one.to_id, one, 1.0
        if one.from_kind == DestinationKind.HOLD_BAY:
            yield one.from_kind, one.from_id, one, -1.0

"""What moved, added up: one way for the evening of a day and for sums of many."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final
from uuid import UUID

from service.core.mass_book import LAWN, NOTHING, VEHICLE, MassBalance, MassMoved
from service.core.places import DestinationKind

ENDS: Final = ("low", "likely", "high")


@dataclass(slots=True, kw_only=True)
class Amount:
    """Kilograms: as estimated, as counted, and of what was weighed both ways."""

    mass_kg: dict[str, float] = field(default_factory=lambda: dict.fromkeys(ENDS, 0.0))
    counted_kg: float = 0.0
    weighed_kg: float = 0.0
    estimated_of_weighed_kg: float = 0.0

    def add(self, moved: MassMoved) -> None:
        """Count some more."""
        self.count(moved, counted_kg=moved.counted_kg)
        self.weighed_kg += moved.weighed_kg
        self.estimated_of_weighed_kg += moved.estimated_of_weighed_kg

    def count(
        self, some: MassMoved | MassBalance, *, counted_kg: float, times: float = 1.0
    ) -> None:
        """Count so many times what was not weighed here: as estimated, and as it counts."""
        for end in ENDS:
            self.mass_kg[end] += times * getattr(some, f"mass_{end}_kg")
        self.counted_kg += times * counted_kg

    def copy(self) -> Amount:
        """Return another of the same."""
        return replace(self, mass_kg=dict(self.mass_kg))

    def to_json(self) -> dict[str, Any]:
        """Return it in whole grams: rows of many days add up to those of a month."""
        return {
            "mass_kg": {end: grams(kg) for end, kg in self.mass_kg.items()},
            "counted_kg": grams(self.counted_kg),
            "weighed_kg": grams(self.weighed_kg),
            "estimated_of_weighed_kg": grams(self.estimated_of_weighed_kg),
        }


def grams(kg: float) -> float:
    """Return kilograms rounded to grams; nothing never has a sign."""
    return round(kg, 3) + 0.0


def hundred_grams(kg: float) -> float:
    """Return kilograms rounded to tenths; nothing never has a sign."""
    return round(kg, 1) + 0.0


def came_to_places(moved: Sequence[MassMoved]) -> Iterator[tuple[str, UUID, MassMoved]]:
    """Yield what came to a place in a period, by its kind and id; in a body it is nowhere yet.

    Of a bay that is what came there and lies there still as the period ends: what went on from
    there counts where it came to next. What it weighed as it came stays so.
    """
    through = _through_bays(moved)
    for one in moved:
        if one.to_kind not in {VEHICLE, LAWN}:
            way = through.get((one.to_id, one.lot_id), _Through())
            yield one.to_kind, one.to_id, _some(one, way.lies)


def carried_over(moved: Sequence[MassMoved]) -> Iterator[tuple[UUID, MassMoved]]:
    """Yield by bay what left it in a period and had come there before it: it was held till then.

    It is among what came to places in the period, and was among what a bay had in one before.
    """
    through = _through_bays(moved)
    for one in moved:
        way = through.get((one.from_id, one.lot_id))
        if one.from_kind == DestinationKind.HOLD_BAY and way and way.older[0] > NOTHING:
            as_held = replace(
                one,
                counted_kg=one.counted_before_kg,
                weighed_kg=0.0,
                estimated_of_weighed_kg=0.0,
            )
            yield one.from_id, _some(as_held, way.older)


@dataclass(slots=True)
class _Through:
    """What of a lot came to a bay and left it in a period, likely and as it counts there [kg]."""

    came_kg: tuple[float, float] = (0.0, 0.0)
    left_kg: tuple[float, float] = (0.0, 0.0)

    @property
    def lies(self) -> tuple[float, ...]:
        """Return the share of what came that did not leave."""
        return tuple(map(_rest, self.came_kg, self.left_kg))

    @property
    def older(self) -> tuple[float, ...]:
        """Return the share of what left that had not come in the period."""
        return tuple(map(_rest, self.left_kg, self.came_kg))


def _rest(of_kg: float, less_kg: float) -> float:
    return max(0.0, 1.0 - less_kg / of_kg) if of_kg > 0.0 else 1.0


def _through_bays(moved: Iterable[MassMoved]) -> dict[tuple[UUID, UUID | None], _Through]:
    """Return by bay and lot what came and what left."""
    found: dict[tuple[UUID, UUID | None], _Through] = defaultdict(_Through)
    for one in moved:
        if one.to_kind == DestinationKind.HOLD_BAY:
            way = found[one.to_id, one.lot_id]
            way.came_kg = (way.came_kg[0] + one.mass_likely_kg, way.came_kg[1] + one.counted_kg)
        if one.from_kind == DestinationKind.HOLD_BAY:
            way = found[one.from_id, one.lot_id]
            way.left_kg = (
                way.left_kg[0] + one.mass_likely_kg,
                way.left_kg[1] + one.counted_before_kg,
            )
    return dict(found)


def _some(moved: MassMoved, shares: tuple[float, ...]) -> MassMoved:
    """Return some of what moved: a share of what it was thought to be, and one of what counts."""
    as_thought, as_counted = shares
    return replace(
        moved,
        mass_low_kg=moved.mass_low_kg * as_thought,
        mass_likely_kg=moved.mass_likely_kg * as_thought,
        mass_high_kg=moved.mass_high_kg * as_thought,
        counted_kg=moved.counted_kg * as_counted,
    )

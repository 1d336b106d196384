"""How much may be spent on looking for orders: counted, so that same day means same order.

The clock is a guard only: a search that it cut says so, for another machine may find other orders.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

# Orders judged by their tips, counted as their blocks squared: all 720 of six blocks, 30 of thirty.
# Common practice, no source.
JUDGED_SQUARES: Final = 26_000
LEAST_JUDGED, MOST_JUDGED = 30, 720
# Blocks driven through on ways alone, about 0.6 s a million: thirty blocks take 0.9 million, of
# sixty it is a fifth of what would be looked at, of a hundred a fiftieth. One half makes orders,
# the other tells which neighbours of the best are judged first.
WAY_BLOCKS: Final = 6_000_000
# What many vehicles may take together: as much as so many at their most, and a tenth for each.
WHOLE_VEHICLES: Final = 40
TENTH: Final = 10

SETTLED, WORK, CLOCK = "settled", "work", "clock"


@dataclass(slots=True, kw_only=True)
class OrderWork:
    """What is left for all vehicles, what was done, and what ended it.

    Attributes
    ----------
    vehicles
        How many are still to be looked at: each gets an even share of what is left.
    squares, blocks
        What is left of judging orders by their tips, and of driving them on ways alone.
    past
        Whether the clock says that it is enough.
    judged
        Orders judged by their tips so far.
    ended_by
        ``settled`` if nothing better was near, ``work`` if a count ended the search of a vehicle,
        ``clock`` if the guard did.
    """

    vehicles: int
    squares: int
    blocks: int
    past: Callable[[], bool]
    judged: int = 0
    ended_by: str = SETTLED

    @classmethod
    def of(cls, vehicles: int, *, seconds: float | None = None) -> OrderWork:
        """Return what so many vehicles may take; no clock without seconds."""
        share = min(vehicles, WHOLE_VEHICLES) * TENTH + max(0, vehicles - WHOLE_VEHICLES)
        end = None if seconds is None else time.monotonic() + seconds
        return cls(
            vehicles=vehicles,
            squares=share * JUDGED_SQUARES // TENTH,
            blocks=share * WAY_BLOCKS // TENTH,
            past=lambda: end is not None and time.monotonic() >= end,
        )

    def for_vehicle(self, blocks: int) -> VehicleWork:
        """Return what the next vehicle may take."""
        square = max(1, blocks) ** 2
        judged = max(LEAST_JUDGED, min(MOST_JUDGED, JUDGED_SQUARES // square))
        share = max(1, self.vehicles)
        self.vehicles -= 1
        squares, own = self.squares // share, min(WAY_BLOCKS, max(0, self.blocks // share))
        if squares < JUDGED_SQUARES:
            judged = max(0, min(judged, squares // square))
        return VehicleWork(
            work=self,
            square=square,
            judged=judged + 1 if judged else 0,  # its own order is judged first
            making=own // 2,
            near=own - own // 2,
        )

    def end(self, by: str) -> None:
        """Say what ended the search of a vehicle; the clock weighs more than a count."""
        if self.ended_by != CLOCK:
            self.ended_by = by


@dataclass(slots=True, kw_only=True)
class VehicleWork:
    """What one vehicle's search may still take."""

    work: OrderWork
    square: int
    judged: int
    making: int
    near: int

    def may_judge(self) -> bool:
        """Tell whether one more order may be judged by its tips, and count it."""
        if self._is_past():
            return False
        if self.judged < 1:
            self.work.end(WORK)
            return False
        self.judged -= 1
        self.work.squares -= self.square
        self.work.judged += 1
        return True

    def may_make(self, blocks: int) -> bool:
        """Tell whether so many blocks may be driven to make an order, and count them."""
        if self._is_past() or not self._counted(self.making, blocks):
            return False
        self.making -= blocks
        return True

    def may_look_near(self, blocks: int) -> bool:
        """Tell whether so many blocks may be driven to choose a neighbour, and count them."""
        if self._is_past() or not self._counted(self.near, blocks):
            return False
        self.near -= blocks
        return True

    def _is_past(self) -> bool:
        if self.work.past():
            self.work.end(CLOCK)
            return True
        return False

    def _counted(self, left: int, blocks: int) -> bool:
        if left < blocks:
            self.work.end(WORK)
            return False
        self.work.blocks -= blocks
        return True

"""The body of a vehicle whose day is replayed by the checker: no code of the solver."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class Body:
    """What is aboard while a vehicle's day is replayed."""

    place: str
    clock_s: int
    mass_kg: int = 0
    volume_l: int = 0
    lots: set[str] = field(default_factory=set)
    statuses: set[str] = field(default_factory=set)
    partial_tips: int = 0
    one_lot: bool = False  # nothing else was aboard when the last lot came

    def emptied(self) -> None:
        """Forget what was aboard."""
        self.lots.clear()
        self.statuses.clear()
        self.volume_l = 0
        self.partial_tips = 0

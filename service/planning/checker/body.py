"""The body of a vehicle whose day is replayed by the checker: no code of the solver."""

from __future__ import annotations

from dataclasses import dataclass, field

from service.planning.model.problem import Destination


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
    is_work_ahead: bool = False  # a job comes after this stop

    def gate_opens_s(self, destination: Destination) -> int:
        """Return when a tip begins there: before opening and in the pause the vehicle stands."""
        if self.clock_s < destination.open_s:
            return destination.open_s
        is_pause = destination.pause_from_s < self.clock_s < destination.pause_until_s
        return destination.pause_until_s if is_pause else self.clock_s

    def too_late(self, destination: Destination) -> list[str]:
        """Return what a place takes no more when a tip begins there, a sentence for each."""
        begins_s = self.gate_opens_s(destination)
        return [
            f"{destination.id} takes {status} until {last_s} s."
            for status, last_s in destination.accepts_until_s
            if status in self.statuses and begins_s > last_s
        ]

    def emptied(self) -> None:
        """Forget what was aboard."""
        self.lots.clear()
        self.statuses.clear()
        self.volume_l = 0
        self.partial_tips = 0

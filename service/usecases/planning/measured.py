"""What the records say to whoever watches the service: sums over all firms, and of nobody."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.core.records import Clock
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.base.whose import NO_FIRM, EveryFirm, working_for


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """What was found at a moment."""

    days_waiting: int
    oldest_wait_s: float
    held_kg: float
    wall_gaps: int

    def told(self) -> dict[str, tuple[str, float]]:
        """Return each with what it means, by its name."""
        return {
            "planner_days_waiting": ("Stale days that wait for the planner.", self.days_waiting),
            "planner_oldest_wait_seconds": (
                "How long the day has waited that was asked for first; 0 if none waits.",
                self.oldest_wait_s,
            ),
            "held_kilograms": (
                "Clippings in the hold bays of all firms, weighed where a weight counts.",
                self.held_kg,
            ),
            "wall_gaps": ("Reasons why no wall between firms holds; see `check`.", self.wall_gaps),
        }


class TellMeasured:
    """Ask the records, whichever process is asked."""

    def __init__(
        self,
        *,
        open_reading: OpenUnitOfWork,
        clock: Clock,
        wall_gaps: Callable[[], Sequence[str]] = tuple,
    ) -> None:
        """Take the way to the records, the clock, and who tells where no wall holds."""
        self._open = open_reading
        self._clock = clock
        self._wall_gaps = wall_gaps

    def __call__(self) -> Measured | None:
        """Return what is found; None if the records cannot be read, which is no fault of ours."""
        try:
            return self._measured()
        except Exception as error:  # noqa: BLE001 - whatever it is, the rest is still told
            logging.getLogger("service.usecases").warning("not measured: %s", type(error).__name__)
            return None

    def _measured(self) -> Measured:
        with working_for(EveryFirm.PLANNER), self._open() as unit:
            asked = [turn.asked_at for turn in unit.planning_turns.waiting()]
        now = self._clock.now()
        oldest_s = (now - min(asked)).total_seconds() if asked else 0.0
        return Measured(
            days_waiting=len(asked),
            oldest_wait_s=max(0.0, oldest_s),
            held_kg=self._held_kg(),
            wall_gaps=len(self._wall_gaps()),
        )

    def _held_kg(self) -> float:
        bays = [kind.value for kind, what in KINDS.items() if what.is_hold]
        with working_for(NO_FIRM), self._open() as unit:
            firms = unit.firms.all()
        held_kg = 0.0
        for firm in firms:
            # Each by its own part of the book's key, and behind its own wall.
            with working_for(firm.id), self._open() as unit:
                found = [one for bay in bays for one in unit.mass_balances.totals(firm.id, bay)]
            held_kg += sum(amounts.counted_kg for _, _, amounts in found)
        return held_kg

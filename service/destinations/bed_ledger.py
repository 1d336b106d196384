"""What was laid on a bed before: its account of twelve months."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from service.agronomy.layers.bed_room import (
    YEAR_DAYS,
    LedgerEntry,
    LedgerSums,
    ledger_sums,
    nitrogen_kg_per_ha,
)
from service.core.loads import Load


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidLayer:
    """Clippings that were laid on a bed before: high end of mass and nitrogen, or weighed."""

    day: date
    mass_kg: float
    nitrogen_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BedLedger:
    """What lies on the bed's account."""

    layers: tuple[LaidLayer, ...] = ()

    def last_day(self) -> date | None:
        """Return the day of the last layer, or None."""
        return max((layer.day for layer in self.layers), default=None)

    def mass_kg(self, *, day: date, window_days: int) -> float:
        """Return what was laid in so many days up to the day."""
        return sum(
            layer.mass_kg for layer in self.layers if 0 <= (day - layer.day).days <= window_days
        )

    def sums(self, *, day: date, area_m2: float, window_days: float = YEAR_DAYS) -> LedgerSums:
        """Return what was laid per area up to the day: in 12 months, or a shorter window.

        A layer exactly as old as the window counts, so that 29 days are 30 calendar days.
        """
        return ledger_sums(
            (
                LedgerEntry(
                    age_days=(day - layer.day).days,
                    mass_kg_per_m2=layer.mass_kg / area_m2,
                    nitrogen_kg_per_ha=nitrogen_kg_per_ha(
                        nitrogen_kg=layer.nitrogen_kg, area_m2=area_m2
                    ),
                )
                for layer in self.layers
                if layer.day <= day
            ),
            window_days=window_days,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenToday:
    """What loads of the day, under way or done, already take of a bed, at the high end."""

    mass_kg: float = 0.0
    volume_m3: float = 0.0
    nitrogen_kg: float = 0.0

    @classmethod
    def by(cls, loads: Sequence[Load]) -> TakenToday:
        """Return what these loads to the bed take."""
        return cls(
            mass_kg=sum(load.mass_kg.high * load.taken_share for load in loads),
            volume_m3=sum(load.volume_m3.high * load.taken_share for load in loads),
            nitrogen_kg=sum(load.nitrogen_kg.high * load.taken_share for load in loads),
        )


def window_start(day: date) -> date:
    """Return the first day of the rolling year that ends with the day: 365 days before it."""
    return date.fromordinal(day.toordinal() - int(YEAR_DAYS))

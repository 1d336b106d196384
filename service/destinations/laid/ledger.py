"""What was laid on a bed before: its account of twelve months."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.agronomy.layers.bed_room import (
    YEAR_DAYS,
    LedgerEntry,
    LedgerSums,
    ledger_sums,
    nitrogen_kg_per_ha,
)
from service.core.jobs import Job
from service.core.loads import Load
from service.destinations.weighed import counted_amounts


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
    def by(cls, loads: Sequence[Load], jobs: Mapping[UUID, Job]) -> TakenToday:
        """Return what these loads to the bed take: as weighed where a weight counts."""
        taken = [(counted_amounts(load, jobs), _share(load)) for load in loads]
        return cls(
            mass_kg=sum(amounts.mass_kg.high * share for amounts, share in taken),
            volume_m3=sum(amounts.volume_m3.high * share for amounts, share in taken),
            nitrogen_kg=sum(amounts.nitrogen_kg.high * share for amounts, share in taken),
        )


def _share(load: Load) -> float:
    """Return what stayed of what counts of a load: a ticket is of what stayed."""
    return load.kept_share if load.taken_share == 0.0 or not load.weight_counts else 1.0


def window_start(day: date) -> date:
    """Return the first day of the rolling year that ends with the day: 365 days before it."""
    return date.fromordinal(day.toordinal() - int(YEAR_DAYS))

"""How likely a day's plan overflows a vehicle or a destination, and what is told of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final
from uuid import UUID

from service.core.measures.estimates import Estimate
from service.core.measures.units import LITRES_PER_M3
from service.destinations.verdicts import Lot
from service.planning.risk.robustness import (
    LotShare,
    OverflowChances,
    UncertainLot,
    Uncertainty,
    overflow_chances,
)
from service.planning.risk.sums import Spread
from service.rules.lookup import Rulebook
from service.usecases.base.destination_kinds import KINDS
from service.usecases.day.bodies.composition import cargo_of
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.planned_day import PlannedDay
from service.usecases.day.problem.build import mixed_row

CHANCE_DIGITS: Final = 3
# What is rarer than once in 200 days is left out of sentences (common practice, no source).
RARE: Final = 0.005
VEHICLE: Final = "vehicle"
# Place told -> the place of the rule that holds for it.
PLACES: Final = {VEHICLE: VEHICLE} | {
    word.value: kind.overflows_like for word, kind in KINDS.items()
}
MEANING: Final = {
    "vehicles": (
        "The chance that what is aboard weighs more than the payload, or takes more than the body "
        "holds, at the worst moment that is still ahead."
    ),
    "destinations": (
        "The chance that the loads still to be tipped there are more than the room left for "
        "them; what is delivered or on its way has taken its room at its high end."
    ),
    "lots": (
        "Each lot may be anything its 10th, 50th and 90th percentile allow; lots of one day are "
        "wet or dry together as far as the correlation says; a tip takes the share of what is "
        "aboard that the plan has it take."
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DayOverflow:
    """The chances of a plan, and from where on somebody is warned."""

    made: PlannedDay
    chances: OverflowChances
    correlation: float
    warned_above: Mapping[str, float]
    sources: tuple[str, ...]

    def of_vehicle(self, key: str) -> dict[str, float]:
        """Return a vehicle's chances, by the members they are told as."""
        chances = self.chances.vehicles[key]
        return {
            "payload_overflow_chance": round(chances.payload, CHANCE_DIGITS),
            "body_overflow_chance": round(chances.body, CHANCE_DIGITS),
        }

    def of_destination(self, key: str) -> float:
        """Return a destination's chance, as it is told."""
        return round(self.chances.destinations[key], CHANCE_DIGITS)

    def meaning(self) -> dict[str, object]:
        """Return what the chances mean and what they rest on, JSON-ready."""
        return {
            **MEANING,
            "correlation": self.correlation,
            "warned_above": dict(self.warned_above),
            "sources": list(self.sources),
        }

    def warnings(self) -> Iterator[dict[str, object]]:
        """Yield a warning for each vehicle and destination above the threshold."""
        for key, day in self.made.built.vehicles.items():
            chances = self.chances.vehicles[key]
            if max(chances.payload, chances.body) > self.warned_above[VEHICLE]:
                yield {
                    "vehicle_id": str(day.vehicle_id),
                    "code": "vehicle_may_overflow",
                    **self.of_vehicle(key),
                    "why": _vehicle_words(chances.payload, chances.body),
                }
        for key, ready in self.made.built.destinations.items():
            chance = self.chances.destinations[key]
            if chance > self.warned_above[ready.kind]:
                yield {
                    "vehicle_id": None,
                    "code": "destination_may_overflow",
                    "destination_kind": ready.kind.value,
                    "destination_id": str(ready.id),
                    "overflow_chance": self.of_destination(key),
                    "why": (
                        f"Of 100 days planned like this one, {_days(chance)} {ready.name} would "
                        "get more than it has room for."
                    ),
                }


def _vehicle_words(too_heavy: float, too_full: float) -> str:
    """Return what may happen where a vehicle is fullest, and what helps; the rare is left out."""
    pairs = ((too_heavy, "heavier than it may be"), (too_full, "fuller than its body holds"))
    told = [f"{_days(chance)} {what}" for chance, what in pairs if chance >= RARE]
    return (
        f"Of 100 days planned like this one it would at its fullest be {' and '.join(told)}. "
        "Have it weighed, or tip once more on the way."
    )


def _days(chance: float) -> str:
    """Return a chance as people count: on so many of a hundred days."""
    return f"on about {max(round(chance * 100), 1)}"


def day_overflow(made: PlannedDay, *, rulebook: Rulebook) -> DayOverflow:
    """Return how likely the day's plan overflows what, by the spread of its lots' estimates."""
    here = made.facts.rules(rulebook)
    correlation = here.row("lot_correlation")
    thresholds = {
        place: here.row("overflow_chance_told_above", place=like) for place, like in PLACES.items()
    }
    built, lots = made.built, made.asked.lots
    vehicles = built.vehicles.items()
    mixes = [piece for piece in built.pieces.values() if piece.is_judged_apart]
    uncertainty = Uncertainty(
        lots={
            str(job_id): UncertainLot(
                mass_kg=_spread(lot.mass_kg), volume_l=_spread(lot.volume_m3, LITRES_PER_M3)
            )
            for job_id, lot in lots.items()
        }
        | {piece.key: _mixture(piece, lots) for piece in mixes},
        jobs={
            piece.key: _share(piece)
            for _, vehicle in vehicles
            for piece in vehicle.ahead
            if piece.share > 0
        },
        aboard={key: tuple(_share(piece) for piece in vehicle.aboard) for key, vehicle in vehicles},
        rooms_kg=_rooms_kg(made, mixes),
        correlation=correlation.value,
    )
    return DayOverflow(
        made=made,
        chances=overflow_chances(built.problem, made.plan, uncertainty),
        correlation=correlation.value,
        warned_above={place: rule.value for place, rule in thresholds.items()},
        sources=tuple(
            sorted({key for rule in (correlation, *thresholds.values()) for key in rule.sources})
        ),
    )


def _rooms_kg(made: PlannedDay, mixes: Iterable[LotPiece]) -> dict[tuple[str, str], float]:
    """Return what each destination that gets something would take of each lot alone."""
    used = {
        stop.destination
        for vehicle in made.plan.vehicles
        for stop in vehicle.stops
        if stop.destination is not None
    }
    position = made.asked.position
    rows = {str(job_id): row for job_id, row in made.asked.verdicts.items()}
    rows |= {piece.key: mixed_row(made.asked, piece) for piece in mixes}
    return {
        (key, lot): row[position[ready.id]].accepted_kg
        for key, ready in made.built.destinations.items()
        if key in used
        for lot, row in rows.items()
    }


def _share(piece: LotPiece) -> LotShare:
    if piece.is_judged_apart:  # it is a lot of its own here, see ``_mixture``
        return LotShare(lot=piece.key, share=1.0)
    return LotShare(lot=str(piece.lot_id), share=piece.share)


def _mixture(piece: LotPiece, lots: Mapping[UUID, Lot]) -> UncertainLot:
    """Return a mixed load as one lot: the lots of one body err together, so their ends add up."""
    mixed = cargo_of(piece.shares, lots)
    return UncertainLot(
        mass_kg=_spread(mixed.mass_kg), volume_l=_spread(mixed.volume_m3, LITRES_PER_M3)
    )


def _spread(estimate: Estimate, factor: float = 1.0) -> Spread:
    return Spread(
        low=estimate.low * factor, likely=estimate.likely * factor, high=estimate.high * factor
    )

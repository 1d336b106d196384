"""Destinations, and what fairness to beds has to say of them, as they are told."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Literal
from uuid import UUID

from service.core.places import DestinationKind
from service.usecases.telling.told.forms import NEWER, Amount, Bounds, Chance, Latitude, Longitude

FairnessCode = Literal["fairness_limit", "fairness_price"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A destination by its name."""

    destination_kind: DestinationKind
    destination_id: UUID
    name: str


@dataclass(frozen=True, kw_only=True)
class FairnessTold:
    """What a bed had lately, and what its depot wishes of it."""

    days: Annotated[int, Bounds(1)]
    laid_kg_per_m2: Amount
    fairness_limit_kg_per_m2: Amount | None
    fairness_price_cents_per_t: int


@dataclass(frozen=True, kw_only=True)
class _Said:
    sentence: str


# Members stand in the order of the bases, the last first; of two, one alone may have slots.
@dataclass(frozen=True, slots=True, kw_only=True)
class FairnessSaid(FairnessTold, _Said):
    """The same in a sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BurdenTold(FairnessSaid):
    """And what a plan counts more for one load because of it."""

    burden_cents: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spared(Named):
    code: FairnessCode
    saving_cents: Annotated[int, Bounds(1)]
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SparedBed(FairnessTold, _Spared):
    """A bed that would be cheaper for a load, but for fairness."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DestinationTold(Named):
    """A destination that is used or could be, with its room."""

    longitude: Longitude
    latitude: Latitude
    room_high_kg: Amount
    planned_high_kg: Amount
    last_arrival_at: datetime = field(metadata=NEWER)
    overflow_chance: Chance = field(metadata=NEWER)
    scarcity_cents_per_t: float
    fairness: FairnessTold | None = field(metadata=NEWER)
    likely_kg: Amount
    loads: tuple[UUID, ...]

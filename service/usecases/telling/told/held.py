"""The hold queue as it is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal
from uuid import UUID

from service.core.materials import LotStatus
from service.usecases.telling.told.forms import NEWER, Amount, Range
from service.usecases.telling.told.places import Named


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """A code and its sentence."""

    code: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TakerTold(Named):
    """Who takes what is held, and how much."""

    accepted_kg: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferTold:
    """Where surplus may go that no bed takes: a site, or a liquid feed that is no place."""

    use: str
    destination_kind: str | None = None
    destination_id: UUID | None = None
    name: str | None = None
    accepted_kg: Amount | None = None
    mass_kg: Amount
    water_l: Amount | None = None
    sentence: str
    caution: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EscalationTold:
    """How far the clock of an entry has gone, and what is to be done."""

    level: Literal["amber", "red"]
    since: datetime
    sentence: str
    steps: tuple[str, ...]
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatTold:
    """The hottest reading of the last round, and what is to be done."""

    temperature_c: float
    depth_mm: Amount
    at: datetime
    measured_by: str
    level: str | None
    sentence: str
    steps: tuple[str, ...]
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldTold:
    """An entry of the hold queue by the records of now."""

    hold_entry_id: UUID
    hold_bay_id: UUID
    hold_bay: str
    lot_codes: tuple[str, ...]
    status: LotStatus
    mass_kg: Range
    volume_l: Range
    held_since: datetime | None
    held_for: Reason
    releasable: bool
    why: Reason
    takers: tuple[TakerTold, ...]
    asks_again_on: date
    then: str | None
    amber_at: datetime
    red_at: datetime
    escalation: EscalationTold | None
    heat: HeatTold | None = field(metadata=NEWER)
    offers: tuple[OfferTold, ...]
    load_ids: tuple[UUID, ...]
    stays: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BayTold:
    """A hold bay: what it holds, and what lies in it [m3]."""

    hold_bay_id: UUID
    hold_bay: str
    volume_m3: Amount
    lying_m3: Range


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldQueueTold:
    """What lies in a depot's hold bays, what presses most first."""

    depot_id: UUID
    day: date
    entries: tuple[HeldTold, ...]
    bays: tuple[BayTold, ...] = field(metadata=NEWER)
    rulebook_version: str

"""How a plan was found, and whose day it is, as they are told."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal
from uuid import UUID

from service.usecases.telling.told.forms import NEWER, Amount, Chance, Count
from service.usecases.telling.told.stops import Stop


@dataclass(frozen=True, slots=True, kw_only=True)
class AboardNow:
    """What lies in a body, on its way as well, at the high end, and the room left."""

    mass_high_kg: Amount
    volume_high_l: Amount
    room_left_kg: Amount
    room_left_l: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class OutTold:
    """Since when a vehicle is out, for how long, and whether it does nothing more on the day."""

    outage_id: UUID
    out_since: datetime
    back_at: datetime | None
    reason: str
    stands: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleTold:
    """One vehicle's day."""

    vehicle_id: UUID
    registration: str
    crew_ids: tuple[UUID, ...]
    payload_kg: Amount
    body_volume_m3: Amount
    payload_overflow_chance: Chance = field(metadata=NEWER)
    body_overflow_chance: Chance = field(metadata=NEWER)
    aboard_now: AboardNow
    stops: tuple[Stop, ...]
    out: OutTold | None = field(metadata=NEWER)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedAgain:
    """A vehicle that was planned again, and for what."""

    vehicle_id: UUID
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningTold:
    """How the plan was found."""

    scope: Literal["whole_day", "local"]
    ended_by: str
    note: str
    local_answers: Count
    vehicles: tuple[PlannedAgain, ...]

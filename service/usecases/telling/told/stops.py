"""The stops of a vehicle's day as they are told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal
from uuid import UUID

from service.core.loads import LoadState
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.usecases.telling.told.explanations import ExplanationTold
from service.usecases.telling.told.forms import NEWER, Amount, Count, Latitude, Longitude, Range


@dataclass(frozen=True, slots=True, kw_only=True)
class JobStop:
    """A lawn on the way."""

    kind: Literal["job"] = "job"
    job_id: UUID
    lot_code: str
    property_id: UUID
    property: str
    at: datetime
    done: bool
    leave_on_lawn: str | None = field(metadata=NEWER)
    mowing_between: str | None = field(metadata=NEWER)
    taken_over_from_id: UUID | None = field(metadata=NEWER)
    longitude: Longitude
    latitude: Latitude


@dataclass(frozen=True, slots=True, kw_only=True)
class PickUpStop:
    """What stands in a vehicle that is out is forked over."""

    kind: Literal["pick_up"] = "pick_up"
    job_id: UUID
    taken_over_from_id: UUID
    from_registration: str
    lot_codes: tuple[str, ...]
    mass_high_kg: Amount
    volume_high_l: Amount
    at: datetime
    done: Literal[False] = False
    caution: str
    longitude: Longitude
    latitude: Latitude


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadHeldStop:
    """What lies in a bay is loaded by hand."""

    kind: Literal["load_held"] = "load_held"
    hold_entry_id: UUID
    lot_codes: tuple[str, ...]
    mass_high_kg: Amount
    volume_high_l: Amount
    loading_minutes: Count
    at: datetime
    done: Literal[False] = False
    temperature_c: float | None = field(metadata=NEWER)
    measured_at: datetime | None = field(metadata=NEWER)
    caution: str
    longitude: Longitude
    latitude: Latitude


@dataclass(frozen=True, slots=True, kw_only=True)
class CautionTold:
    """What the crew must know at a stop, in English and in its language."""

    code: str
    sentence: str
    for_crew: str
    language: str
    facts: Mapping[str, object] = field(metadata=NEWER)


@dataclass(frozen=True, slots=True, kw_only=True)
class DropStop:
    """A load is tipped."""

    kind: Literal["drop"] = "drop"
    load_id: UUID
    destination_kind: DestinationKind
    destination_id: UUID
    destination: str | None
    at: datetime
    state: LoadState
    done: bool
    locked: bool
    at_gate_at: datetime | None = field(metadata=NEWER)
    status: LotStatus
    lot_codes: tuple[str, ...]
    mass_kg: Range
    weighed_kg: Amount | None = field(metadata=NEWER)
    weight_counts: bool = field(metadata=NEWER)
    volume_l: Range
    keeps_until: datetime | None
    fee_cents: int
    cautions: tuple[CautionTold, ...] = field(metadata=NEWER)
    explanation: ExplanationTold | None = field(metadata=NEWER)
    longitude: Longitude
    latitude: Latitude


Stop = JobStop | PickUpStop | LoadHeldStop | DropStop

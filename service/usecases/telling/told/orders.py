"""Orders proposed beside the crews' own, as they are told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Final
from uuid import UUID

from service.core.materials import LotStatus
from service.planning.orders.budget import CLOCK, SETTLED, WORK
from service.usecases.telling.told.forms import Amount, Count, Words
from service.usecases.telling.told.moved import Compared

# Why a vehicle's own order stays, by the planner's word for it.
REASONS: Final[Mapping[str, str]] = {
    "nothing_to_order": "It has no two jobs ahead that may change places.",
    "own_is_best": "No order was found that is cheaper by enough to change it.",
    "lock_not_possible": "Its locked loads leave it no legal day, whatever the order.",
    "not_looked_for": "The search for orders ended before it: name it alone to have it looked for.",
    "dearer_together": "A cheaper order was found, but not with those of the other vehicles.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedCents(Compared):
    """What two days cost."""

    before: int
    after: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedAmounts(Compared):
    """Two amounts and how far they lie apart."""

    before: Amount
    after: Amount


Mixed = Annotated[
    ComparedAmounts,
    "What comes to lie in one body with a worse lot and counts as that, likely; a lawn that is "
    "mown last spoils nothing. No cost counts it.",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderedJobTold:
    """A job ahead in the order proposed, and what to amend it to."""

    job_id: UUID
    version: Count
    lot_code: str
    status: Annotated[LotStatus | None, "What its clippings are; null where they stay on the lawn."]
    property_id: UUID
    property: str
    own_position: Annotated[Count, "Its place among the jobs ahead as it is now."]
    at: Annotated[datetime, "When the crew would reach it."]
    planned_at: Annotated[datetime, "What its planned time must be."]
    amend: Annotated[bool, "Whether that differs from its planned time now."]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderedVehicleTold:
    """A vehicle on the order proposed, beside its own."""

    vehicle_id: UUID
    registration: str
    crew_ids: tuple[UUID, ...]
    has_order: Annotated[bool, "Whether its jobs ahead have times of their own."]
    proposed: bool
    code: Annotated[str, Words(tuple(REASONS))] | None
    why: Annotated[str | None, "Why its own order stays; null if it does not."]
    gain_cents: int
    cost_cents: Annotated[ComparedCents, "Without overflow, which vehicles share."]
    distance_m: ComparedAmounts
    overtime_s: ComparedAmounts
    tips: ComparedAmounts
    mixed_with_worse_kg: Mixed
    jobs: tuple[OrderedJobTold, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderSearchTold:
    """What was spent on looking for orders."""

    orders: Count
    ended_by: Annotated[str, Words((SETTLED, WORK, CLOCK))]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrdersTold:
    """The day on the orders proposed beside the day on the crews' own."""

    day: date
    depot_id: UUID
    proposed: Annotated[bool, "Whether a cheaper day was found."]
    gain_cents: Annotated[Count, "What the whole day costs less."]
    cost_cents: ComparedCents
    distance_m: ComparedAmounts
    overtime_s: ComparedAmounts
    tips: Annotated[ComparedAmounts, "Of the vehicles told here."]
    mixed_with_worse_kg: Mixed
    vehicles: tuple[OrderedVehicleTold, ...]
    search: Annotated[
        OrderSearchTold,
        "How many orders were judged, and what ended that: `settled`, nothing better was near; "
        "`work`, a count; `clock`, the guard, so that another machine may find others.",
    ]
    routing: Mapping[str, object] | None

"""What moved between two plans of a day, and what a supposed day would be, as they are told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Self
from uuid import UUID

from service.core.places import DestinationKind
from service.usecases.telling.told.forms import Chance
from service.usecases.telling.told.lots import Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareTold:
    """Where a share of a lot goes; a place may be on record no longer."""

    destination_kind: DestinationKind
    destination_id: UUID
    name: str | None
    share: Chance


@dataclass(frozen=True, slots=True, kw_only=True)
class WaysTold:
    """What becomes of a lot; plans kept from before do not say in which vehicle."""

    outcome: Outcome
    vehicle_id: UUID | None
    goes_to: tuple[ShareTold, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedTold:
    """A lot whose way is another one, and why; it was not there before, or is there no longer."""

    job_id: UUID
    lot_code: str
    was: WaysTold | None
    becomes: WaysTold | None
    code: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanCostsTold:
    """What two plans cost; the first has none before it."""

    before: int | None
    after: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangesTold:
    """What a plan moved since another."""

    plan_id: UUID
    since_id: UUID | None
    moved: tuple[MovedTold, ...]
    cost_cents: PlanCostsTold


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """Two figures and how far they lie apart."""

    before: float
    after: float
    difference: float

    @classmethod
    def of(cls, before: float, after: float) -> Self:
        """Return them compared."""
        return cls(before=before, after=after, difference=round(after - before, 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingTold:
    """The plan that stands."""

    day_plan_id: UUID
    revision: int
    cost_cents: int
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SupposedTold:
    """A supposed day beside the day as it is."""

    day: date
    depot_id: UUID
    standing: StandingTold | None
    cost_cents: Compared
    held_kg: Compared
    unplaced_high_kg: Compared
    left_behind_high_kg: Compared
    moved: tuple[MovedTold, ...]
    routing: Mapping[str, object] | None

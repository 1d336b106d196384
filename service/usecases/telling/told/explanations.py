"""Why a drop goes where it goes, and what would change it, as it is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Literal
from uuid import UUID

from service.core.plans import RuleClass
from service.usecases.telling.told.forms import NEWER, Amount, Bounds, Count
from service.usecases.telling.told.places import BurdenTold, Named, SparedBed


@dataclass(frozen=True, slots=True, kw_only=True)
class RunnerUpTold:
    """Who would get a load instead, and what that would cost more."""

    destinations: tuple[Named, ...]
    extra_cents: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Against(Named):
    """What stands against a destination."""

    code: str
    sentence: str
    rule_class: RuleClass | None


@dataclass(frozen=True, kw_only=True)
class _Kind:
    kind: Literal["open_until", "more_room", "fee_below", "accepts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WayTold(Named, _Kind):
    """A single change of a destination after which a vehicle would do otherwise."""

    open_until: datetime | None = None
    more_room_high_kg: Annotated[int, Bounds(1)] | None = None
    fee_below_cents: Count | None = None
    fee_basis: str | None = None
    code: str | None = None
    rule_class: RuleClass | None = None
    saving_cents: Annotated[int, Bounds(1)]
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ExplanationTold:
    """Why a load goes where it goes; what would change it only where that was asked for."""

    room_left_high_kg: Amount
    scarcity_cents_per_t: float
    runner_up: RunnerUpTold
    others: tuple[Against, ...]
    what_would_change: tuple[WayTold, ...] | None = None
    fairness: BurdenTold | None = field(metadata=NEWER)
    spared_beds: tuple[SparedBed, ...] = field(metadata=NEWER)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnplacedTold:
    """Material that no destination takes, and why."""

    vehicle_id: UUID
    mass_high_kg: Amount
    reasons: tuple[str, ...]
    what_would_change: tuple[WayTold, ...] | None = field(metadata=NEWER)

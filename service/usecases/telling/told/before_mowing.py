"""What the newest plan does with one lawn's clippings, as it is told before they are cut."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.usecases.telling.told.forms import Chance
from service.usecases.telling.told.lots import Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidTold:
    """Something that is told by its code and facts, with its English sentence."""

    code: str
    facts: Mapping[str, object]
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TipTold:
    """Where a share of the lot is tipped, and when."""

    load_id: UUID
    destination_kind: DestinationKind
    destination_id: UUID
    name: str | None
    at: datetime
    keeps_until: datetime | None
    share: Chance


@dataclass(frozen=True, slots=True, kw_only=True)
class AboardTold:
    """A lot in the body by the records of now, and whether the plan tips it first."""

    lot_code: str
    status: LotStatus
    tipped_before: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPlan:
    """What the newest plan does with a lot, and what it is bagged on top of."""

    plan_id: UUID | None
    revision: int | None
    is_current: bool
    outcome: Outcome | None
    vehicle_id: UUID | None
    registration: str | None
    mown_at: datetime | None
    tips: tuple[TipTold, ...]
    says: tuple[SaidTold, ...]
    aboard: tuple[AboardTold, ...] = ()
    mixing: SaidTold | None = None
    many_loads: SaidTold | None = None

"""A crew's own part of a plan, and what it needs at each stop, as they are told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeTold:
    """A client's property, and the bed there that something is laid on."""

    name: str
    address: str
    access_notes: str | None
    may_sign: str | None
    bed: str | None
    where_to_lay: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursTold:
    """When a site is open on the day, by its clock."""

    opens: str
    last_load: str
    closes: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteTold:
    """A compost site."""

    name: str
    address: str
    phone: str | None
    hours: tuple[HoursTold, ...]
    they_say: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewStops:
    """A crew's stops of today; parts of the plan are as it was kept."""

    day: date
    depot_id: UUID
    crew_id: UUID | None
    vehicle_id: UUID | None
    registration: str | None
    office_phone: str
    revision: int | None
    is_current: bool
    aboard_now: Mapping[str, object] | None
    out: Mapping[str, object] | None
    stops: tuple[Mapping[str, object], ...]

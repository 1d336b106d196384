"""A vehicle's day in few bytes, as it is told; what is of the plan is as it was kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated
from uuid import UUID

from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.usecases.telling.told.forms import Amount, Count
from service.usecases.telling.told.places import Named


@dataclass(frozen=True, slots=True, kw_only=True)
class StopToday:
    """A stop: what it is, when, where."""

    kind: str
    at: datetime
    point: tuple[float, float]
    name: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DropToday(StopToday):
    """A load is tipped."""

    load_id: UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class JobToday(StopToday):
    """A lawn, how to get in, and why not to bag it."""

    job_id: UUID
    address: str | None
    access: str | None
    leave_on_lawn: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PickUpToday(StopToday):
    """What stands in a vehicle that is out is forked over."""

    job_id: UUID
    from_registration: str
    mass_high_kg: Amount
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadHeldToday(StopToday):
    """What lies in a bay is loaded by hand."""

    hold_entry_id: UUID
    mass_high_kg: Amount
    caution: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ShowToday:
    """What a gate asks for."""

    registration: str
    lot_codes: tuple[str, ...]
    lots: Count
    status: LotStatus
    low_kg: Amount
    high_kg: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class TipToday:
    """The next tip: where, what to show there, and where else."""

    load_id: UUID
    destination_kind: DestinationKind
    destination_id: UUID
    name: str | None
    by: datetime
    keeps_until: datetime | None
    show: Annotated[ShowToday, "What the gate asks for."]
    cautions: tuple[str, ...]
    address: str | None
    access: str | None
    plan_b: Named | None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomToday:
    """What may still be loaded."""

    kg: Count
    litres: Count
    bags: Count
    bag_litres: Amount
    bag_kg: Amount


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleDay:
    """All that a crew is told of its vehicle; as it stands, of one that is in no plan."""

    vehicle_id: UUID
    registration: str
    day: date
    plan_id: UUID | None = None
    revision: Count | None = None
    day_revision: Annotated[
        Count | None, "Where it is above `revision`, a plan that knows more is being made."
    ] = None
    out: Mapping[str, object] | None = None
    room: Annotated[
        RoomToday,
        "What may still be loaded if all that is aboard, and all to come, is as wet as it may be: "
        "`POST /computations/vehicle-room` answers the same of `rained_on` clippings.",
    ]
    cautions: Annotated[
        tuple[str, ...],
        "What the crew must know of its vehicle before its next stop: first that a load stands in "
        "it and heats up, then where it may not tip any more what it is on its way with, or not "
        "all of it, that it may be overloaded, "
        "that what is aboard is recalled, that it lies there overnight, or that it has no place.",
    ] = ()
    next_tip: TipToday | None = None
    stops: tuple[
        Annotated[StopToday, "Of a job: `job_id`, address, access, and why not to bag it."], ...
    ] = ()
    stops_after: Count = 0
    changed: tuple[str, ...] = ()

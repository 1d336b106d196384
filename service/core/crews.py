"""Crews and the vehicles they drive."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from service.core.errors import FieldFault
from service.core.measures.units import date_words
from service.core.places import Point
from service.core.records import Check, Record

# Overloading happens, and its ticket must be kept: that is how anybody learns of it. Twice the
# payload is driven nowhere; common practice, no source.
TIMES_PAYLOAD_DRIVEN = 2.0


def tare_faults(gross_limit_kg: float | None, tare_kg: float | None) -> list[FieldFault]:
    """Return that a tare leaves nothing of the gross limit, where it does."""
    if gross_limit_kg is None or tare_kg is None or tare_kg < gross_limit_kg:
        return []
    detail = (
        f"The tare, {tare_kg:g} kg, is not below the gross limit, {gross_limit_kg:g} kg: one of "
        "them is another."
    )
    return [FieldFault(pointer="/tare_kg", detail=detail, code="tare_above_gross")]


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle(Record):
    """A vehicle: what it may weigh and what its body holds.

    The payload is the plated one; the gross limit and the tare, where known, must
    leave room for it. ``used_until`` is its last day of use, once it is sold or gone.
    ``parked_point`` is where it was left at ``parked_at``, if not in its yard.
    """

    depot_id: UUID
    registration: str
    name: str | None = None
    payload_kg: float
    body_volume_m3: float
    gross_limit_kg: float | None = None
    tare_kg: float | None = None
    used_until: date | None = None
    parked_point: Point | None = None
    parked_at: datetime | None = None

    @property
    def carried_kg_max(self) -> float:
        """Return the most it can have carried [kg], overloaded: a heavier ticket is another's."""
        allowed_kg = self.payload_kg
        if self.gross_limit_kg is not None and self.tare_kg is not None:
            allowed_kg = max(allowed_kg, self.gross_limit_kg - self.tare_kg)
        return TIMES_PAYLOAD_DRIVEN * allowed_kg

    def checks(self) -> Sequence[Check]:
        """Return what a vehicle looks for in itself: a payload above gross limit less tare."""
        return (
            (self._mass_faults, ("payload_kg", "gross_limit_kg", "tare_kg")),
            (self._parked_faults, ("parked_point", "parked_at")),
        )

    def _parked_faults(self) -> Sequence[FieldFault]:
        if (self.parked_point is None) is (self.parked_at is None):
            return ()
        missing = "parked_point" if self.parked_point is None else "parked_at"
        detail = "Where it was left, and when, are said together."
        return [FieldFault(pointer=f"/{missing}", detail=detail, code="required")]

    def _mass_faults(self) -> Sequence[FieldFault]:
        faults = tare_faults(self.gross_limit_kg, self.tare_kg)
        if faults or self.gross_limit_kg is None or self.tare_kg is None:
            return faults
        room_kg = self.gross_limit_kg - self.tare_kg
        if self.payload_kg > room_kg:
            return [
                FieldFault(
                    pointer="/payload_kg",
                    detail=f"Gross limit less tare leaves {room_kg:g} kg: the most payload.",
                )
            ]
        return ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew(Record):
    """A crew, its depot and the vehicle it usually drives; ``used_until`` is its last day here."""

    depot_id: UUID
    name: str
    lead: str | None = None
    phone: str | None = None
    vehicle_id: UUID | None = None
    language: str = "en"
    used_until: date | None = None


def last_day_words(record: Vehicle | Crew) -> str:
    """Return in words which day was the last; of one that is used on and on nothing."""
    return "" if record.used_until is None else f"Its last day is {date_words(record.used_until)}"


def is_used_on(day: date, record: Vehicle | Crew) -> bool:
    """Return whether a vehicle or a crew is still the firm's on a day."""
    return record.used_until is None or day <= record.used_until


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleOutage(Record):
    """A vehicle that is out from a moment on, as it was reported: broken down, or in the workshop.

    Attributes
    ----------
    day
        The depot's day of ``out_since``, worked out.
    back_at
        When it works again; None until somebody knows.
    point
        Where it stands, if not where the day's records had it last.
    """

    vehicle_id: UUID
    day: date
    out_since: datetime
    back_at: datetime | None = None
    reason: str
    point: Point | None = None
    remarks: str | None = None

    def checks(self) -> Sequence[Check]:
        """Return what an outage looks for in itself: back before it was out."""
        return ((self._time_faults, ("out_since", "back_at")),)

    def _time_faults(self) -> Sequence[FieldFault]:
        if self.back_at is None or self.back_at > self.out_since:
            return ()
        return [FieldFault(pointer="/back_at", detail="It is back after it was out.")]

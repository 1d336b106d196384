"""The mass book: where every kilogram of clippings is, and how it came there.

A movement is never changed. What was wrong is taken back by an entry of the same amounts below
zero, and said anew by another one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any, Final
from uuid import UUID

from service.core.materials import LotStatus
from service.core.records import Record

# Where kilograms are, beside the kinds of destination: on the lawn they were cut on, in a vehicle's
# body, gone from a hold bay to where the book does not reach, or from before the book began.
LAWN = "lawn"
VEHICLE = "vehicle"
ELSEWHERE = "elsewhere"
BEFORE = "before"

# Until when is in a body what nobody said to have left it: later than any hour.
STILL: Final = datetime(9999, 1, 1, tzinfo=UTC)
# Shares are rounded to nine digits: what is below this is nothing.
NOTHING = 1e-6


class MovementCause(StrEnum):
    """What moved kilograms."""

    CUT = "cut"
    TAKEN_OVER = "taken_over"
    LOADED = "loaded"
    TIPPED = "tipped"
    RELEASED = "released"
    OPENING = "opening"


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """Kilograms of one lot, as they were thought or weighed; below zero where they are taken back.

    ``share`` is of the lot, ``counted_kg`` is weighed where there is a weight that counts, else the
    likely mass.
    """

    share: float
    mass_low_kg: float
    mass_likely_kg: float
    mass_high_kg: float
    nitrogen_low_kg: float
    nitrogen_likely_kg: float
    nitrogen_high_kg: float
    counted_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MassMovement(Record):
    """One entry: kilograms of one lot from one place to another.

    Attributes
    ----------
    cause, cause_id
        What moved them, and the record that says so: a job, a load, a hold entry, a bed; of what
        of a heap came into a body the loading, which its hold entry keeps.
    lot_id
        The job that cut them; of an opening balance the bed.
    from_kind, from_id, to_kind, to_id
        A place: a kind of destination, or ``lawn``, ``vehicle``, ``elsewhere``, ``before``.
    day
        The depot's day of ``happened_at``; ``created_at`` is when it was entered.
    weighed_nitrogen_kg
        Nitrogen in what was weighed, at the high end; None where no weight counts, and in older
        entries.
    counted_before_kg
        What the weighed counted as where it left: a weight of it changes nothing of what stays
        there. None where no weight counts: it counts as before.
    corrects_id
        The entry that this one takes back.
    key_id
        Whose key said so; None where no key did.
    """

    cause: MovementCause
    cause_id: UUID
    lot_id: UUID
    lot_code: str | None
    from_kind: str
    from_id: UUID
    to_kind: str
    to_id: UUID
    share: float
    mass_low_kg: float
    mass_likely_kg: float
    mass_high_kg: float
    nitrogen_low_kg: float
    nitrogen_likely_kg: float
    nitrogen_high_kg: float
    counted_kg: float
    weighed_kg: float | None = None
    weighed_nitrogen_kg: float | None = None
    counted_before_kg: float | None = None
    status: LotStatus
    happened_at: datetime
    day: date
    depot_id: UUID | None = None
    corrects_id: UUID | None = None
    reason: str | None = None
    key_id: UUID | None = None

    @property
    def source(self) -> tuple[MovementCause, UUID, UUID, str, UUID]:
        """Return what says that kilograms moved: it has one entry that stands."""
        return self.cause, self.cause_id, self.lot_id, self.from_kind, self.from_id

    @property
    def amounts(self) -> Amounts:
        """Return the kilograms that came to a place."""
        return Amounts(**{name: getattr(self, name) for name in AMOUNTS})

    @property
    def amounts_left(self) -> Amounts:
        """Return the same kilograms as they counted where they left."""
        if self.counted_before_kg is None:
            return self.amounts
        return replace(self.amounts, counted_kg=self.counted_before_kg)

    def says_as(self, other: MassMovement) -> bool:
        """Return whether another entry says the same, whenever and by whom it was entered."""
        mine = replace(
            self,
            id=other.id,
            version=other.version,
            created_at=other.created_at,
            updated_at=other.updated_at,
            corrects_id=other.corrects_id,
            reason=other.reason,
            key_id=other.key_id,
        )
        if other.weighed_nitrogen_kg is None and mine.weighed_kg == other.weighed_kg:
            # An older entry was made before it was told.
            mine = replace(mine, weighed_nitrogen_kg=None)
        return mine == other

    def taken_back(self) -> MassMovement:
        """Return the entry that takes this one back; its own id and time are still to be given."""
        below: dict[str, Any] = {name: -getattr(self, name) for name in AMOUNTS}
        below |= {name: None if (kg := getattr(self, name)) is None else -kg for name in WEIGHED}
        return replace(self, **below, corrects_id=self.id)


@dataclass(frozen=True, slots=True, kw_only=True)
class BroughtOnADay:
    """What a place got on one day, all lots together: as weighed, else at the high end."""

    place_id: UUID
    day: date
    mass_kg: float
    nitrogen_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MassMoved:
    """What moved on a day from one place to another, all lots of a status together.

    What came to a hold bay or left one is told by lot: ``lot_id`` says of which it is.
    ``estimated_of_weighed_kg`` is what the weighed was thought to be, likely;
    ``counted_before_kg`` what all counted as where it left.
    """

    day: date
    from_kind: str
    from_id: UUID
    to_kind: str
    to_id: UUID
    status: str
    mass_low_kg: float
    mass_likely_kg: float
    mass_high_kg: float
    counted_kg: float
    counted_before_kg: float
    weighed_kg: float
    estimated_of_weighed_kg: float
    lot_id: UUID | None = None


AMOUNTS = tuple(Amounts.__dataclass_fields__)
# What an entry has beside them only where a weight counts.
WEIGHED = ("weighed_kg", "weighed_nitrogen_kg", "counted_before_kg")


@dataclass(frozen=True, slots=True, kw_only=True)
class MassBalance(Amounts):
    """The sum of all movements of a lot to and from a place; none is kept of nothing.

    A lawn's is below zero: what was cut there.
    """

    firm_id: UUID
    place_kind: str
    place_id: UUID
    lot_id: UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyStay:
    """That clippings of a job lay in a vehicle's body from a moment until another, or ``STILL``.

    What lay there at one moment is mixed. ``apart_until`` is when the office said last that they
    were kept apart from all that had come to lie beside them by then, and was on record.
    """

    firm_id: UUID
    vehicle_id: UUID
    job_id: UUID
    since: datetime
    until: datetime
    apart_until: datetime | None = None

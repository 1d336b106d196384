"""The mass book: movements, and the sums kept beside them."""

from datetime import datetime
from uuid import UUID

from sqlalchemy.orm import Mapped, mapped_column

from service.core.mass_book import AMOUNTS, WEIGHED, MassMovement
from service.storage.columns import FirmRow, RecordRow, finite, indexed, names


class MassMovementRow(RecordRow, of=MassMovement):
    """An entry. Its places are of many kinds, so no foreign key can name them."""

    __tablename__ = "mass_movements"

    cause_id: Mapped[UUID]

    __table_args__ = (
        *finite(*AMOUNTS, *WEIGHED),
        indexed("lot_id"),
        indexed("from_id", "day"),
        indexed("to_id", "day"),
        *names("depot_id", "depots", then=("day", "id")),
        indexed("cause_id", "id"),
        *names("corrects_id", "mass_movements"),
    )


class MassBalanceRow(FirmRow):
    """The sum of a lot's movements to and from a place."""

    __tablename__ = "mass_balances"

    place_kind: Mapped[str] = mapped_column(primary_key=True, sort_order=-4)
    place_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-3)
    lot_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-2)
    share: Mapped[float]
    mass_low_kg: Mapped[float]
    mass_likely_kg: Mapped[float]
    mass_high_kg: Mapped[float]
    nitrogen_low_kg: Mapped[float]
    nitrogen_likely_kg: Mapped[float]
    nitrogen_high_kg: Mapped[float]
    counted_kg: Mapped[float]

    __table_args__ = (*finite(*AMOUNTS), indexed("lot_id"))


class BodyStayRow(FirmRow):
    """That clippings of a job lay in a vehicle's body."""

    __tablename__ = "body_stays"

    vehicle_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    job_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-3)
    since: Mapped[datetime] = mapped_column(primary_key=True, sort_order=-2)
    until: Mapped[datetime]
    apart_until: Mapped[datetime | None]

    __table_args__ = (
        *names("vehicle_id", "vehicles", then=("until",)),
        *names("job_id", "jobs"),
    )


class PlaceSumRow(FirmRow):
    """The sum of all lots at a place, in billionths: whole numbers go in and out all season."""

    __tablename__ = "place_sums"

    place_kind: Mapped[str] = mapped_column(primary_key=True, sort_order=-4)
    place_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-3)
    lots: Mapped[int]
    share: Mapped[int]
    mass_low_kg: Mapped[int]
    mass_likely_kg: Mapped[int]
    mass_high_kg: Mapped[int]
    nitrogen_low_kg: Mapped[int]
    nitrogen_likely_kg: Mapped[int]
    nitrogen_high_kg: Mapped[int]
    counted_kg: Mapped[int]

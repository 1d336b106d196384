"""Crews, vehicles, treatments, jobs, and the days they are planned in."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.core.callers.access import Role
from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.evidence.closings import DayClosing
from service.core.jobs import Job
from service.core.plans import DayPlan, WorkingDay
from service.core.searches import SearchKind, SearchState
from service.core.treatments import Treatment
from service.storage.columns import (
    FirmRow,
    RecordRow,
    above_zero,
    counted_from,
    indexed,
    names,
    names_by_unique,
    not_negative,
    one_of,
)


class VehicleRow(RecordRow, of=Vehicle):
    """A vehicle."""

    __tablename__ = "vehicles"

    __table_args__ = (
        *names("depot_id", "depots"),
        *above_zero("payload_kg", "body_volume_m3", "gross_limit_kg", "tare_kg"),
    )


class CrewRow(RecordRow, of=Crew):
    """A crew."""

    __tablename__ = "crews"

    __table_args__ = (
        *names("depot_id", "depots"),
        *names("vehicle_id", "vehicles"),
    )


class VehicleOutageRow(RecordRow, of=VehicleOutage):
    """A vehicle that is out on a day."""

    __tablename__ = "vehicle_outages"

    __table_args__ = (
        *names("vehicle_id", "vehicles"),
        indexed("day"),
        CheckConstraint("back_at IS NULL OR back_at > out_since", name="back_after_out"),
    )


class TreatmentRow(RecordRow, of=Treatment):
    """A statement about what was put on a lawn."""

    __tablename__ = "treatments"

    __table_args__ = (*names("lawn_id", "lawns"),)


class JobRow(RecordRow, of=Job):
    """A mowing job."""

    __tablename__ = "jobs"

    lawn_id: Mapped[UUID | None]
    depot_id: Mapped[UUID]
    planned_at: Mapped[datetime | None]
    cut_at: Mapped[datetime | None]
    lot_code: Mapped[str]
    reported_as_id: Mapped[UUID | None]

    __table_args__ = (
        *names("property_id", "properties", then=("id",)),
        *names("duplicate_of_id", "jobs"),
        indexed("reported_as_id"),
        *names("lawn_id", "lawns", then=("cut_at",)),
        *names("crew_id", "crews", then=("id",)),
        *names("vehicle_id", "vehicles", then=("id",)),
        *names("depot_id", "depots", then=("cut_at",)),
        indexed("depot_id", "planned_at"),
        indexed("lot_code"),
        indexed("state", "id"),
        indexed("status", "id"),
        CheckConstraint("state <> 'mown' OR cut_at IS NOT NULL", name="mown_is_cut"),
        CheckConstraint("state <> 'planned' OR planned_at IS NOT NULL", name="planned_has_time"),
        *counted_from(0, "minutes_on_site"),
        *above_zero("area_mowed_value", "area_mowed_si_value"),
        *not_negative("height_before_si_value", "height_after_si_value"),
        *above_zero("height_removed_si_value"),
        *not_negative("measured_mass_si_value", "measured_volume_si_value"),
    )


class DayPlanRow(RecordRow, of=DayPlan):
    """A plan of one depot's day."""

    __tablename__ = "day_plans"

    day: Mapped[date]
    sequence: Mapped[int]

    __table_args__ = (
        names_by_unique("depot_id", "depots"),
        *names("supersedes_id", "day_plans"),
        UniqueConstraint("firm_id", "depot_id", "day", "sequence"),
    )


class FoldedPlanRow(FirmRow):
    """What a superseded plan said otherwise than the one beside it, or all of it, small."""

    __tablename__ = "folded_plans"

    plan_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    beside_id: Mapped[UUID | None]
    said: Mapped[bytes]

    __table_args__ = (
        names_by_unique("plan_id", "day_plans"),
        *names("beside_id", "day_plans"),
    )


class WorkingDayRow(RecordRow, of=WorkingDay):
    """A depot's day and its revision."""

    __tablename__ = "working_days"

    depot_id: Mapped[UUID]
    day: Mapped[date]
    revision: Mapped[int]
    planned_revision: Mapped[int]

    __table_args__ = (
        names_by_unique("depot_id", "depots"),
        *names("plan_id", "day_plans"),
        *counted_from(0, "revision"),
        *counted_from(-1, "planned_revision"),
        UniqueConstraint("firm_id", "depot_id", "day"),
    )


class DayClosingRow(RecordRow, of=DayClosing):
    """A depot's day as it was closed."""

    __tablename__ = "day_closings"

    __table_args__ = (
        names_by_unique("depot_id", "depots"),
        *counted_from(1, "sequence"),
        UniqueConstraint("firm_id", "depot_id", "day", "sequence"),
    )


class PlanningTurnRow(FirmRow):
    """A depot's day that waits to be planned behind. Can be lost: see the port."""

    __tablename__ = "planning_turns"

    depot_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    day: Mapped[date] = mapped_column(primary_key=True, sort_order=-3)
    asked_at: Mapped[datetime]
    holder: Mapped[UUID | None]
    until: Mapped[datetime | None]

    __table_args__ = (names_by_unique("depot_id", "depots"),)


class SearchRow(FirmRow):
    """A search that somebody asked for, and its answer for a time."""

    __tablename__ = "searches"

    id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    kind: Mapped[str]
    key_id: Mapped[UUID]
    role: Mapped[str]
    wanted: Mapped[dict[str, Any]]
    asked_at: Mapped[datetime]
    looked_at: Mapped[datetime]
    state: Mapped[str]
    taken_at: Mapped[datetime | None]
    tries: Mapped[int]
    holder: Mapped[UUID | None]
    until: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]
    answer: Mapped[dict[str, Any] | None]

    __table_args__ = (
        one_of("kind", SearchKind),
        one_of("role", Role),
        one_of("state", SearchState),
        *counted_from(0, "tries"),
        indexed("state"),
    )

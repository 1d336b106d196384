"""Crews, vehicles, treatments, jobs, and the days they are planned in."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.core.jobs import JobState
from service.core.materials import (
    ClippingsHandling,
    GrassKind,
    LotStatus,
    TreatmentHistory,
    Wetness,
)
from service.core.treatments import StatementSource
from service.storage.columns import (
    FirmRow,
    JsonValue,
    RecordRow,
    above_zero,
    between,
    counted_from,
    indexed,
    names,
    names_by_unique,
    not_negative,
    one_of,
)


class VehicleRow(RecordRow):
    """A vehicle."""

    __tablename__ = "vehicles"

    depot_id: Mapped[UUID]
    registration: Mapped[str]
    name: Mapped[str | None]
    payload_kg: Mapped[float]
    body_volume_m3: Mapped[float]
    gross_limit_kg: Mapped[float | None]
    tare_kg: Mapped[float | None]

    __table_args__ = (
        *names("depot_id", "depots"),
        *above_zero("payload_kg", "body_volume_m3", "gross_limit_kg", "tare_kg"),
    )


class CrewRow(RecordRow):
    """A crew."""

    __tablename__ = "crews"

    depot_id: Mapped[UUID]
    name: Mapped[str]
    lead: Mapped[str | None]
    phone: Mapped[str | None]
    vehicle_id: Mapped[UUID | None]
    language: Mapped[str]

    __table_args__ = (
        *names("depot_id", "depots"),
        *names("vehicle_id", "vehicles"),
    )


class VehicleOutageRow(RecordRow):
    """A vehicle that is out on a day."""

    __tablename__ = "vehicle_outages"

    vehicle_id: Mapped[UUID]
    day: Mapped[date]
    out_since: Mapped[datetime]
    back_at: Mapped[datetime | None]
    reason: Mapped[str]
    point_latitude: Mapped[float | None]
    point_longitude: Mapped[float | None]
    remarks: Mapped[str | None]

    __table_args__ = (
        *names("vehicle_id", "vehicles"),
        indexed("day"),
        CheckConstraint("back_at IS NULL OR back_at > out_since", name="back_after_out"),
        *between(-90, 90, "point_latitude"),
        *between(-180, 180, "point_longitude"),
        CheckConstraint("(point_latitude IS NULL) = (point_longitude IS NULL)", name="point_whole"),
    )


class TreatmentRow(RecordRow):
    """A statement about what was put on a lawn."""

    __tablename__ = "treatments"

    lawn_id: Mapped[UUID]
    product: Mapped[str]
    active_ingredients: Mapped[list[Any]]
    applied_on: Mapped[date]
    statement_source: Mapped[str]
    stated_by: Mapped[str]
    label_wait: Mapped[Any] = mapped_column(JsonValue, nullable=True)
    people_may_return_at: Mapped[datetime | None]
    remarks: Mapped[str | None]
    bioassay: Mapped[Any] = mapped_column(JsonValue, nullable=True)

    __table_args__ = (
        *names("lawn_id", "lawns"),
        one_of("statement_source", StatementSource),
    )


class JobRow(RecordRow):
    """A mowing job."""

    __tablename__ = "jobs"

    property_id: Mapped[UUID]
    lawn_id: Mapped[UUID | None]
    crew_id: Mapped[UUID]
    vehicle_id: Mapped[UUID]
    depot_id: Mapped[UUID]
    state: Mapped[str]
    planned_at: Mapped[datetime | None]
    cut_at: Mapped[datetime | None]
    minutes_on_site: Mapped[int]
    area_mowed_value: Mapped[float]
    area_mowed_unit: Mapped[str]
    area_mowed_si_value: Mapped[float]
    height_before_value: Mapped[float | None]
    height_before_unit: Mapped[str | None]
    height_before_si_value: Mapped[float | None]
    height_after_value: Mapped[float | None]
    height_after_unit: Mapped[str | None]
    height_after_si_value: Mapped[float | None]
    height_removed_value: Mapped[float | None]
    height_removed_unit: Mapped[str | None]
    height_removed_si_value: Mapped[float | None]
    grass_kind: Mapped[str]
    wetness: Mapped[str]
    weeds_in_seed: Mapped[bool]
    disease_seen: Mapped[bool]
    litter_seen: Mapped[bool]
    clippings: Mapped[str]
    treatment_history: Mapped[str]
    measured_mass_value: Mapped[float | None]
    measured_mass_unit: Mapped[str | None]
    measured_mass_si_value: Mapped[float | None]
    measured_volume_value: Mapped[float | None]
    measured_volume_unit: Mapped[str | None]
    measured_volume_si_value: Mapped[float | None]
    remarks: Mapped[str | None]
    lot_code: Mapped[str]
    estimate: Mapped[Any] = mapped_column(JsonValue, nullable=True)
    status: Mapped[str]
    findings: Mapped[list[Any]]
    reported_as_id: Mapped[UUID | None]
    duplicate_of_id: Mapped[UUID | None]

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
        one_of("state", JobState),
        CheckConstraint("state <> 'mown' OR cut_at IS NOT NULL", name="mown_is_cut"),
        CheckConstraint("state <> 'planned' OR planned_at IS NOT NULL", name="planned_has_time"),
        *counted_from(0, "minutes_on_site"),
        *above_zero("area_mowed_value", "area_mowed_si_value"),
        *not_negative("height_before_si_value", "height_after_si_value"),
        *above_zero("height_removed_si_value"),
        *not_negative("measured_mass_si_value", "measured_volume_si_value"),
        one_of("grass_kind", GrassKind),
        one_of("wetness", Wetness),
        one_of("clippings", ClippingsHandling),
        one_of("treatment_history", TreatmentHistory),
        one_of("status", LotStatus),
    )


class DayPlanRow(RecordRow):
    """A plan of one depot's day."""

    __tablename__ = "day_plans"

    depot_id: Mapped[UUID]
    day: Mapped[date]
    sequence: Mapped[int]
    revision: Mapped[int]
    planned_at: Mapped[datetime]
    rulebook_version: Mapped[str]
    supersedes_id: Mapped[UUID | None]
    cost_cents: Mapped[int]
    bound_cents: Mapped[int]
    bound_proven: Mapped[bool]
    routing: Mapped[dict[str, Any]]
    record_versions: Mapped[Any] = mapped_column(JsonValue, nullable=True)

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


class WorkingDayRow(RecordRow):
    """A depot's day and its revision."""

    __tablename__ = "working_days"

    depot_id: Mapped[UUID]
    day: Mapped[date]
    revision: Mapped[int]
    planned_revision: Mapped[int]
    plan_id: Mapped[UUID | None]

    __table_args__ = (
        names_by_unique("depot_id", "depots"),
        *names("plan_id", "day_plans"),
        *counted_from(0, "revision"),
        *counted_from(-1, "planned_revision"),
        UniqueConstraint("firm_id", "depot_id", "day"),
    )


class DayClosingRow(RecordRow):
    """A depot's day as it was closed."""

    __tablename__ = "day_closings"

    depot_id: Mapped[UUID]
    day: Mapped[date]
    sequence: Mapped[int]
    closed_at: Mapped[datetime]
    key_id: Mapped[UUID | None]
    remarks: Mapped[str | None]
    content: Mapped[dict[str, Any]]
    sha256: Mapped[str]

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

"""Clients, their land, the firm's yards, and the sites that take clippings."""

from datetime import datetime, time
from typing import Any
from uuid import UUID

from sqlalchemy import CheckConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.core.materials import GrassKind
from service.core.permission.legal_basis import GroundKind
from service.core.places import DisplayUnits, Drainage, GroundState
from service.storage.columns import (
    JsonValue,
    RecordRow,
    above_zero,
    between,
    counted_from,
    names,
    not_negative,
    one_of,
)


class ClientRow(RecordRow):
    """A client."""

    __tablename__ = "clients"

    name: Mapped[str]
    phone: Mapped[str | None]
    email: Mapped[str | None]
    address: Mapped[str | None]
    language: Mapped[str]
    display_units: Mapped[str]

    __table_args__ = (one_of("display_units", DisplayUnits),)


class PropertyRow(RecordRow):
    """A client's piece of land."""

    __tablename__ = "properties"

    client_id: Mapped[UUID]
    name: Mapped[str]
    address: Mapped[str]
    locality: Mapped[str]
    point_latitude: Mapped[float]
    point_longitude: Mapped[float]
    access_notes: Mapped[str | None]
    may_sign: Mapped[str | None]

    __table_args__ = (
        *names("client_id", "clients"),
        *between(-90, 90, "point_latitude"),
        *between(-180, 180, "point_longitude"),
    )


class LawnRow(RecordRow):
    """A lawn."""

    __tablename__ = "lawns"

    property_id: Mapped[UUID]
    name: Mapped[str]
    area_value: Mapped[float]
    area_unit: Mapped[str]
    area_si_value: Mapped[float]
    grass_kind: Mapped[str]
    mowing_hours: Mapped[list[Any]]

    __table_args__ = (
        *names("property_id", "properties"),
        *above_zero("area_value", "area_si_value"),
        one_of("grass_kind", GrassKind),
    )


class BedRow(RecordRow):
    """A bed."""

    __tablename__ = "beds"

    property_id: Mapped[UUID]
    name: Mapped[str]
    area_value: Mapped[float]
    area_unit: Mapped[str]
    area_si_value: Mapped[float]
    drainage: Mapped[str]
    ground_state: Mapped[str]
    ground_state_at: Mapped[datetime | None]
    edible: Mapped[bool]
    organic_certified: Mapped[bool]
    water_distance_m: Mapped[float | None]
    well_distance_m: Mapped[float | None]
    animals: Mapped[list[Any]]
    slope_percent: Mapped[float]
    sensitive_plants: Mapped[str | None]
    near_drain_or_paving: Mapped[bool]
    point_latitude: Mapped[float | None]
    point_longitude: Mapped[float | None]
    consent: Mapped[dict[str, Any]]
    legal_basis: Mapped[dict[str, Any]]
    where_to_lay: Mapped[str | None]
    animals_beside: Mapped[Any] = mapped_column(JsonValue, nullable=True)
    grazing_fenced: Mapped[bool | None]
    opening_balance: Mapped[Any] = mapped_column(JsonValue, nullable=True)
    ground_kind: Mapped[str | None]
    feeds_ended_at: Mapped[datetime | None]
    hours: Mapped[list[Any]]
    closed_on: Mapped[list[Any]]

    __table_args__ = (
        *names("property_id", "properties"),
        *above_zero("area_value", "area_si_value"),
        one_of("drainage", Drainage),
        one_of("ground_state", GroundState),
        one_of("ground_kind", GroundKind),
        *not_negative("water_distance_m", "well_distance_m", "slope_percent"),
        *between(-90, 90, "point_latitude"),
        *between(-180, 180, "point_longitude"),
        CheckConstraint("(point_latitude IS NULL) = (point_longitude IS NULL)", name="point_whole"),
    )


class DepotRow(RecordRow):
    """A yard that crews start from."""

    __tablename__ = "depots"

    name: Mapped[str]
    address: Mapped[str]
    point_latitude: Mapped[float]
    point_longitude: Mapped[float]
    time_zone: Mapped[str]
    shift_starts: Mapped[time]
    shift_ends: Mapped[time]
    jurisdiction: Mapped[str]
    fairness_limit_kg_per_m2: Mapped[float | None]
    fairness_price_cents_per_t_per_kg_per_m2: Mapped[int | None]
    crew_minute_cents: Mapped[int | None]

    __table_args__ = (
        *between(-90, 90, "point_latitude"),
        *between(-180, 180, "point_longitude"),
        CheckConstraint("shift_starts < shift_ends", name="shift"),
        *above_zero("fairness_limit_kg_per_m2"),
        *counted_from(0, "fairness_price_cents_per_t_per_kg_per_m2", "crew_minute_cents"),
    )


class HoldBayRow(RecordRow):
    """A bay where clippings wait."""

    __tablename__ = "hold_bays"

    depot_id: Mapped[UUID]
    name: Mapped[str]
    volume_m3: Mapped[float]
    leachate_contained: Mapped[bool]

    __table_args__ = (
        *names("depot_id", "depots"),
        *above_zero("volume_m3"),
    )


class CompostSiteRow(RecordRow):
    """A compost site."""

    __tablename__ = "compost_sites"

    name: Mapped[str]
    operator: Mapped[str]
    address: Mapped[str]
    point_latitude: Mapped[float]
    point_longitude: Mapped[float]
    time_zone: Mapped[str]
    phone: Mapped[str | None]
    accepted_statuses: Mapped[list[Any]]
    hours: Mapped[list[Any]]
    closed_on: Mapped[list[Any]]
    daily_capacity_kg: Mapped[float]
    fee: Mapped[dict[str, Any]]
    live_status: Mapped[dict[str, Any]]
    unloading_minutes: Mapped[int]
    jurisdiction: Mapped[str]
    process_temperature_c: Mapped[float | None]
    process_days: Mapped[float | None]
    process_turnings: Mapped[int | None]
    kill_evidence: Mapped[list[Any]]
    takes_sour: Mapped[bool | None]
    feeds_ended_at: Mapped[datetime | None]

    __table_args__ = (
        *between(-90, 90, "point_latitude"),
        *between(-180, 180, "point_longitude"),
        *not_negative("daily_capacity_kg", "process_days"),
        *counted_from(0, "unloading_minutes", "process_turnings"),
        *between(-273.15, 1000, "process_temperature_c"),
    )

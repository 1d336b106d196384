"""Loads, hold entries, delivery notes and their numbers."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.core.loads import HoldState, LoadState, ReleasedAs, TicketReview
from service.core.materials import LotStatus
from service.core.notes import Receipt
from service.core.places import DestinationKind
from service.storage.columns import (
    FirmRow,
    JsonValue,
    RecordRow,
    between,
    counted_from,
    indexed,
    names,
    names_by_unique,
    not_negative,
    one_of,
)


class LoadRow(RecordRow):
    """A drop. Its destination is one of four kinds, so no foreign key can name it."""

    __tablename__ = "loads"

    depot_id: Mapped[UUID]
    working_day: Mapped[date]
    plan_id: Mapped[UUID | None]
    vehicle_id: Mapped[UUID]
    crew_id: Mapped[UUID | None]
    destination_kind: Mapped[str]
    destination_id: Mapped[UUID]
    state: Mapped[str]
    locked: Mapped[bool]
    sequence: Mapped[int]
    after_job_id: Mapped[UUID | None]
    arrive_at: Mapped[datetime]
    parts: Mapped[list[Any]]
    status: Mapped[str]
    mass_kg: Mapped[dict[str, Any]]
    volume_m3: Mapped[dict[str, Any]]
    nitrogen_kg: Mapped[dict[str, Any]]
    weighed_net_value: Mapped[float | None]
    weighed_net_unit: Mapped[str | None]
    weighed_net_si_value: Mapped[float | None]
    weigh_ticket: Mapped[str | None]
    ticket_review: Mapped[str]
    refusal_reason: Mapped[str | None]
    refused_share: Mapped[float]
    done_at: Mapped[datetime | None]
    fee_cents: Mapped[int]
    explanation: Mapped[dict[str, Any]]
    override_reason: Mapped[str | None]
    chosen_by_id: Mapped[UUID | None]
    at_gate_at: Mapped[datetime | None]

    __table_args__ = (
        *names("depot_id", "depots", then=("working_day",)),
        *names("plan_id", "day_plans", then=("id",)),
        *names("vehicle_id", "vehicles", then=("id",)),
        *names("crew_id", "crews", then=("id",)),
        *names("after_job_id", "jobs"),
        one_of("destination_kind", DestinationKind),
        one_of("state", LoadState),
        one_of("status", LotStatus),
        one_of("ticket_review", TicketReview),
        *not_negative("weighed_net_si_value"),
        *between(0, 1, "refused_share"),
        indexed("destination_id", "done_at"),
        indexed("ticket_review", "arrive_at"),
        indexed("state", "id"),
        indexed("working_day"),
        indexed("destination_kind", "id"),
        indexed("status", "id"),
    )


class LoadLotRow(FirmRow):
    """That something of a job's clippings is in a load: to find loads by what is in them."""

    __tablename__ = "load_lots"

    job_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    load_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-3)

    __table_args__ = (
        names_by_unique("job_id", "jobs"),
        *names("load_id", "loads", then=("job_id",)),
    )


class SettledLoadRow(FirmRow):
    """What was known of a load as a recall that had it was ended."""

    __tablename__ = "settled_loads"

    load_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    known: Mapped[list[Any]]

    __table_args__ = (names_by_unique("load_id", "loads"),)


class WeighedLoadRow(FirmRow):
    """That a load has an accepted ticket, and what that says; see the port."""

    __tablename__ = "weighed_loads"

    load_id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    weighed_at: Mapped[datetime]
    is_as_recorded: Mapped[bool]
    grass_group: Mapped[str]
    lawn: Mapped[str]
    estimated_kg: Mapped[float]
    weighed_kg: Mapped[float]

    __table_args__ = (
        names_by_unique("load_id", "loads"),
        indexed("weighed_at", "load_id"),
        indexed("lawn", "weighed_at", "load_id"),
        *not_negative("estimated_kg", "weighed_kg"),
    )


class HoldEntryRow(RecordRow):
    """Clippings that wait."""

    __tablename__ = "hold_entries"

    hold_bay_id: Mapped[UUID]
    load_id: Mapped[UUID]
    lot_codes: Mapped[list[Any]]
    status: Mapped[str]
    mass_kg: Mapped[dict[str, Any]]
    volume_m3: Mapped[dict[str, Any]]
    reason_code: Mapped[str]
    reason: Mapped[str]
    release_condition_code: Mapped[str]
    release_condition: Mapped[str]
    cut_at: Mapped[datetime]
    amber_at: Mapped[datetime]
    red_at: Mapped[datetime]
    state: Mapped[str]
    held_since: Mapped[datetime | None]
    released_at: Mapped[datetime | None]
    released_to: Mapped[str | None]
    released_as: Mapped[str | None]
    released_to_kind: Mapped[str | None]
    released_to_id: Mapped[UUID | None]
    released_with_id: Mapped[UUID | None]
    released_load_id: Mapped[UUID | None]
    temperatures: Mapped[Any] = mapped_column(JsonValue, nullable=True)
    loadings: Mapped[Any] = mapped_column(JsonValue, nullable=True)

    __table_args__ = (
        *names("hold_bay_id", "hold_bays"),
        *names("load_id", "loads"),
        indexed("state", "id"),
        one_of("status", LotStatus),
        one_of("state", HoldState),
        one_of("released_as", ReleasedAs),
        one_of("released_to_kind", DestinationKind),
        *names("released_with_id", "vehicles"),
        *names("released_load_id", "loads"),
    )


class DeliveryNoteRow(RecordRow):
    """An issued note."""

    __tablename__ = "delivery_notes"

    number: Mapped[str]
    note_version: Mapped[int]
    replaces_id: Mapped[UUID | None]
    load_id: Mapped[UUID]
    client_id: Mapped[UUID]
    language: Mapped[str]
    issued_at: Mapped[datetime]
    content: Mapped[dict[str, Any]]
    sha256: Mapped[str]
    acknowledgement: Mapped[Any] = mapped_column(JsonValue, nullable=True)
    answer: Mapped[str | None]
    link_ended_at: Mapped[datetime | None]

    __table_args__ = (
        *counted_from(1, "note_version"),
        one_of("answer", Receipt),
        indexed("answer", "id"),
        *names("replaces_id", "delivery_notes"),
        *names("load_id", "loads"),
        *names("client_id", "clients"),
        UniqueConstraint("firm_id", "number", "note_version"),
    )


class NoteNumberRow(FirmRow):
    """The last running number a firm gave in a year."""

    __tablename__ = "note_numbers"

    year: Mapped[int] = mapped_column(primary_key=True, sort_order=-4, autoincrement=False)
    last_number: Mapped[int]

    __table_args__ = (*counted_from(1, "last_number"),)


class RecallRow(RecordRow):
    """A recall that was begun."""

    __tablename__ = "recalls"

    reason: Mapped[str]
    content: Mapped[dict[str, Any]]
    sha256: Mapped[str]
    job_ids: Mapped[list[Any]]
    bed_ids: Mapped[list[Any]]
    is_open: Mapped[bool]
    ended_at: Mapped[datetime | None]
    key_id: Mapped[UUID | None]
    calls: Mapped[list[Any]]
    lawns: Mapped[list[Any]]
    load_ids: Mapped[list[Any]]
    brought_since: Mapped[list[Any]]

    __table_args__ = (indexed("is_open"),)

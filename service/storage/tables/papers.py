"""Loads, hold entries, delivery notes and their numbers."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from service.core.evidence.recalls import Recall
from service.core.loads import HoldEntry, Load
from service.core.notes import DeliveryNote
from service.core.personal.erasures import Erasure
from service.storage.columns import (
    FirmRow,
    RecordRow,
    between,
    counted_from,
    indexed,
    names,
    names_by_unique,
    not_negative,
)


class LoadRow(RecordRow, of=Load):
    """A drop. Its destination is one of four kinds, so no foreign key can name it."""

    __tablename__ = "loads"

    depot_id: Mapped[UUID]
    working_day: Mapped[date]
    state: Mapped[str]
    locked: Mapped[bool]
    at_gate_at: Mapped[datetime | None]
    against_gate: Mapped[str | None]
    weigh_ticket: Mapped[str | None]

    __table_args__ = (
        *names("depot_id", "depots", then=("working_day",)),
        *names("plan_id", "day_plans", then=("id",)),
        *names("vehicle_id", "vehicles", then=("id",)),
        *names("crew_id", "crews", then=("id",)),
        *names("after_job_id", "jobs"),
        *not_negative("weighed_net_si_value"),
        *between(0, 1, "refused_share"),
        indexed("destination_id", "done_at"),
        indexed("ticket_review", "arrive_at"),
        indexed("weigh_ticket"),
        indexed("against_gate"),
        indexed("state", "id"),
        indexed("working_day"),
        indexed("destination_kind", "id"),
        indexed("destination_kind", "status", "state"),
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


class HoldEntryRow(RecordRow, of=HoldEntry):
    """Clippings that wait."""

    __tablename__ = "hold_entries"

    load_id: Mapped[UUID]
    state: Mapped[str]
    released_load_id: Mapped[UUID | None]

    __table_args__ = (
        *names("hold_bay_id", "hold_bays"),
        *names("load_id", "loads"),
        indexed("state", "id"),
        *names("released_with_id", "vehicles"),
        *names("released_load_id", "loads"),
    )


class DeliveryNoteRow(RecordRow, of=DeliveryNote):
    """An issued note."""

    __tablename__ = "delivery_notes"

    number: Mapped[str]
    note_version: Mapped[int]
    load_id: Mapped[UUID]
    answer: Mapped[str | None]

    __table_args__ = (
        *counted_from(1, "note_version"),
        indexed("answer", "id"),
        *names("replaces_id", "delivery_notes"),
        *names("load_id", "loads"),
        *names("client_id", "clients"),
        UniqueConstraint("firm_id", "number", "note_version"),
    )


class ErasureRow(RecordRow, of=Erasure):
    """That a client was erased: one of each at most."""

    __tablename__ = "erasures"

    client_id: Mapped[UUID]

    __table_args__ = (
        names_by_unique("client_id", "clients"),
        UniqueConstraint("firm_id", "client_id"),
        indexed("erased_at"),
    )


class NoteNumberRow(FirmRow):
    """The last running number a firm gave in a year."""

    __tablename__ = "note_numbers"

    year: Mapped[int] = mapped_column(primary_key=True, sort_order=-4, autoincrement=False)
    last_number: Mapped[int]

    __table_args__ = (*counted_from(1, "last_number"),)


class RecallRow(RecordRow, of=Recall):
    """A recall that was begun."""

    __tablename__ = "recalls"

    load_ids: Mapped[list[Any]]

    __table_args__ = (indexed("is_open"),)

"""Firms, keys, sessions, the trail of changes, and the answers kept for idempotency keys.

`firms`, `api_keys` and `sessions` are the directory: they tell which firm a request belongs to, so
they are found without one. When data is spread by firm they stay together in one place.
"""

from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Index
from sqlalchemy.orm import Mapped, mapped_column

from service.core.callers.access import Role
from service.core.callers.sessions import Seat
from service.storage.columns import (
    FirmRow,
    JsonValue,
    Row,
    between,
    counted_from,
    indexed,
    one_of,
)


class FirmsRow(Row):
    """A firm."""

    __tablename__ = "firms"

    id: Mapped[UUID] = mapped_column(primary_key=True)
    name: Mapped[str]
    address: Mapped[str]
    phone: Mapped[str]
    currency: Mapped[str]
    created_at: Mapped[datetime]


class ApiKeyRow(FirmRow):
    """A key: the hash of its secret is what a request is looked up by."""

    __tablename__ = "api_keys"

    id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    role: Mapped[str]
    name: Mapped[str]
    secret_sha256: Mapped[str]
    created_at: Mapped[datetime]
    revoked_at: Mapped[datetime | None]
    # What a key is of is named without a foreign key: it outlives them, and then opens nothing.
    crew_id: Mapped[UUID | None]
    vehicle_id: Mapped[UUID | None]
    client_id: Mapped[UUID | None]
    compost_site_id: Mapped[UUID | None]
    expires_at: Mapped[datetime | None]
    last_used_at: Mapped[datetime | None]
    replaces_id: Mapped[UUID | None]

    __table_args__ = (
        one_of("role", Role),
        # Leads with no firm: here the secret tells the firm.
        Index(None, "secret_sha256", unique=True),
    )


class SessionRow(FirmRow):
    """A person's way in. It outlives crews and sites and names them without a foreign key."""

    __tablename__ = "sessions"

    id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    seat: Mapped[str]
    name: Mapped[str]
    crew_id: Mapped[UUID | None]
    compost_site_id: Mapped[UUID | None]
    invited_by_id: Mapped[UUID | None]
    invited_at: Mapped[datetime]
    link_until: Mapped[datetime]
    joined_at: Mapped[datetime | None]
    secret_sha256: Mapped[str | None]
    until: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]
    by_link: Mapped[bool]

    __table_args__ = (
        one_of("seat", Seat),
        # Led by no firm, as that of the keys: link and cookie tell the firm.
        Index(None, "id", unique=True),
        Index(None, "secret_sha256", unique=True),
    )


class AmendmentRow(FirmRow):
    """A change of a record. It outlives the record and names it without a foreign key."""

    __tablename__ = "amendments"

    id: Mapped[UUID] = mapped_column(primary_key=True, sort_order=-4)
    record_kind: Mapped[str]
    record_id: Mapped[UUID]
    record_version: Mapped[int]
    at: Mapped[datetime]
    key_id: Mapped[UUID | None]
    reason: Mapped[str | None]
    changes: Mapped[dict[str, Any]]

    __table_args__ = (
        *counted_from(1, "record_version"),
        indexed("record_id", "record_version"),
    )


class AnswerRow(FirmRow):
    """The first answer to an idempotency key."""

    __tablename__ = "answers"

    key: Mapped[str] = mapped_column(primary_key=True, sort_order=-4)
    request_sha256: Mapped[str]
    seed_id: Mapped[UUID]
    started_at: Mapped[datetime]
    status: Mapped[int | None]
    headers: Mapped[Any] = mapped_column(JsonValue, nullable=True)
    body: Mapped[bytes | None]

    __table_args__ = (
        *between(100, 599, "status"),
        indexed("started_at"),
    )

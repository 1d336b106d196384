"""Firms, the keys to their data, and what each role may do."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from uuid import UUID


class Role(StrEnum):
    """Whose key it is."""

    OWNER = "owner"
    DISPATCHER = "dispatcher"
    CREW = "crew"
    INTEGRATOR = "integrator"


class Act(StrEnum):
    """What a request does, as far as roles care."""

    READ = "read"
    RECORD_WORK = "record_work"
    KEEP_BOOKS = "keep_books"
    PLAN = "plan"
    ISSUE_NOTES = "issue_notes"
    REVIEW_TICKETS = "review_tickets"
    INVITE = "invite"


ALLOWED_ACTS: dict[Role, frozenset[Act]] = {
    Role.OWNER: frozenset(Act),
    Role.DISPATCHER: frozenset(Act),
    Role.CREW: frozenset({Act.READ, Act.RECORD_WORK, Act.ISSUE_NOTES}),
    Role.INTEGRATOR: frozenset({Act.READ, Act.RECORD_WORK, Act.KEEP_BOOKS}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Firm:
    """A landscaping firm: everything kept belongs to one."""

    id: UUID
    name: str
    address: str
    phone: str
    currency: str
    created_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ApiKey:
    """A bearer key: only the hash of its secret is kept."""

    id: UUID
    firm_id: UUID
    role: Role
    name: str
    secret_sha256: str = field(repr=False)
    created_at: datetime
    revoked_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Caller:
    """Who is asking: proven by a key, handed to every use case."""

    firm_id: UUID
    key_id: UUID
    role: Role


@dataclass(frozen=True, slots=True, kw_only=True)
class Amendment:
    """One change of a record: who, when, why, and what each field was and became."""

    id: UUID
    firm_id: UUID
    record_kind: str
    record_id: UUID
    record_version: int
    at: datetime
    key_id: UUID | None
    reason: str | None
    changes: dict[str, object]

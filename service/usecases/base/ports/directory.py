"""The directory: who is let in, and to which firm; found before the firm is known."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol
from uuid import UUID

from service.core.callers.access import Amendment, ApiKey, Firm
from service.core.callers.sessions import Session


class FirmRepository(Protocol):
    """Firms."""

    def get(self, firm_id: UUID) -> Firm | None:
        """Return the firm."""
        ...

    def add(self, firm: Firm) -> None:
        """Keep a new firm."""
        ...

    def all(self) -> list[Firm]:
        """Return every firm, ordered by id."""
        ...


class ApiKeyRepository(Protocol):
    """Keys, found by the hash of their secret."""

    def find(self, secret_sha256: str) -> ApiKey | None:
        """Return the key that is not revoked, or None."""
        ...

    def add(self, key: ApiKey) -> None:
        """Keep a new key."""
        ...

    def all(self, firm_id: UUID) -> list[ApiKey]:
        """Return the firm's keys."""
        ...

    def get(self, firm_id: UUID, key_id: UUID) -> ApiKey | None:
        """Return a key of the firm, revoked or not."""
        ...

    def revoke(self, firm_id: UUID, key_id: UUID, at: datetime) -> bool:
        """Revoke a key; False when there is none."""
        ...

    def expire(self, firm_id: UUID, key_id: UUID, at: datetime) -> None:
        """Let a key end at a moment, unless it ends sooner anyway."""
        ...

    def note_use(self, firm_id: UUID, key_id: UUID, at: datetime) -> None:
        """Keep when a key was last used."""
        ...


class SessionRepository(Protocol):
    """Sessions, found by their id or by the hash of their cookie."""

    def find(self, session_id: UUID) -> Session | None:
        """Return a session by its id alone: for the signed link, whose signature is the key."""
        ...

    def find_by_secret(self, secret_sha256: str) -> Session | None:
        """Return the session of a cookie, ended or not."""
        ...

    def add(self, session: Session) -> None:
        """Keep a new session."""
        ...

    def join(self, joined: Session) -> bool:
        """Keep that a link was used; False if it was before, or was withdrawn."""
        ...

    def all(self, firm_id: UUID) -> list[Session]:
        """Return the firm's sessions."""
        ...

    def end(self, firm_id: UUID, session_id: UUID, at: datetime) -> bool:
        """End a session; False when there is none."""
        ...


class AmendmentRepository(Protocol):
    """The trail of changes."""

    def add(self, amendment: Amendment) -> None:
        """Keep one."""
        ...

    def of(self, firm_id: UUID, *record_ids: UUID) -> list[Amendment]:
        """Return the changes of some records, of each the oldest first."""
        ...

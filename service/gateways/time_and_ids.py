"""What a machine gives: the time, and fresh ids."""

from __future__ import annotations

from datetime import UTC, datetime
from uuid import UUID

import uuid_utils


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """Return the time now, UTC."""
        return datetime.now(UTC)


class FreshIdentifiers:
    """Fresh UUIDv7 (RFC 9562, 5.7)."""

    def next_id(self) -> UUID:
        """Return the next id."""
        return UUID(bytes=uuid_utils.uuid7().bytes)

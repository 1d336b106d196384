"""What all that is kept as evidence has in common: it is as it was, and shows it by a digest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.evidence.digests import digest_of
from service.core.records import Identifiers, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence(Record):
    """A record of how something was: ``content``, JSON-ready, and the digest of its bytes.

    ``key_id`` is the key that had it kept. What is kept once is never changed; what is said of it
    since stands in other fields.
    """

    content: dict[str, object]
    sha256: str
    key_id: UUID | None = None

    @property
    def is_as_kept(self) -> bool:
        """Return whether the content is what its digest was made of."""
        return digest_of(self.content) == self.sha256


def kept_as_evidence(
    content: Mapping[str, object], *, caller: Caller, now: datetime, identifiers: Identifiers
) -> dict[str, Any]:
    """Return the fields that new evidence has in common."""
    return {
        "id": identifiers.next_id(),
        "firm_id": caller.firm_id,
        "version": 1,
        "created_at": now,
        "updated_at": now,
        "content": content,
        "sha256": digest_of(content),
        "key_id": caller.key_id,
    }

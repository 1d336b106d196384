"""That a client was erased: who did it, when, at whose word and why; nothing of the person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from service.core.records import Record


class AskedBy(StrEnum):
    """At whose word."""

    CLIENT = "client"
    REPRESENTATIVE = "representative"
    AUTHORITY = "authority"
    FIRM = "firm"


class ClientState(StrEnum):
    """Whether a client is on record as a person."""

    KEPT = "kept"
    ERASED = "erased"


@dataclass(frozen=True, slots=True, kw_only=True)
class Erasure(Record):
    """That a client was erased. It is kept once and never changed.

    ``digests`` are those of the papers that named the client, by their ids, as they were until
    then: a copy that somebody has of one still shows that it is what was kept.
    """

    client_id: UUID
    erased_at: datetime
    asked_by: AskedBy
    reason: str
    key_id: UUID | None = None
    digests: dict[str, str]

"""Issued delivery notes and what was answered to them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from service.core.records import Record


class Receipt(StrEnum):
    """How the material was received; a signature proves arrival, not quality."""

    CHECKED = "received_and_checked"
    UNCHECKED = "received_unchecked"
    PART = "part_accepted"
    REFUSED = "refused"
    ABSENT = "nobody_present"


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledgement:
    """What the client answered, and when.

    ``accepted`` and ``remark`` are in the client's own words.
    """

    receipt: Receipt
    name: str | None = None
    reason: str | None = None
    accepted: str | None = None
    remark: str | None = None
    accepted_share: float | None = None
    device_time: datetime | None = None
    received_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryNote(Record):
    """An issued note: its facts never change; a correction is a new version of the number.

    ``content`` is the composed, language-free note, JSON-ready; ``sha256`` is of its
    canonical bytes. Only the acknowledgement is added later, and when its link ended; ``answer`` is
    the word of the acknowledgement, kept beside it to be found by, and never otherwise.
    """

    number: str
    note_version: int
    replaces_id: UUID | None = None
    load_id: UUID
    client_id: UUID
    language: str
    issued_at: datetime
    content: dict[str, object]
    sha256: str
    acknowledgement: Acknowledgement | None = None
    answer: Receipt | None = None
    link_ended_at: datetime | None = None

    def __post_init__(self) -> None:
        """Let the word be that of the acknowledgement, whoever makes or reads the note."""
        said = self.acknowledgement
        object.__setattr__(self, "answer", None if said is None else said.receipt)

"""What is kept for a time only: answers for idempotency keys, and what was only meant."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Protocol
from uuid import UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptAnswer:
    """The first answer to an idempotency key; ``status`` is None while it is being made.

    ``seed_id`` is where the ids of the first try came from, so that a retry after a
    crash makes the same records and not a second set.
    """

    firm_id: UUID
    key: str
    request_sha256: str
    seed_id: UUID
    started_at: datetime
    status: int | None = None
    headers: dict[str, str] | None = None
    body: bytes | None = None


class AnswerRepository(Protocol):
    """Answers kept for idempotency keys."""

    def get(self, firm_id: UUID, key: str) -> KeptAnswer | None:
        """Return what is kept for the key."""
        ...

    def unfinished(self, firm_id: UUID, keys_begin: str) -> list[KeptAnswer]:
        """Return the unfinished answers whose keys begin with some words, by key."""
        ...

    def begin(self, answer: KeptAnswer) -> bool:
        """Keep an unfinished answer; False if the key is taken (also by a rival just now)."""
        ...

    def restart(self, answer: KeptAnswer, *, started_at: datetime) -> bool:
        """Take over an unfinished answer; False if somebody else just did."""
        ...

    def finish(
        self, firm_id: UUID, key: str, *, status: int, headers: Mapping[str, str], body: bytes
    ) -> None:
        """Keep the answer."""
        ...

    def forget_before(self, moment: datetime) -> None:
        """Drop every firm's answers to requests that began before then."""
        ...

    def forget(self, firm_id: UUID, key: str) -> None:
        """Drop an unfinished answer whose request was refused before it had any effect."""
        ...


class Forgetting(Protocol):
    """What was only meant, and goes after its time: of one firm, some at once."""

    def superseded_loads(self, firm_id: UUID, before: date, *, most: int) -> int:
        """Drop superseded loads of days before then; return how many.

        Those stay that a note, a ticket, the mass book, a hold entry, a recall or the history of
        changes refers to, that were locked, or seen at a gate.
        """
        ...

    def what_plans_said(self, firm_id: UUID, before: date, *, most: int) -> int:
        """Drop what superseded plans of days before then said, not their figures; return how many.

        The newest plan of a day stays whole.
        """
        ...

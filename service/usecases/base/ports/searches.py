"""Searches on record, and whose turn it is: a port of its own, as days that wait have one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Protocol
from uuid import UUID

from service.core.searches import Search, SearchState


class SearchRepository(Protocol):
    """The searches asked for. A change is one statement that says what it found there."""

    def add(self, search: Search) -> None:
        """Keep a search, unless one with its id is kept already."""
        ...

    def get(self, firm_id: UUID, search_id: UUID) -> Search | None:
        """Return a firm's search, or None."""
        ...

    def under_way(self, firm_id: UUID) -> int:
        """Return how many of a firm's searches are queued or running."""
        ...

    def free(self, now: datetime) -> Sequence[Search]:
        """Return the searches of all firms that nobody is at, whoever was at them; unsorted."""
        ...

    def served(self) -> Mapping[UUID, datetime]:
        """Return when a search of each firm was taken last, of those that are kept."""
        ...

    def looked_at(self, search: Search, now: datetime) -> None:
        """Keep that somebody waits for a search."""
        ...

    def take(self, search: Search, *, holder: UUID, now: datetime, until: datetime) -> bool:
        """Have a free search to oneself for a time; False if somebody else just took it."""
        ...

    def keep_on(self, search: Search, *, holder: UUID, until: datetime) -> bool:
        """Have one's own search for longer; False if it is one's own no more."""
        ...

    def end(
        self,
        search: Search,
        *,
        holder: UUID | None,
        state: SearchState,
        now: datetime,
        answer: Mapping[str, Any] | None = None,
    ) -> bool:
        """End a search that is under way: as its holder, or (None) whoever is at it."""
        ...

    def left_alone(self, before: datetime) -> Sequence[Search]:
        """Return the searches of all firms under way that nobody looked at since then."""
        ...

    def forget_ended(self, before: datetime) -> None:
        """Drop every firm's searches that ended before then."""
        ...

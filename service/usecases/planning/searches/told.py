"""How a search is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any
from uuid import UUID

from service.core.searches import ANSWER_LASTS, LEFT_ALONE, SearchKind, SearchState
from service.usecases.planning.searches.keep import SearchSeen
from service.usecases.telling.told.forms import Bounds


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchTold:
    """What is searched for, and how far it is."""

    id: UUID
    kind: SearchKind
    state: SearchState
    asked_at: datetime
    ahead: Annotated[
        int | None, Bounds(0), "Searches of all firms before it in the queue; null: it waits not."
    ]
    cancelled_after: Annotated[
        datetime | None, "While it is queued or running: unless somebody looks till then."
    ]
    ended_at: datetime | None
    kept_until: datetime | None
    answer: Mapping[str, Any] | None
    problem: Mapping[str, Any] | None
    cancelled_because: str | None


def told_search(seen: SearchSeen) -> SearchTold:
    """Return a search as it is told."""
    search = seen.search
    said = search.answer if search.ended_at else None
    cancelled = search.state is SearchState.CANCELLED
    return SearchTold(
        id=search.id,
        kind=search.kind,
        state=search.state,
        asked_at=search.asked_at,
        ahead=seen.ahead,
        cancelled_after=search.looked_at + LEFT_ALONE if search.is_under_way else None,
        ended_at=search.ended_at,
        kept_until=None if search.ended_at is None else search.ended_at + ANSWER_LASTS,
        answer=said if search.state is SearchState.DONE else None,
        problem=said if search.state is SearchState.FAILED else None,
        cancelled_because=str(said["detail"]) if cancelled and said else None,
    )

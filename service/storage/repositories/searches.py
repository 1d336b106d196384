"""Searches on record: a change is one compare-and-set statement, so that late comers are fenced."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, and_, delete, func, or_, select, update

from service.core.searches import UNDER_WAY, Search, SearchState
from service.storage.mapping import RecordMapping
from service.storage.repositories.connected import Connected
from service.storage.tables.work import SearchRow

SEARCHES = RecordMapping(Search, SearchRow, "search")
_UNDER_WAY = tuple(state.value for state in sorted(UNDER_WAY))


class TableSearches(Connected):
    """Searches of all firms: the planner works for everybody."""

    def add(self, search: Search) -> None:
        """Keep a search, unless one with its id is kept already."""
        self._connection.execute(
            SEARCHES.insert[self._connection.dialect.name], SEARCHES.to_row(search)
        )

    def get(self, firm_id: UUID, search_id: UUID) -> Search | None:
        """Return a firm's search, or None."""
        row = SearchRow
        found = self._all(row.firm_id == firm_id, row.id == search_id)
        return found[0] if found else None

    def under_way(self, firm_id: UUID) -> int:
        """Return how many of a firm's searches are queued or running."""
        row = SearchRow
        counted = select(func.count()).where(row.firm_id == firm_id, row.state.in_(_UNDER_WAY))
        return int(self._connection.execute(counted).scalar_one())

    def free(self, now: datetime) -> Sequence[Search]:
        """Return the searches of all firms that nobody is at, whoever was at them; unsorted."""
        row = SearchRow
        left = and_(row.state == SearchState.RUNNING.value, row.until < now)
        return self._all(or_(row.state == SearchState.QUEUED.value, left))

    def served(self) -> Mapping[UUID, datetime]:
        """Return when a search of each firm was taken last, of those that are kept."""
        row = SearchRow
        asked = select(row.firm_id, func.max(row.taken_at)).where(row.taken_at.is_not(None))
        found = self._connection.execute(asked.group_by(row.firm_id)).all()
        return {firm_id: at for firm_id, at in found if at is not None}

    def looked_at(self, search: Search, now: datetime) -> None:
        """Keep that somebody waits for a search."""
        self._connection.execute(update(SEARCHES.table).where(*_the(search)).values(looked_at=now))

    def take(self, search: Search, *, holder: UUID, now: datetime, until: datetime) -> bool:
        """Have a free search to oneself for a time; False if somebody else just took it."""
        row = SearchRow
        seen = row.holder.is_(None) if search.holder is None else row.holder == search.holder
        taken = update(SEARCHES.table).where(*_the(search), row.state == search.state.value, seen)
        values = {"holder": holder, "until": until, "taken_at": now, "tries": row.tries + 1}
        return self._is_done(taken.values(state=SearchState.RUNNING.value, **values))

    def keep_on(self, search: Search, *, holder: UUID, until: datetime) -> bool:
        """Have one's own search for longer; False if it is one's own no more."""
        mine = update(SEARCHES.table).where(*_the(search), *_held(holder))
        return self._is_done(mine.values(until=until))

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
        its = (SearchRow.state.in_(_UNDER_WAY),) if holder is None else _held(holder)
        ended = update(SEARCHES.table).where(*_the(search), *its)
        values = {"state": state.value, "ended_at": now, "answer": answer}
        return self._is_done(ended.values(holder=None, until=None, **values))

    def left_alone(self, before: datetime) -> Sequence[Search]:
        """Return the searches of all firms under way that nobody looked at since then."""
        row = SearchRow
        return self._all(row.state.in_(_UNDER_WAY), row.looked_at < before)

    def forget_ended(self, before: datetime) -> None:
        """Drop every firm's searches that ended before then."""
        self._connection.execute(delete(SEARCHES.table).where(SearchRow.ended_at < before))

    def _all(self, *conditions: ColumnElement[bool]) -> list[Search]:
        found = self._connection.execute(SEARCHES.selected.where(*conditions))
        return [SEARCHES.from_row(one) for one in found]

    def _is_done(self, change: Any) -> bool:  # noqa: ANN401 - an update with its values
        return bool(self._connection.execute(change).rowcount == 1)


def _the(search: Search) -> tuple[ColumnElement[bool], ...]:
    return (SearchRow.firm_id == search.firm_id, SearchRow.id == search.id)


def _held(holder: UUID) -> tuple[ColumnElement[bool], ...]:
    return (SearchRow.state == SearchState.RUNNING.value, SearchRow.holder == holder)

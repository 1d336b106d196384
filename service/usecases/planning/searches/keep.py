"""Ask for a search, look how far it is, and cancel it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import RecordMissing
from service.core.records import Identifiers
from service.core.searches import (
    LEFT_ALONE,
    MOST_QUEUED,
    Search,
    SearchKind,
    SearchState,
    TooManySearches,
)
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.base.use_cases import Changing
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.planning.searches.turns import in_turn

# Who looks every second need not be written down each time.
LOOK_KEPT_EVERY: Final = LEFT_ALONE / 4
BY_CALLER: Final = "A caller cancelled it."


@dataclass(frozen=True, slots=True, kw_only=True)
class SearchSeen:
    """A search, and how many of all firms are taken before it: None if it does not wait."""

    search: Search
    ahead: int | None


@dataclass(frozen=True, kw_only=True, eq=False)
class KeepSearches(Changing):
    """What a firm asked for. ``is_searched`` says whether anybody searches behind at all."""

    open_reading: OpenUnitOfWork
    is_searched: bool

    def ask(
        self,
        caller: Caller,
        kind: SearchKind,
        wanted: Mapping[str, Any],
        *,
        identifiers: Identifiers | None = None,
    ) -> SearchSeen:
        """Keep that something is to be searched for.

        Raises
        ------
        TooManySearches
        """
        now = self.clock.now()
        search = Search(
            firm_id=caller.firm_id,
            id=(identifiers or self.identifiers).next_id(),
            kind=kind,
            key_id=caller.key_id,
            role=caller.role,
            wanted=dict(wanted),
            asked_at=now,
            looked_at=now,
        )
        with self.open_unit_of_work() as unit:
            # Two that ask at once may be one more than that; nobody is harmed by it.
            if unit.searches.under_way(caller.firm_id) >= MOST_QUEUED:
                raise TooManySearches(most=MOST_QUEUED)
            unit.searches.add(search)
            unit.commit()
        return self.look(caller, search.id)

    def look(self, caller: Caller, search_id: UUID) -> SearchSeen:
        """Return a search; whoever looks waits for it.

        Raises
        ------
        RecordMissing
        """
        with self.open_reading() as unit:
            search = unit.searches.get(caller.firm_id, search_id)
        if search is None:
            raise RecordMissing(record="search", id=search_id)
        now = self.clock.now()
        if search.is_under_way and now - search.looked_at >= LOOK_KEPT_EVERY:
            with self.open_unit_of_work() as unit:
                unit.searches.looked_at(search, now)
                unit.commit()
        waits = search.state is SearchState.QUEUED
        return SearchSeen(search=search, ahead=self._ahead(search) if waits else None)

    def cancel(self, caller: Caller, search_id: UUID) -> SearchSeen:
        """End a search that is under way; one that has ended stays as it is.

        Raises
        ------
        RecordMissing
        """
        seen = self.look(caller, search_id)
        if not seen.search.is_under_way:
            return seen
        with self.open_unit_of_work() as unit:
            unit.searches.end(
                seen.search,
                holder=None,
                state=SearchState.CANCELLED,
                now=self.clock.now(),
                answer={"detail": BY_CALLER},
            )
            unit.commit()
        return self.look(caller, search_id)

    def _ahead(self, search: Search) -> int:
        with working_for(EveryFirm.QUEUE), self.open_reading() as unit:
            waiting, served = unit.searches.free(self.clock.now()), unit.searches.served()
        order = [one.id for one in in_turn(waiting, served)]
        return order.index(search.id) if search.id in order else 0

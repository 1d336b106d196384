"""Search behind for whoever asked, one search after the other, each firm in its turn."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.searches import (
    ANSWER_LASTS,
    LEFT_ALONE,
    MOST_TRIES,
    Search,
    SearchKind,
    SearchState,
)
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.base.use_cases import Changing
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.planning.dependencies import while_wanted
from service.usecases.planning.searches.turns import in_turn

# As long a search is left to a planner that says nothing more. While it searches it says every now
# and then that it is there; longest it is silent while a day is read and explained.
LEASE: Final = timedelta(seconds=60)
SAID_EVERY: Final = timedelta(seconds=1)
LEFT: Final = "Nobody looked at it for {minutes:.0f} minutes."
BROKE: Final = "It could not be searched: a fault of the service, which is in its log."


class NotWanted(Exception):
    """A search was cancelled, or another planner is at it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What became of a search: an answer, or what stands against one."""

    answer: Mapping[str, Any]
    failed: bool = False


Run = Callable[[Caller, Mapping[str, Any]], Found]


@dataclass(frozen=True, kw_only=True, eq=False)
class SearchBehind(Changing):
    """Searches; several of these share the work, and one that was killed is followed by another.

    Attributes
    ----------
    runs
        How a request of each kind is answered.
    """

    open_reading: OpenUnitOfWork
    runs: Mapping[SearchKind, Run]

    def search_next(self) -> bool:
        """Search for whoever's turn it is; False if nobody waits."""
        holder = self.identifiers.next_id()
        with working_for(EveryFirm.PLANNER):
            search = self._taken(holder)
        if search is None:
            return False
        with working_for(search.firm_id):
            self._searched(search, holder)
        return True

    def tidy(self) -> None:
        """Cancel what nobody waits for any more, and drop answers whose time is over."""
        now = self.clock.now()
        with working_for(EveryFirm.TIDY):
            with self.open_reading() as unit:
                left = unit.searches.left_alone(now - LEFT_ALONE)
            with self.open_unit_of_work() as unit:
                for search in left:
                    detail = LEFT.format(minutes=LEFT_ALONE / timedelta(minutes=1))
                    unit.searches.end(
                        search,
                        holder=None,
                        state=SearchState.CANCELLED,
                        now=now,
                        answer={"detail": detail},
                    )
                unit.searches.forget_ended(now - ANSWER_LASTS)
                unit.commit()

    def _taken(self, holder: UUID) -> Search | None:
        now = self.clock.now()
        with self.open_reading() as unit:
            waiting = unit.searches.free(now)
            served = unit.searches.served() if waiting else {}
        for search in in_turn(waiting, served)[:1]:
            with self.open_unit_of_work() as unit:
                if not unit.searches.take(search, holder=holder, now=now, until=now + LEASE):
                    return None
                unit.commit()
            return search
        return None

    def _searched(self, search: Search, holder: UUID) -> None:
        if search.tries >= MOST_TRIES:
            found = Found(answer={"detail": BROKE}, failed=True)
        else:
            try:
                with while_wanted(_Wanted(self, search, holder)):
                    found = self.runs[search.kind](search.caller, search.wanted)
            except NotWanted:
                return
            except Exception:
                logging.getLogger("service.usecases").exception("search failed: %s", search.kind)
                found = Found(answer={"detail": BROKE}, failed=True)
        with self.open_unit_of_work() as unit:
            unit.searches.end(
                search,
                holder=holder,
                state=SearchState.FAILED if found.failed else SearchState.DONE,
                now=self.clock.now(),
                answer=found.answer,
            )
            unit.commit()


class _Wanted:
    """Asks whether a search is still wanted, and says that somebody is at it; not too often."""

    def __init__(self, behind: SearchBehind, search: Search, holder: UUID) -> None:
        self._behind, self._search, self._holder = behind, search, holder
        self._said_at: datetime | None = None

    def __call__(self) -> None:
        """Raise NotWanted if nobody waits, or another is at it."""
        now = self._behind.clock.now()
        if self._said_at is not None and now - self._said_at < SAID_EVERY:
            return
        self._said_at = now
        search = self._search
        with self._behind.open_unit_of_work() as unit:
            if not unit.searches.keep_on(search, holder=self._holder, until=now + LEASE):
                raise NotWanted
            unit.commit()

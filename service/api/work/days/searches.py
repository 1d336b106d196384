"""Searches on record: what the planner takes seconds for, asked for now and fetched later."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from http import HTTPStatus
from threading import BoundedSemaphore
from time import monotonic, sleep
from typing import Any, Final
from uuid import UUID

from flask import Response, jsonify, request

from service.api.exchange.bodies import read_json
from service.api.exchange.door import Asked, Door
from service.api.exchange.preferences import preferred_wait_s, prefers_later
from service.api.exchange.routes import Routes
from service.api.failures.problems import PROBLEM_JSON
from service.api.work.derived import shape_of
from service.api.work.shapes import MEMBERS, maybe
from service.core.callers.access import Act
from service.core.searches import ANSWER_LASTS, LEFT_ALONE, SearchKind, SearchState
from service.usecases.planning.searches.keep import KeepSearches, SearchSeen
from service.usecases.planning.searches.told import SearchTold, told_search
from service.usecases.telling.told.forms import plain

LOOK_EVERY_S: Final = 0.25
# Each who waits holds a thread of the server; the others must get on with theirs. Common practice.
MOST_WAITING: Final = 2
# How long to wait before looking again: a search takes a second or two where the day is small.
LOOK_AGAIN_S: Final = 2
LONGEST_LOOK_AGAIN_S: Final = 20

PREFER: Final = {
    "in": "header",
    "name": "Prefer",
    "description": (
        "RFC 7240. `respond-async`: answer 202 at once, with the place where the answer will be. "
        "`wait=10`: wait so many seconds (20 at most) for the answer, then 202. Without either the "
        "answer is waited for. Not applied where no planner runs behind."
    ),
    "schema": {"type": "string"},
    "example": "respond-async",
}
RETRY_AFTER: Final = {
    "Retry-After": {
        "description": "When to look again [s], while it is queued or running.",
        "schema": {"type": "integer"},
    }
}
ACCEPTED: Final = {
    **RETRY_AFTER,
    "Location": {
        "description": "Where the search is.",
        "schema": {"type": "string", "format": "uri-reference"},
    },
    "Preference-Applied": {
        "description": "Which preference was followed.",
        "schema": {"type": "string"},
    },
}
SEARCH: Final = shape_of(
    SearchTold,
    of_members={
        "answer": {
            **maybe(MEMBERS),
            "description": (
                "Done: what the request would have answered; of a `day_plan` as a list shows it, "
                "the whole plan is at `/day-plans/{id}`."
            ),
        },
        "problem": {**maybe(MEMBERS), "description": "Failed: the problem details (RFC 9457)."},
    },
)


@dataclass(frozen=True, kw_only=True)
class Later:
    """Answers a request that takes long: while its caller waits, or by a search on record."""

    keep_searches: KeepSearches
    waiting: BoundedSemaphore

    @classmethod
    def over(cls, keep_searches: KeepSearches) -> Later:
        """Return it over the searches that are kept."""
        return cls(keep_searches=keep_searches, waiting=BoundedSemaphore(MOST_WAITING))

    def answered(
        self,
        asked: Asked,
        kind: SearchKind,
        now: Callable[[], Any],
        *,
        refuse_first: Callable[[], None] = lambda: None,
        as_found: Callable[[Mapping[str, Any]], Any] = lambda answer: answer,
    ) -> Any:
        """Return the answer, or 202 where the caller would rather not wait, or not so long.

        Parameters
        ----------
        now
            Works it out while the caller waits.
        refuse_first
            Raises what stands against the request and can be told without searching.
        as_found
            What the caller is answered of what a search found.
        """
        wait_s = preferred_wait_s()
        leaves = prefers_later()
        if not self.keep_searches.is_searched or not (leaves or wait_s):
            return now()
        refuse_first()
        sent = read_json(request)
        seen = self.keep_searches.ask(asked.caller, kind, sent, identifiers=asked.identifiers)
        seen = self._waited_for(asked, seen, wait_s or 0.0)
        if seen.search.state is SearchState.DONE and seen.search.answer is not None:
            return as_found(seen.search.answer)
        if seen.search.state is SearchState.FAILED and "status" in (seen.search.answer or {}):
            return _problem(seen.search.answer or {})
        applied = [
            *(["respond-async"] if leaves else []),
            *([f"wait={wait_s:.0f}"] if wait_s else []),
        ]
        response = _told(seen)
        response.status_code = HTTPStatus.ACCEPTED
        response.headers["Location"] = f"/searches/{seen.search.id}"
        response.headers["Preference-Applied"] = ", ".join(applied)
        return response

    def _waited_for(self, asked: Asked, seen: SearchSeen, wait_s: float) -> SearchSeen:
        until = monotonic() + wait_s
        if monotonic() >= until or not self.waiting.acquire(blocking=False):
            return seen
        try:
            while seen.search.is_under_way and monotonic() < until:
                sleep(LOOK_EVERY_S)
                seen = self.keep_searches.look(asked.caller, seen.search.id)
            return seen
        finally:
            self.waiting.release()


def search_routes(keep_searches: KeepSearches, door: Door) -> Routes:
    """Return the routes of /searches."""
    routes = Routes(
        "searches",
        description=(
            "What-ifs, order proposals and day plans that were asked for with "
            "`Prefer: respond-async`. Each firm has its turn, one search after the other. Look "
            f"at least every {LEFT_ALONE.total_seconds() / 60:.0f} minutes: a search that nobody "
            "looks at is cancelled. An answer is kept for "
            f"{ANSWER_LASTS.total_seconds() / 3600:.0f} hour."
        ),
    )

    @routes.operation(
        "GET",
        "/searches/<uuid:record_id>",
        name="read_search",
        summary="Read how far a search is, and its answer when there is one.",
    )
    @door.admits(Act.READ)
    @routes.response(200, SEARCH, headers=RETRY_AFTER)
    def read_search(asked: Asked, record_id: UUID) -> Response:
        return _told(keep_searches.look(asked.caller, record_id))

    @routes.operation(
        "DELETE",
        "/searches/<uuid:record_id>",
        name="cancel_search",
        summary="Cancel a search; one that has ended stays as it is.",
        versioned=False,
    )
    @door.admits(Act.PLAN)
    @routes.response(200, SEARCH)
    def cancel_search(asked: Asked, record_id: UUID) -> Response:
        return _told(keep_searches.cancel(asked.caller, record_id))

    return routes


def _told(seen: SearchSeen) -> Response:
    response = jsonify(plain(told_search(seen)))
    if seen.search.is_under_way:
        again_s = LOOK_AGAIN_S * (1 + (seen.ahead or 0))
        response.headers["Retry-After"] = str(min(again_s, LONGEST_LOOK_AGAIN_S))
    return response


def _problem(problem: Mapping[str, Any]) -> Response:
    response = jsonify(problem)
    response.status_code, response.mimetype = problem["status"], PROBLEM_JSON
    return response

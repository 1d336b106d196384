"""A stream of a day that says when something moved, and holds nobody's thread: it ends at once."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final

from flask import Response, json, request

from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.work.day_query import DAY_PARAMETER, RoutingQuery, of_day
from service.core.callers.access import Act
from service.usecases.day.today import TellToday
from service.usecases.telling.day_look import DayMark, LookAtDay

EVENTS: Final = "text/event-stream"
# What a screen asks, too: soon enough for people, and cheap. Common practice, no source.
RETRY_MS: Final = 5000
LAST_EVENT_ID: Final = {
    "in": "header",
    "name": "Last-Event-ID",
    "description": "The id of the last event that was heard; without it the day's state is told.",
    "schema": {"type": "string"},
}
ABOUT: Final = (
    "A stream of events (HTML Living Standard, 9.2) for who wants to hear when to look again. The "
    "answer tells what moved since `Last-Event-ID`, says in `retry` when to ask again [ms], and "
    "ends: it holds no thread. An EventSource asks again by itself; any other client sends the "
    "last id it saw. Where nothing moved it is 200 with a comment, as 204 would end an EventSource "
    "for good. So does whatever is not 200 (401, 429, 503): begin another after a while. The one "
    "of a browser sends no key; fetch does.\n\n"
    "The event `moved` has `day`, `depot_id`, `revision` (how many records the day has had), "
    "`planned_revision` and `plan_id` (what the newest plan covers; null without one) and "
    "`undecided` (cuts that may be on record twice). Its id changes with each of them. Listening "
    "plans nothing: read the routing to have a day planned. What the hour alone changes, such as "
    "grass that turns sour, is no record and no event.\n\n"
    "Which to use: `If-None-Match` at `/days/{day}/routing` or `/vehicles/{record_id}/today` to "
    "keep a plan that is shown fresh (304 while it is the same, and a day that is behind is "
    "planned by being read). `Prefer: wait=10` there for the plan of what was just said: it holds "
    "a thread, so few may wait at once. This stream for everything that only has to know whether "
    "something moved."
)


def stream_routes(look_at_day: LookAtDay, tell_today: TellToday, door: Door) -> Routes:
    """Return the route of what moved on a day."""
    routes = Routes("stream", description="When something moved on a depot's day.")

    @routes.operation(
        "GET",
        "/days/<day>/stream",
        name="read_stream",
        summary="Hear what moved on a depot's day since the last event.",
        description=ABOUT,
        in_path=[DAY_PARAMETER, LAST_EVENT_ID],
    )
    @door.admits(Act.READ, makes=(EVENTS,))
    @of_day
    @routes.query(RoutingQuery)
    @routes.response(200, {"type": "string"}, content_type=EVENTS)
    def read_stream(asked: Asked, query: Mapping[str, Any], day: date | str) -> Response:
        today = tell_today(asked.caller, query["depot_id"])  # refused for a depot that is not there
        depot_id, wanted = query["depot_id"], day if isinstance(day, date) else today
        mark = look_at_day.mark(asked.caller, depot_id, wanted)
        told = {"day": wanted.isoformat(), "depot_id": str(depot_id), **_told(mark)}
        event = f"id: {mark.text}\nevent: moved\ndata: {json.dumps(told)}\n\n"
        moved = request.headers.get("Last-Event-ID") != mark.text
        text = event if moved else ": nothing moved\n\n"
        response = Response(f"retry: {RETRY_MS}\n{text}", content_type=EVENTS)
        response.headers["Cache-Control"] = "no-store"
        return response

    return routes


def _told(mark: DayMark) -> dict[str, Any]:
    """Return how far a day is, as its event says it."""
    return {
        "revision": mark.revision,
        "planned_revision": None if mark.plan_id is None else mark.planned_revision,
        "plan_id": None if mark.plan_id is None else str(mark.plan_id),
        "undecided": mark.undecided,
    }

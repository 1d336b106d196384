"""The routing of a depot's day: read whole, as a map, or only if it is another."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Final
from uuid import UUID

from flask import Response, json, request

from service.api.exchange.bodies import JSON
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.languages import (
    ACCEPT_LANGUAGE,
    CONTENT_LANGUAGE,
    asked_language,
    worded,
)
from service.api.exchange.preferences import preferred_wait_s
from service.api.exchange.routes import Routes
from service.api.exchange.written_answers import Written, WrittenAnswers
from service.api.fields import Choice
from service.api.work.day_query import DAY_PARAMETER, RoutingQuery, depot_day, of_day
from service.api.work.days.plans import DAY_PLANS, plan_example
from service.api.work.days.routing_shape import ROUTING_MAP
from service.api.work.shapes import COUNT
from service.core.callers.access import Act, Caller
from service.core.plans import DayPlan
from service.usecases.day.today import TellToday
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.what_would_change import TellWhatWouldChange
from service.usecases.telling.routing.geojson import routing_map

GEOJSON: Final = "application/geo+json"

PREFER: Final = {
    "in": "header",
    "name": "Prefer",
    "description": (
        "`wait=10`: wait up to so many seconds (20 at most) for a plan that covers everything that "
        "happened. Without it the newest plan is answered at once, and what happened since is "
        "planned behind. `wait=0`: nor is that asked for. `Planned-Revision` says what the plan "
        "covers, `Day-Revision` what the day is at, `Being-Planned` whether another plan is on its "
        "way."
    ),
    "schema": {"type": "string"},
    "example": "wait=10",
}
DAY_REVISION: Final = "Day-Revision"
PLANNED_REVISION: Final = "Planned-Revision"
BEING_PLANNED: Final = "Being-Planned"
ROUTING_HEADERS: Final = {
    "ETag": {"description": "Of this plan in this form.", "schema": {"type": "string"}},
    DAY_REVISION: {"description": "How many events the day has had.", "schema": COUNT},
    PLANNED_REVISION: {"description": "How many of them the plan covers.", "schema": COUNT},
    BEING_PLANNED: {
        "description": "Whether a plan that covers more is being made.",
        "schema": {"enum": ["true", "false"]},
    },
    "Preference-Applied": {
        "description": "The preference for waiting, if there was one.",
        "schema": {"type": "string"},
    },
}
TOLD_HEADERS: Final = {**ROUTING_HEADERS, **CONTENT_LANGUAGE}


class RoutingReadQuery(RoutingQuery):
    """Whose day, and whether to say what would change it."""

    what_would_change = Choice(
        ("true", "false"),
        load_default="false",
        metadata={
            "description": (
                "Fill in `what_would_change` of every drop still to come and of what has no place: "
                "worked out when it is asked for, which takes about three times as long as to "
                "answer an event."
            )
        },
    )


def routing_routes(
    read_routing: ReadRouting, tell_today: TellToday, tell_changes: TellWhatWouldChange, door: Door
) -> Routes:
    """Return the routes of a day's routing."""
    routes = Routes(
        "routing",
        description=(
            "The routing of a depot's day; planned again if something happened. That is "
            "answered for the vehicles it concerns: they are named in `planning`, the others keep "
            "their loads, and nothing is proven of such an answer. Where that would not do, or the "
            "day has few vehicles, the whole day is searched."
        ),
    )
    answers = DAY_PLANS.answer()
    written_before = door.written

    def map_of(asked: Asked, query: Mapping[str, Any], day: date | str) -> Response:
        wanted = depot_day(tell_today, asked, query, day)
        return _answered(
            read_routing, asked.caller, wanted, form="map", written=as_map, answers=written_before
        )

    @routes.operation(
        "GET",
        "/days/<day>/routing",
        name="read_routing",
        summary="Read the routing of a depot's day, as JSON or GeoJSON; the day may be today.",
        may_answer=(202, 409),
        in_path=[DAY_PARAMETER, PREFER, ACCEPT_LANGUAGE],
    )
    @door.admits(Act.READ, makes=(JSON, GEOJSON))
    @of_day
    @routes.query(RoutingReadQuery)
    @routes.response(200, answers, example=Example(plan_example), headers=TOLD_HEADERS)
    @routes.alt_response(200, schema=ROUTING_MAP, content_type=GEOJSON, success=True)
    def read_day(asked: Asked, query: Mapping[str, Any], day: date | str) -> Response:
        if request.accept_mimetypes.best_match((JSON, GEOJSON)) == GEOJSON:
            return map_of(asked, query, day)
        changes = query["what_would_change"] == "true"

        def as_json(plan: DayPlan) -> Response:
            told = tell_changes.of_day(asked.caller, plan) if changes else plan
            return worded(answers.dump(told))

        form = f"{'changes' if changes else 'json'}-{asked_language()}"
        wanted = depot_day(tell_today, asked, query, day)
        # What would change is worked out anew for whoever asks: it holds for what is known now.
        return _answered(
            read_routing,
            asked.caller,
            wanted,
            form=form,
            written=as_json,
            answers=None if changes else written_before,
        )

    @routes.operation(
        "GET",
        "/days/<day>/routing.geojson",
        name="read_routing_map",
        summary="Read the routing of a depot's day as GeoJSON.",
        may_answer=(202, 409),
        in_path=[DAY_PARAMETER, PREFER],
    )
    @door.admits(Act.READ, makes=(GEOJSON, JSON))
    @of_day
    @routes.query(RoutingQuery)
    @routes.response(200, ROUTING_MAP, content_type=GEOJSON, headers=ROUTING_HEADERS)
    def read_map(asked: Asked, query: Mapping[str, Any], day: date | str) -> Response:
        return map_of(asked, query, day)

    return routes


def as_map(plan: DayPlan) -> Response:
    """Return a plan's routing as GeoJSON."""
    return Response(json.dumps(routing_map(plan)), mimetype=GEOJSON)


def _answered(
    read_routing: ReadRouting,
    caller: Caller,
    day: tuple[UUID, date],
    *,
    form: str,
    written: Callable[[DayPlan], Response],
    answers: WrittenAnswers | None,
) -> Response:
    """Return a day's routing in one form; no more is read than the caller has not got already.

    Parameters
    ----------
    day
        The depot's id and the date.
    answers
        What was written of plans before: a plan never changes, so its words are written once.
    """
    wait_s = preferred_wait_s()
    applied = {} if wait_s is None else {"Preference-Applied": f"wait={wait_s:.0f}"}
    if wait_s != 0:
        # Most who ask again have what there is; then nothing is read but that.
        kept = read_routing.unchanged(caller, *day)
        tag = None if kept is None else _tag(kept.plan_id, form)
        was_written = None if answers is None or tag is None else answers.get(tag)
        has_it = tag is not None and request.if_none_match.contains_weak(tag)
        if kept is not None and (has_it or was_written is not None):
            response = Response() if has_it or was_written is None else was_written.sent()
            marks = _marks(kept.planned_revision, kept.revision, being_planned=False)
            response.headers.update(marks | applied)
            return _tagged(response, kept.plan_id, form)
    if wait_s == 0:
        newest = read_routing.newest(caller, *day)
    else:
        newest = read_routing.read(caller, *day, wait_s=wait_s or 0.0)
    response = written(newest.plan)
    if answers is not None:
        fresh = Written.of(response)
        answers.keep(_tag(newest.plan.id, form), fresh)
        response = fresh.sent()
    marks = _marks(newest.plan.revision, newest.day_revision, being_planned=newest.being_planned)
    response.headers.update(marks | applied)
    return _tagged(response, newest.plan.id, form)


def _marks(planned_revision: int, day_revision: int, *, being_planned: bool) -> dict[str, str]:
    """Return how far a plan is behind its day, for those who got it before, too."""
    return {
        PLANNED_REVISION: str(planned_revision),
        DAY_REVISION: str(day_revision),
        BEING_PLANNED: "true" if being_planned else "false",
    }


def _tag(plan_id: UUID | None, form: str) -> str:
    return f"{plan_id}-{form}"


def _tagged(response: Response, plan_id: UUID | None, form: str) -> Response:
    """Let a caller ask again cheaply: a plan never changes, the newest one does."""
    response.set_etag(_tag(plan_id, form), weak=True)
    response.vary.update(("Accept", "Accept-Language", "Prefer"))
    response.make_conditional(request)
    return response

"""The routing of a depot's day: read whole, as a map, or only if it is another."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Final
from uuid import UUID

from flask import Response, json, request
from marshmallow import ValidationError
from werkzeug.http import parse_dict_header

from service.api.exchange.bodies import JSON
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.languages import (
    ACCEPT_LANGUAGE,
    CONTENT_LANGUAGE,
    asked_language,
    worded,
)
from service.api.exchange.routes import Routes
from service.api.failures.faults import LocatedFault, Place
from service.api.failures.refusals import RequestNotUsable
from service.api.fields import Choice, Day
from service.api.work.day_query import RoutingQuery
from service.api.work.days.plans import DAY_PLANS, plan_example
from service.api.work.days.routing_shape import ROUTING_MAP
from service.core.callers.access import Act, Caller
from service.core.plans import DayPlan
from service.usecases.day.today import TellToday
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.what_would_change import TellWhatWouldChange
from service.usecases.telling.geojson import routing_map

GEOJSON: Final = "application/geo+json"
TODAY: Final = "today"
DAY_PARAMETER: Final = {
    "in": "path",
    "name": "day",
    "required": True,
    "description": "A date of the depot's calendar, or today.",
    "schema": {"anyOf": [{"type": "string", "format": "date"}, {"const": TODAY}]},
    "example": "2026-05-24",
}


# RFC 7240, 4.3: how long the caller would wait. Only "not at all" makes a difference here: what
# happened since is answered in a tenth of a second, or planned for as long as it takes.
PREFER: Final = {
    "in": "header",
    "name": "Prefer",
    "description": (
        "`wait=0`: the newest plan as it is kept, at once, whatever happened since. `Day-Revision` "
        "of the answer says what the day is at; `revision` is what the plan covers. Nothing is "
        "planned; read without it to have that done."
    ),
    "schema": {"type": "string"},
}
DAY_REVISION: Final = "Day-Revision"
ROUTING_HEADERS: Final = {
    "ETag": {"description": "Of this plan in this form.", "schema": {"type": "string"}},
    DAY_REVISION: {
        "description": "With `Prefer: wait=0`: how many events the day has had.",
        "schema": {"type": "integer", "minimum": 0},
    },
    "Preference-Applied": {
        "description": "`wait=0`, if that was preferred.",
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
            "The routing of a depot's day; planned again first if something happened. That is "
            "answered for the vehicles it concerns: they are named in `planning`, the others keep "
            "their loads, and nothing is proven of such an answer. Where that would not do, or the "
            "day has few vehicles, the whole day is searched."
        ),
    )
    answers = DAY_PLANS.answer()

    def which(asked: Asked, day: str, query: Mapping[str, Any]) -> tuple[UUID, date]:
        depot_id: UUID = query["depot_id"]
        return depot_id, tell_today(asked.caller, depot_id) if day == TODAY else named_day(day)

    def map_of(asked: Asked, day: str, query: Mapping[str, Any]) -> Response:
        wanted = which(asked, day, query)
        return _answered(read_routing, asked.caller, wanted, form="map", written=as_map)

    @routes.operation(
        "GET",
        "/days/<day>/routing",
        name="read_routing",
        summary="Read the routing of a depot's day, as JSON or GeoJSON; the day may be today.",
        may_answer=(409,),
        in_path=[DAY_PARAMETER, PREFER, ACCEPT_LANGUAGE],
    )
    @door.admits(Act.READ, makes=(JSON, GEOJSON))
    @routes.query(RoutingReadQuery)
    @routes.response(200, answers, example=Example(plan_example), headers=TOLD_HEADERS)
    @routes.alt_response(200, schema=ROUTING_MAP, content_type=GEOJSON, success=True)
    def read_day(asked: Asked, query: Mapping[str, Any], day: str) -> Response:
        if request.accept_mimetypes.best_match((JSON, GEOJSON)) == GEOJSON:
            return map_of(asked, day, query)
        changes = query["what_would_change"] == "true"

        def as_json(plan: DayPlan) -> Response:
            told = tell_changes.of_day(asked.caller, plan) if changes else plan
            return worded(answers.dump(told))

        form = f"{'changes' if changes else 'json'}-{asked_language()}"
        wanted = which(asked, day, query)
        return _answered(read_routing, asked.caller, wanted, form=form, written=as_json)

    @routes.operation(
        "GET",
        "/days/<day>/routing.geojson",
        name="read_routing_map",
        summary="Read the routing of a depot's day as GeoJSON.",
        may_answer=(409,),
        in_path=[DAY_PARAMETER, PREFER],
    )
    @door.admits(Act.READ, makes=(GEOJSON, JSON))
    @routes.query(RoutingQuery)
    @routes.response(200, ROUTING_MAP, content_type=GEOJSON, headers=ROUTING_HEADERS)
    def read_map(asked: Asked, query: Mapping[str, Any], day: str) -> Response:
        return map_of(asked, day, query)

    return routes


def as_map(plan: DayPlan) -> Response:
    """Return a plan's routing as GeoJSON."""
    return Response(json.dumps(routing_map(plan)), mimetype=GEOJSON)


def at_once() -> bool:
    """Return whether the caller would rather have an old plan than wait (RFC 7240)."""
    preferred = parse_dict_header(", ".join(request.headers.getlist("Prefer")))
    return preferred.get("wait") == "0"


def named_day(text: str) -> Any:
    """Return the day an address names. Raises RequestNotUsable."""
    try:
        return Day().deserialize(text)
    except ValidationError as error:
        detail = f'{error.messages[0]} Or "{TODAY}".'
        raise RequestNotUsable(
            [LocatedFault(place=Place.QUERY, where="day", detail=detail, code="not_a_date")]
        ) from None


def _answered(
    read_routing: ReadRouting,
    caller: Caller,
    day: tuple[UUID, date],
    *,
    form: str,
    written: Callable[[DayPlan], Response],
) -> Response:
    """Return a day's routing in one form; no more is read than the caller has not got already.

    Parameters
    ----------
    day
        The depot's id and the date.
    """
    if at_once():
        newest = read_routing.newest(caller, *day)
        response = _tagged(written(newest.plan), newest.plan.id, form)
        response.headers[DAY_REVISION] = str(newest.day_revision)
        response.headers["Preference-Applied"] = "wait=0"
        return response
    if request.if_none_match:
        # Most who ask again have what there is; then nothing is read but that.
        plan_id = read_routing.unchanged_id(caller, *day)
        if plan_id is not None and request.if_none_match.contains(_tag(plan_id, form)):
            return _tagged(Response(), plan_id, form)
    plan = read_routing(caller, *day)
    return _tagged(written(plan), plan.id, form)


def _tag(plan_id: UUID, form: str) -> str:
    return f"{plan_id}-{form}"


def _tagged(response: Response, plan_id: UUID, form: str) -> Response:
    """Let a caller ask again cheaply: a plan never changes, the newest one does."""
    response.set_etag(_tag(plan_id, form))
    response.headers["Vary"] = "Accept, Accept-Language, Prefer"
    response.make_conditional(request)
    return response

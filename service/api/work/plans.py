"""Plans of days, the day's routing, and the question before the mower starts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from flask import Response, json, jsonify, request
from marshmallow import ValidationError

from service.api.contract.examples import (
    EXAMPLE_ID,
    EXAMPLE_TIME,
    OTHER_ID,
    record_members,
    written,
)
from service.api.contract.schemas import Answered, Described, RecordFields, answer_schema
from service.api.exchange.bodies import JSON
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.failures.faults import LocatedFault, Place
from service.api.failures.refusals import RequestNotUsable
from service.api.fields import Choice, Day, Flag, Identifier, Integer, Moment, Shaped, Text
from service.api.records.book_routes import add_listing, add_single
from service.api.records.kept import CREATED, created_answer
from service.api.records.resource import Resource
from service.api.work.routing_shape import ROUTING, ROUTING_MAP
from service.core.access import Act
from service.core.plans import DayPlan
from service.usecases.base.today import TellToday
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.store_plan import PlanDay
from service.usecases.planning.what_would_change import TellWhatWouldChange
from service.usecases.records.record_kinds import Papers
from service.usecases.telling.geojson import routing_map
from service.usecases.telling.overflow import PLACES

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


class NewDayPlan(Described):
    """Which day of which depot to plan."""

    depot_id = Identifier(required=True)
    day = Day(required=True)


class DayPlanFields(RecordFields):
    """A caller writes nothing in a plan."""

    record_type = DayPlan


class PlanFacts(Answered):
    """What is planned, and how good it is known to be."""

    depot_id = Identifier()
    day = Day()
    sequence = Integer(low=1, metadata={"description": "Counts the plans of the day."})
    revision = Integer(low=0, metadata={"description": "What had happened when it was made."})
    planned_at = Moment()
    rulebook_version = Text(longest=100)
    supersedes_id = Identifier(allow_none=True)
    cost_cents = Integer()
    bound_cents = Integer(
        metadata={"description": "If bound_proven: no plan of this day can cost less."}
    )
    bound_proven = Flag(
        metadata={"description": "False of a local answer, until the whole day is planned again."}
    )


class DayPlanSummaryFields(DayPlanFields):
    """A plan in a list, without its routing."""


class PlanRouting(Answered):
    """The plan itself."""

    routing = Shaped(ROUTING, component="Routing")
    record_versions = Shaped(
        {
            "type": "object",
            "additionalProperties": {"type": "integer", "minimum": 1},
            "description": (
                "The versions of the depot's, beds' and sites' records that it was made from, by "
                "their ids; null of plans kept before these were."
            ),
        },
        component="RecordVersions",
    )


class RoutingQuery(Described):
    """Whose day, when there are several depots."""

    depot_id = Identifier(required=True)


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


DAY_PLANS: Final = Resource(
    path="day-plans",
    one="day plan",
    many="day plans",
    about=(
        "Plans of a depot's day. Planning again never moves what is done; a later plan "
        "supersedes an earlier one and both are kept. A plan that is asked for here is searched "
        "for over the whole day, and its bound is proven if it can be."
    ),
    fields=DayPlanFields,
    answered=(PlanRouting, PlanFacts),
    filters={"depot_id": Identifier(), "day": Day()},
    summary=answer_schema(DayPlanSummaryFields, PlanFacts),
)


def plan_routes(papers: Papers, plan_day: PlanDay, door: Door) -> Routes:
    """Return the routes of /day-plans."""
    routes = Routes(DAY_PLANS.path, description=DAY_PLANS.about)
    answers, example = DAY_PLANS.answer(), plan_example()
    add_listing(routes, DAY_PLANS, papers.day_plans, door, example=example)
    add_single(routes, DAY_PLANS, papers.day_plans, door, example=example)

    @routes.operation(
        "POST",
        "/day-plans",
        name="create_day_plan",
        summary="Plan a depot's day, around what is done.",
        may_answer=(404,),
    )
    @door.admits(Act.PLAN)
    @routes.body(NewDayPlan, example={"depot_id": OTHER_ID, "day": "2026-05-24"})
    @routes.response(201, answers, example=example, headers=CREATED)
    def create_plan(asked: Asked, wanted: Mapping[str, Any]) -> Response:
        plan = plan_day(asked.caller, wanted["depot_id"], wanted["day"])
        return created_answer(answers, plan, path=DAY_PLANS.path)

    return routes


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

    def plan_of(asked: Asked, day: str, query: Mapping[str, Any]) -> DayPlan:
        depot_id: UUID = query["depot_id"]
        named = tell_today(asked.caller, depot_id) if day == TODAY else named_day(day)
        return read_routing(asked.caller, depot_id, named)

    @routes.operation(
        "GET",
        "/days/<day>/routing",
        name="read_routing",
        summary="Read the routing of a depot's day, as JSON or GeoJSON; the day may be today.",
        may_answer=(409,),
        in_path=[DAY_PARAMETER],
    )
    @door.admits(Act.READ, makes=(JSON, GEOJSON))
    @routes.query(RoutingReadQuery)
    @routes.response(200, answers, example=plan_example())
    @routes.alt_response(200, schema=ROUTING_MAP, content_type=GEOJSON, success=True)
    def read_day(asked: Asked, query: Mapping[str, Any], day: str) -> Response:
        plan = plan_of(asked, day, query)
        if request.accept_mimetypes.best_match((JSON, GEOJSON)) == GEOJSON:
            return map_answer(plan)
        if query["what_would_change"] == "true":
            told = tell_changes.of_day(asked.caller, plan)
            return _tagged(jsonify(answers.dump(told)), plan, "changes")
        return _tagged(jsonify(answers.dump(plan)), plan, "json")

    @routes.operation(
        "GET",
        "/days/<day>/routing.geojson",
        name="read_routing_map",
        summary="Read the routing of a depot's day as GeoJSON.",
        may_answer=(409,),
        in_path=[DAY_PARAMETER],
    )
    @door.admits(Act.READ, makes=(GEOJSON, JSON))
    @routes.query(RoutingQuery)
    @routes.response(200, ROUTING_MAP, content_type=GEOJSON)
    def read_map(asked: Asked, query: Mapping[str, Any], day: str) -> Response:
        return map_answer(plan_of(asked, day, query))

    return routes


def map_answer(plan: DayPlan) -> Response:
    """Return a plan's routing as GeoJSON."""
    response = Response(json.dumps(routing_map(plan)), mimetype=GEOJSON)
    return _tagged(response, plan, "map")


def plan_example() -> dict[str, Any]:
    """Return a plan of an empty day, as it is answered."""
    plan = DayPlan(
        **record_members(),
        depot_id=EXAMPLE_ID,
        day=EXAMPLE_TIME.date(),
        sequence=1,
        revision=3,
        planned_at=EXAMPLE_TIME,
        rulebook_version="2026-05-01",
        cost_cents=0,
        bound_cents=0,
        bound_proven=True,
        record_versions={str(EXAMPLE_ID): 1},
        routing={
            "vehicles": [],
            "lots": [],
            "destinations": [],
            "unplaced": [],
            "warnings": [],
            "overflow": {
                "vehicles": "The chance that what is aboard weighs more than the payload.",
                "destinations": "The chance that loads are more than the room left for them.",
                "lots": "Each lot may be anything its percentiles allow.",
                "correlation": 0.6,
                "warned_above": dict.fromkeys(PLACES, 0.05) | {"bed": 0.1},
                "sources": ["common-practice"],
            },
            "cost_cents": {"total": 0},
            "disposal_cents": 0,
            "planning": {
                "scope": "whole_day",
                "ended_by": "optimal",
                "note": "",
                "local_answers": 0,
                "vehicles": [],
            },
            "gap_permille": 0,
            "bound_scope": "the whole day",
            "distances": {"basis": "as the crow flies, times a detour", "sources": []},
        },
    )
    return written(DAY_PLANS.answer(), plan)


def named_day(text: str) -> Any:
    """Return the day an address names. Raises RequestNotUsable."""
    try:
        return Day().deserialize(text)
    except ValidationError as error:
        detail = f'{error.messages[0]} Or "{TODAY}".'
        raise RequestNotUsable(
            [LocatedFault(place=Place.QUERY, where="day", detail=detail, code="not_a_date")]
        ) from None


def _tagged(response: Response, plan: DayPlan, form: str) -> Response:
    """Let a caller ask again cheaply: a plan never changes, the newest one does."""
    response.set_etag(f"{plan.id}-{form}")
    response.headers["Vary"] = "Accept"
    response.make_conditional(request)
    return response

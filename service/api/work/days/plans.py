"""Plans of days."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from flask import Response

from service.api.contract.examples import (
    EXAMPLE_ID,
    EXAMPLE_TIME,
    OTHER_ID,
    record_members,
    written,
)
from service.api.contract.schemas import Answered, Described, RecordFields, answer_schema
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Day, Flag, Identifier, Integer, Moment, Shaped, Text
from service.api.records.book_routes import add_listing, add_single
from service.api.records.kept import CREATED, created_answer
from service.api.records.resource import Resource
from service.api.work.days.routing_shape import ROUTING
from service.api.work.days.searches import ACCEPTED, PREFER, SEARCH, Later
from service.core.callers.access import Act
from service.core.plans import DayPlan
from service.core.searches import SearchKind
from service.usecases.planning.store_plan import PlanDay
from service.usecases.records.record_kinds import Papers
from service.usecases.telling.routing.overflow import PLACES


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


DAY_PLANS: Final = Resource(
    path="day-plans",
    one="day plan",
    many="day plans",
    about=(
        "Plans of a depot's day. Planning again never moves what is done; a later plan "
        "supersedes an earlier one. What a superseded plan said is kept for 60 days after its day "
        "(410 `plan_forgotten` from then on), its figures for good. A plan that is asked for here "
        "is searched for over the whole day, and its bound is proven if it can be."
    ),
    fields=DayPlanFields,
    answered=(PlanRouting, PlanFacts),
    filters={"depot_id": Identifier(), "day": Day()},
    summary=answer_schema(DayPlanSummaryFields, PlanFacts),
)


def plan_routes(papers: Papers, plan_day: PlanDay, door: Door, *, later: Later) -> Routes:
    """Return the routes of /day-plans."""
    routes = Routes(DAY_PLANS.path, description=DAY_PLANS.about)
    answers, example = DAY_PLANS.answer(), Example(plan_example)
    add_listing(routes, DAY_PLANS, papers.day_plans, door, example=example)
    add_single(routes, DAY_PLANS, papers.day_plans, door, example=example, may_answer=(410,))

    @routes.operation(
        "POST",
        "/day-plans",
        name="create_day_plan",
        summary="Plan a depot's day, around what is done.",
        may_answer=(404,),
        in_header=[PREFER],
    )
    @door.admits(Act.PLAN)
    @routes.body(NewDayPlan, example={"depot_id": OTHER_ID, "day": "2026-05-24"})
    @routes.response(201, answers, example=example, headers=CREATED)
    @routes.alt_response(202, schema=SEARCH, headers=ACCEPTED, success=True)
    def create_plan(asked: Asked, wanted: Mapping[str, Any]) -> Response:
        def now() -> Response:
            plan = plan_day(asked.caller, wanted["depot_id"], wanted["day"])
            return created_answer(answers, plan, path=DAY_PLANS.path)

        def as_found(told: Mapping[str, Any]) -> Response:
            plan = papers.day_plans.read(asked.caller, UUID(told["id"]))
            return created_answer(answers, plan, path=DAY_PLANS.path)

        response: Response = later.answered(asked, SearchKind.DAY_PLAN, now, as_found=as_found)
        return response

    return routes


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
            "held": [],
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

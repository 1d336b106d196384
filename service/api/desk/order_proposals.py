"""An order for crews that have jobs but none, and what it gains."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from marshmallow import post_load

from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import Described
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Day, Identifier, Several
from service.api.work.days.routing_shape import ROUTING
from service.api.work.shapes import (
    AMOUNT,
    COUNT,
    DAY,
    FLAG,
    ID,
    MAYBE_TEXT,
    MOMENT,
    NUMBER,
    TEXT,
    maybe,
    one_of,
    several,
    whole,
)
from service.core.callers.access import Act
from service.core.materials import LotStatus
from service.usecases.planning.propose_orders import ProposeOrders, Wanted
from service.usecases.planning.proposed_orders import ENDED_BY, REASONS

MOST_NAMED: Final = 200

_WHOLE: Final = {"type": "integer"}
_CENTS: Final = whole({"before": _WHOLE, "after": _WHOLE, "difference": NUMBER})
_COUNTED: Final = whole({"before": AMOUNT, "after": AMOUNT, "difference": NUMBER})
_MIXED: Final = {
    **_COUNTED,
    "description": (
        "What comes to lie in one body with a worse lot and counts as that, likely; a lawn that is "
        "mown last spoils nothing. No cost counts it."
    ),
}

_JOB: Final = whole(
    {
        "job_id": ID,
        "version": COUNT,
        "lot_code": TEXT,
        "status": {
            **maybe(one_of(LotStatus)),
            "description": "What its clippings are; null where they stay on the lawn.",
        },
        "property_id": ID,
        "property": TEXT,
        "own_position": {**COUNT, "description": "Its place among the jobs ahead as it is now."},
        "at": {**MOMENT, "description": "When the crew would reach it."},
        "planned_at": {**MOMENT, "description": "What its planned time must be."},
        "amend": {**FLAG, "description": "Whether that differs from its planned time now."},
    }
)

_VEHICLE: Final = whole(
    {
        "vehicle_id": ID,
        "registration": TEXT,
        "crew_ids": several(ID),
        "has_order": {**FLAG, "description": "Whether its jobs ahead have times of their own."},
        "proposed": FLAG,
        "code": maybe(one_of(REASONS)),
        "why": {**MAYBE_TEXT, "description": "Why its own order stays; null if it does not."},
        "gain_cents": _WHOLE,
        "cost_cents": {**_CENTS, "description": "Without overflow, which vehicles share."},
        "distance_m": _COUNTED,
        "overtime_s": _COUNTED,
        "tips": _COUNTED,
        "mixed_with_worse_kg": _MIXED,
        "jobs": several(_JOB),
    }
)

PROPOSAL: Final = whole(
    {
        "day": DAY,
        "depot_id": ID,
        "proposed": {**FLAG, "description": "Whether a cheaper day was found."},
        "gain_cents": {**COUNT, "description": "What the whole day costs less."},
        "cost_cents": _CENTS,
        "distance_m": _COUNTED,
        "overtime_s": _COUNTED,
        "tips": {**_COUNTED, "description": "Of the vehicles told here."},
        "mixed_with_worse_kg": _MIXED,
        "vehicles": several(_VEHICLE),
        "search": whole(
            {"orders": COUNT, "ended_by": one_of(ENDED_BY)},
            description=(
                "How many orders were judged, and what ended that: `settled`, nothing better was "
                "near; `work`, a count; `clock`, the guard, so that another machine may find "
                "others."
            ),
        ),
        "routing": maybe(ROUTING),
    },
    description=(
        "What is still ahead, on the orders proposed beside the crews' own, both planned now. "
        "Without a gain nothing is proposed, the own orders are told, and routing is null. "
        "The proposal is taken by amending each job marked so to its planned_at; the routing is "
        "then the one told here."
    ),
)


class OrderWish(Described):
    """The day, and whose orders; by default those of crews with jobs of one planned time."""

    depot_id = Identifier(required=True)
    day = Day(required=True)
    vehicle_ids = Several(
        Identifier(),
        most=MOST_NAMED,
        metadata={
            "description": "Order these anew if that gains enough, whatever their planned times."
        },
    )
    crew_ids = Several(
        Identifier(),
        most=MOST_NAMED,
        metadata={"description": "And the vehicles of these crews on the day."},
    )

    @post_load
    def want(self, data: Mapping[str, Any], **_: Any) -> dict[str, Any]:
        """Return the day and who is named as the use case takes them."""
        return {
            "depot_id": data["depot_id"],
            "day": data["day"],
            "wanted": Wanted(
                vehicle_ids=tuple(data.get("vehicle_ids", ())),
                crew_ids=tuple(data.get("crew_ids", ())),
            ),
        }


def order_routes(propose_orders: ProposeOrders, door: Door) -> Routes:
    """Return the route of order proposals."""
    routes = Routes("order-proposals", description="Orders for crews that have jobs but none.")

    @routes.operation(
        "POST",
        "/order-proposals",
        name="propose_orders",
        summary="Propose an order to crews that have none, and say the gain; nothing is kept.",
        may_answer=(404, 409),
    )
    @door.admits(Act.PLAN)
    @routes.body(OrderWish, example={"depot_id": OTHER_ID, "day": "2026-05-24"})
    @routes.response(200, PROPOSAL)
    def propose(asked: Asked, wish: Mapping[str, Any]) -> dict[str, object]:
        return propose_orders(asked.caller, wish["depot_id"], wish["day"], wish["wanted"])

    return routes

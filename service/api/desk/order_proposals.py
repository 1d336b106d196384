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
from service.api.work.days.searches import ACCEPTED, PREFER, SEARCH, Later
from service.api.work.derived import shape_of
from service.api.work.shapes import maybe
from service.core.callers.access import Act
from service.core.searches import SearchKind
from service.usecases.planning.propose_orders import ProposeOrders, Wanted
from service.usecases.telling.told.orders import OrdersTold

MOST_NAMED: Final = 200

PROPOSAL: Final = shape_of(
    OrdersTold,
    of_members={"routing": maybe(ROUTING)},
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


def order_routes(propose_orders: ProposeOrders, door: Door, *, later: Later) -> Routes:
    """Return the route of order proposals."""
    routes = Routes("order-proposals", description="Orders for crews that have jobs but none.")

    @routes.operation(
        "POST",
        "/order-proposals",
        name="propose_orders",
        summary="Propose an order to crews that have none, and say the gain; nothing is kept.",
        may_answer=(404, 409),
        in_header=[PREFER],
    )
    @door.admits(Act.PLAN)
    @routes.body(OrderWish, example={"depot_id": OTHER_ID, "day": "2026-05-24"})
    @routes.response(200, PROPOSAL)
    @routes.alt_response(202, schema=SEARCH, headers=ACCEPTED, success=True)
    def propose(asked: Asked, wish: Mapping[str, Any]) -> Any:
        def now() -> dict[str, object]:
            return propose_orders(asked.caller, wish["depot_id"], wish["day"], wish["wanted"])

        return later.answered(asked, SearchKind.ORDER_PROPOSAL, now)

    return routes

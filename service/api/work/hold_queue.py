"""The hold queue of a depot as it is now: asked about, never kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Response, jsonify

from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.work.hold_shape import HOLD_QUEUE
from service.api.work.routings import RoutingQuery
from service.core.access import Act
from service.usecases.telling.held.queue import TellHoldQueue


def hold_queue_routes(tell_hold_queue: TellHoldQueue, door: Door) -> Routes:
    """Return the route of a depot's hold queue."""
    routes = Routes(
        "hold-queue",
        description=(
            "What lies in a depot's hold bays by the records of now: what may leave and who takes "
            "it, when it is asked again, how far its clock has gone and what to do. The kept "
            "entries are at /hold-entries."
        ),
    )

    @routes.operation(
        "GET",
        "/hold-queue",
        name="read_hold_queue",
        summary="Ask what of a depot's held clippings may leave, where to, and what presses.",
        may_answer=(404,),
    )
    @door.admits(Act.READ)
    @routes.query(RoutingQuery)
    @routes.response(200, HOLD_QUEUE)
    def read_queue(asked: Asked, query: Mapping[str, Any]) -> Response:
        return jsonify(tell_hold_queue(asked.caller, query["depot_id"]))

    return routes

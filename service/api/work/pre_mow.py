"""The question before the mower starts: bag it, leave it on the lawn, or bag it and hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from flask import Response, jsonify

from service.api.contract.schemas import Described
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Identifier, Moment, NumberInQuery
from service.api.work.routing_shape import PRE_MOW_CHECK
from service.core.access import Act
from service.core.materials import TreatmentHistory, Wetness
from service.usecases.telling.pre_mow_check import PreMowCheck

# A third off grass of 75 mm: the usual cut (common practice, no source).
USUAL_HEIGHT_REMOVED_MM: Final = 25.0


class PreMowQuery(Described):
    """What the crew sees before the first cut."""

    depot_id = Identifier(required=True)
    height_removed_mm = NumberInQuery(low=0.5, high=2_000, load_default=USUAL_HEIGHT_REMOVED_MM)
    wetness = Choice(Wetness, load_default=Wetness.UNKNOWN)
    treatment_history = Choice(TreatmentHistory, load_default=TreatmentHistory.UNKNOWN)
    at = Moment(metadata={"description": "When the cut is to be; now if left out."})


def pre_mow_routes(pre_mow_check: PreMowCheck, door: Door) -> Routes:
    """Return the route of the question."""
    routes = Routes("pre-mow-check", description="The question before the mower starts.")

    @routes.operation(
        "GET",
        "/lawns/<uuid:record_id>/pre-mow-check",
        name="check_before_mowing",
        summary="Ask whether the clippings of a lawn may be collected, and where they would go.",
    )
    @door.admits(Act.READ)
    @routes.query(PreMowQuery)
    @routes.response(200, PRE_MOW_CHECK)
    def check(asked: Asked, query: Mapping[str, Any], record_id: UUID) -> Response:
        return jsonify(pre_mow_check(asked.caller, record_id, **query))

    return routes

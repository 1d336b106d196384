"""The question before the mower starts: bag it, leave it on the lawn, or bag it and hold."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from flask import Response
from marshmallow import post_load

from service.api.contract.schemas import Described
from service.api.exchange.door import Asked, Door
from service.api.exchange.languages import ACCEPT_LANGUAGE, CONTENT_LANGUAGE, worded
from service.api.exchange.routes import Routes
from service.api.fields import Choice, FlagInQuery, Identifier, Moment, NumberInQuery
from service.api.work.jobs.pre_mow_shape import PRE_MOW_CHECK
from service.core.callers.access import Act
from service.core.materials import TreatmentHistory, Wetness
from service.destinations.lawn import SeenThere
from service.usecases.telling.before_mowing.lawn_question import SEEN_FIELDS, Said
from service.usecases.telling.before_mowing.pre_mow_check import PreMowCheck

_OF_THE_QUESTION: Final = frozenset({"depot_id", "at"})


def _flag(about: str) -> FlagInQuery:
    return FlagInQuery(metadata={"description": about})


class PreMowQuery(Described):
    """What the crew sees before the first cut; what it leaves out, a job planned that day says."""

    depot_id = Identifier(required=True)
    height_removed_mm = NumberInQuery(
        low=0.5,
        high=1_000,
        metadata={"description": "As the planned job has it, or else 25, if left out."},
    )
    wetness = Choice(Wetness)
    treatment_history = Choice(TreatmentHistory)
    weeds_in_seed = _flag("Whether weeds stand in seed.")
    disease_seen = _flag("Whether the grass is diseased.")
    ground_wet = _flag("Whether the ground is wet: clippings clump there.")
    drought = _flag("Whether it is too dry for the grass to grow.")
    collect_wanted = _flag(
        "Whether the client, or the planned job, wants the clippings off the lawn."
    )
    at = Moment(metadata={"description": "When the cut is to be; now if left out."})

    @post_load
    def build(self, data: Mapping[str, Any], **_: Any) -> dict[str, Any]:
        """Return depot, moment, and what the crew said."""
        seen = SeenThere(**{name: data[name] for name in SEEN_FIELDS if name in data})
        told = {
            name: value
            for name, value in data.items()
            if name not in SEEN_FIELDS | _OF_THE_QUESTION
        }
        asked = {name: data[name] for name in _OF_THE_QUESTION if name in data}
        return {**asked, "said": Said(**told, seen=seen)}


def pre_mow_routes(pre_mow_check: PreMowCheck, door: Door) -> Routes:
    """Return the route of the question."""
    routes = Routes("pre-mow-check", description="The question before the mower starts.")

    @routes.operation(
        "GET",
        "/lawns/<uuid:record_id>/pre-mow-check",
        name="check_before_mowing",
        summary="Ask whether the clippings of a lawn may be collected, and where they would go.",
        in_path=[ACCEPT_LANGUAGE],
    )
    @door.admits(Act.READ_OWN)
    @routes.query(PreMowQuery)
    @routes.response(200, PRE_MOW_CHECK, headers=CONTENT_LANGUAGE)
    def check(asked: Asked, query: Mapping[str, Any], record_id: UUID) -> Response:
        return worded(pre_mow_check(asked.caller, record_id, **query))

    return routes

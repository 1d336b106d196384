"""The hold queue of a depot as it is now: asked about, never kept."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from flask import Response
from marshmallow import post_load

from service.api.contract.examples import EXAMPLE_ID
from service.api.contract.schemas import Described
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Identifier, Moment, Number, Text
from service.api.records.kept import CREATED, created_answer
from service.api.work.day_query import RoutingQuery
from service.api.work.loads.hold_shape import HOLD_QUEUE
from service.api.work.loads.holds import HOLD_ENTRIES, hold_example
from service.core.callers.access import Act
from service.core.loads import HeapTemperature
from service.usecases.records.held.measure import MeasureHeap
from service.usecases.telling.held.queue import TellHoldQueue


class NewHeapTemperature(Described):
    """What was measured inside a heap."""

    hold_entry_id = Identifier(required=True)
    depth_mm = Number(low=10, high=5_000, required=True)
    temperature_c = Number(low=-40, high=150, required=True)
    at = Moment(required=True)
    measured_by = Text(longest=200, required=True)

    @post_load
    def build(self, data: dict[str, Any], **_: Any) -> tuple[UUID, HeapTemperature]:
        """Return the entry's id and the reading."""
        entry_id = data.pop("hold_entry_id")
        return entry_id, HeapTemperature(**data)


EXAMPLE: Final = {
    "hold_entry_id": str(EXAMPLE_ID),
    "depth_mm": 400,
    "temperature_c": 52.5,
    "at": "2026-05-24T11:30:00Z",
    "measured_by": "Sam, yard",
}


def hold_queue_routes(
    tell_hold_queue: TellHoldQueue, measure_heap: MeasureHeap, door: Door
) -> Routes:
    """Return the routes of a depot's hold queue, and of what is measured in it."""
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
    def read_queue(asked: Asked, query: Mapping[str, Any]) -> dict[str, object]:
        return tell_hold_queue(asked.caller, query["depot_id"])

    answers = HOLD_ENTRIES.answer()

    @routes.operation(
        "POST",
        "/heap-temperatures",
        name="measure_heap",
        summary="Keep a temperature measured inside what lies in a bay; the days are planned anew.",
        may_answer=(409,),
    )
    @door.admits(Act.WORK_THE_HOLD)
    @routes.body(NewHeapTemperature, example=EXAMPLE)
    @routes.response(201, answers, example=Example(hold_example), headers=CREATED)
    def measure(asked: Asked, said: tuple[UUID, HeapTemperature]) -> Response:
        entry = measure_heap(asked.caller, *said)
        return created_answer(answers, entry, path=HOLD_ENTRIES.path)

    return routes

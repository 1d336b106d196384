"""A crew's whole day handed over to another crew, by one request."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from service.api.contract.examples import EXAMPLE_ID, OTHER_ID
from service.api.contract.schemas import Answered, Described
from service.api.exchange.amending import CHANGE_REASON, reasoned
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Day, Identifier, Several
from service.core.callers.access import Act
from service.usecases.records.field.hand_over import HandOver


class Handover(Described):
    """Whose planned jobs of which day another crew does, and in which vehicle."""

    day = Day(required=True)
    from_crew_id = Identifier(required=True)
    to_crew_id = Identifier(required=True)
    to_vehicle_id = Identifier(
        load_default=None,
        allow_none=True,
        metadata={"description": "The vehicle they come in; left out: the crew's usual one."},
    )


class HandedOver(Answered):
    """The jobs that were handed over; none where nothing was planned."""

    job_ids = Several(Identifier(), most=1000)


def add_handovers(routes: Routes, hand_over: HandOver, door: Door) -> None:
    """Add the route by which the office hands a crew's day over."""

    @routes.operation(
        "POST",
        "/jobs/handovers",
        name="hand_over_day",
        summary="Hand all planned jobs of a crew's day over to another crew.",
        parameters=[CHANGE_REASON],
    )
    @door.admits(Act.PLAN)
    @reasoned
    @routes.body(
        Handover,
        example={"day": "2026-05-25", "from_crew_id": OTHER_ID, "to_crew_id": EXAMPLE_ID},
    )
    @routes.response(200, HandedOver, example={"job_ids": [EXAMPLE_ID]})
    def hand_over_day(asked: Asked, said: Mapping[str, Any], reason: str | None) -> dict[str, Any]:
        jobs = hand_over(asked.caller, **said, reason=reason)
        return {"job_ids": [job.id for job in jobs]}

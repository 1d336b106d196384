"""A vehicle's day for a telephone with a bad connection: one answer of few bytes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from flask import Response, current_app, request

from service.api.contract.examples import EXAMPLE_ID
from service.api.contract.schemas import Described
from service.api.exchange.bodies import JSON
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Identifier
from service.api.work.derived import shape_of
from service.api.work.links import NoteLinks
from service.api.work.shapes import MAYBE_TEXT, maybe
from service.core.callers.access import Act
from service.usecases.planning.few_bytes import LARGEST_BYTES
from service.usecases.planning.vehicle_today import TellVehicleToday
from service.usecases.telling.told.vehicle_today import TipToday, VehicleDay

VEHICLE_TODAY: Final = shape_of(
    VehicleDay,
    of_members={
        "next_tip": maybe(
            shape_of(TipToday, of_members={"note": {**MAYBE_TEXT, "format": "uri-reference"}})
        )
    },
    description=(
        f"At most {LARGEST_BYTES} bytes: stops that do not fit are counted in `stops_after`. "
        "`changed` says what is otherwise than in the plan of `since`, or than in the one before."
    ),
)
ETAGGED: Final = {
    "ETag": {
        "description": "Of the plan: another one for every revision of the day that was planned.",
        "schema": {"type": "string"},
    }
}


class TodayQuery(Described):
    """What the device has already."""

    since = Identifier(metadata={"description": "The plan that the crew saw last."})


def vehicle_today_routes(tell: TellVehicleToday, door: Door, *, links: NoteLinks) -> Routes:
    """Return the route of a vehicle's day."""
    routes = Routes(
        "vehicle today",
        description="One vehicle's day for its crew, by the newest plan, small and asked again "
        "for nothing: an unchanged one is a 304.",
    )

    @routes.operation(
        "GET",
        "/vehicles/<uuid:record_id>/today",
        name="read_vehicle_today",
        summary="Read what is next for a vehicle, its room, its next tip and what changed.",
        may_answer=(409,),
    )
    @door.admits(Act.READ_OWN)
    @routes.query(TodayQuery)
    @routes.response(200, VEHICLE_TODAY, example=_example(), headers=ETAGGED)
    def read_today(asked: Asked, query: Mapping[str, Any], record_id: UUID) -> Response:
        since = query.get("since")
        if request.if_none_match:
            plan_id = tell.unchanged_id(asked.caller, record_id)
            if plan_id is not None and request.if_none_match.contains_weak(_tag(plan_id, since)):
                return _tagged(Response(), plan_id, since)
        today = tell(asked.caller, record_id, since_id=since)
        told = today.told
        if told["next_tip"] is not None:
            note = None if today.note_id is None else links.page(today.note_id)
            told = told | {"next_tip": told["next_tip"] | {"note": note}}
        # As it is counted: a letter beyond ASCII takes six bytes and more where it is escaped.
        response = Response(current_app.json.dumps(told, ensure_ascii=False), mimetype=JSON)
        is_current = told["revision"] == told["day_revision"]
        if today.plan_id is None or not is_current:
            return response
        return _tagged(response, today.plan_id, since)

    return routes


def _tag(plan_id: UUID, since: UUID | None) -> str:
    return f"{plan_id}-today" if since is None else f"{plan_id}-today-{since}"


def _tagged(response: Response, plan_id: UUID, since: UUID | None) -> Response:
    response.set_etag(_tag(plan_id, since), weak=True)
    response.make_conditional(request)
    return response


def _example() -> dict[str, Any]:
    """Return an answer; its numbers are invented."""
    own = str(EXAMPLE_ID)
    return {
        "vehicle_id": own,
        "registration": "CL05 LAW",
        "day": "2026-05-24",
        "plan_id": own,
        "revision": 14,
        "day_revision": 14,
        "out": None,
        "room": {"kg": 310, "litres": 1900, "bags": 9, "bag_litres": 60.0, "bag_kg": 33.6},
        "cautions": [],
        "next_tip": None,
        "stops": [
            {
                "kind": "job",
                "at": "2026-05-24T13:30:00+01:00",
                "point": [-1.25, 51.75],
                "job_id": own,
                "name": "Rose Cottage",
                "address": "3 Mill Lane",
                "access": "Gate code on the key ring.",
                "leave_on_lawn": None,
            }
        ],
        "stops_after": 2,
        "changed": ["L-7K2M9QX: The site is shut by now."],
    }

"""Tips that no plan foresaw, told as they happened, also of days of the past."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from flask import Response
from marshmallow import Schema, fields

from service.api.books.spans import LOAD_MASS
from service.api.contract.examples import OTHER_ID
from service.api.contract.schemas import ValueFields
from service.api.exchange.amending import CHANGE_REASON, reasoned
from service.api.exchange.documented import Example
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Identifier, Moment, Number, Several, Text
from service.api.fields.quantities import MeasureField
from service.api.records.kept import CREATED, created_answer
from service.core.callers.access import Act
from service.core.places import DestinationKind
from service.usecases.records.record_tip import NewTip, RecordTip, TippedPart

MOST_PARTS: Final = 100
TIP_EXAMPLE: Final[dict[str, Any]] = {
    "vehicle_id": OTHER_ID,
    "destination_kind": "compost_site",
    "destination_id": OTHER_ID,
    "done_at": "2026-05-24T15:20:00+01:00",
    "parts": [{"job_id": OTHER_ID, "share": 0.5}],
}


class TippedPartFields(ValueFields):
    """How much of a job's clippings was tipped; all that was aboard if nothing is said."""

    record_type = TippedPart

    job_id = Identifier()
    share = Number(above=0, high=1, metadata={"description": "Of all the job's clippings."})
    mass = MeasureField(LOAD_MASS, beside="mass_kg", beside_unit="kg")


class NewTipFields(ValueFields):
    """A tip that no plan foresaw: where, when, and how much of which lots."""

    record_type = NewTip

    vehicle_id = Identifier()
    crew_id = Identifier()
    destination_kind = Choice(DestinationKind)
    destination_id = Identifier()
    done_at = Moment()
    parts = Several(fields.Nested(TippedPartFields), most=MOST_PARTS)
    weighed_net = MeasureField(LOAD_MASS, beside="weighed_net_kg", beside_unit="kg")
    weigh_ticket = Text(longest=100)


def add_tips(
    routes: Routes,
    record_tip: RecordTip,
    door: Door,
    *,
    answers: Schema,
    example: Mapping[str, Any],
) -> None:
    """Add the route by which a tip is reported that was not planned."""

    @routes.operation(
        "POST",
        "/loads",
        name="record_tip",
        summary="Record a tip that no plan foresaw, also of a day of the past.",
        may_answer=(409,),
        parameters=[CHANGE_REASON],
    )
    @door.admits(Act.RECORD_WORK)
    @reasoned
    @routes.body(NewTipFields, example=TIP_EXAMPLE)
    @routes.response(
        201, answers, example=Example(lambda: {**example, "plan_id": None}), headers=CREATED
    )
    def record(asked: Asked, tip: NewTip, reason: str | None) -> Response:
        load = record_tip(asked.caller, tip, identifiers=asked.identifiers, reason=reason)
        return created_answer(answers, load, path="loads")

"""Which day of which depot is asked about."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any, Final
from uuid import UUID

from marshmallow import ValidationError

from service.api.contract.schemas import Described
from service.api.exchange.documented import View
from service.api.exchange.door import Asked
from service.api.exchange.together import handing
from service.api.failures.faults import Place, located
from service.api.failures.refusals import RequestNotUsable
from service.api.fields import Identifier
from service.api.records.lists import AnyDay
from service.usecases.day.today import TellToday

DAY_PARAMETER: Final = {
    "in": "path",
    "name": "day",
    "required": True,
    "description": "A date of the depot's calendar, or today.",
    "schema": AnyDay().json_schema(),
    "example": "2026-05-24",
}


class RoutingQuery(Described):
    """Whose day, when there are several depots."""

    depot_id = Identifier(required=True)


def of_day(view: View) -> View:
    """Return a view that is handed the ``day`` of its address as a date, or as the word today."""
    return handing(view, lambda _, path: _day_named(path["day"]), name="day")


def depot_day(
    tell_today: TellToday, asked: Asked, query: Mapping[str, Any], day: date | str
) -> tuple[UUID, date]:
    """Return the depot and the date that a query and an address name. Raises RecordMissing."""
    depot_id: UUID = query["depot_id"]
    return depot_id, day if isinstance(day, date) else tell_today(asked.caller, depot_id)


def _day_named(text: str) -> Any:
    try:
        return AnyDay().deserialize(text)
    except ValidationError as error:
        raise RequestNotUsable(located({"day": error.messages}, place=Place.QUERY)) from None

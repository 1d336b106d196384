"""A crew's stops of today over HTTP: its own part of the plan, and what it needs at each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.api.contract.schemas import Described
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Identifier
from service.api.work.days.routing_shape import DROP_STOP, JOB_STOP, OUT, PICK_UP_STOP
from service.api.work.derived import shape_of
from service.api.work.loads.hold_shape import LOAD_HELD_STOP
from service.api.work.shapes import Shape, maybe, several
from service.core.callers.access import Act
from service.usecases.telling.stops import TellStops
from service.usecases.telling.told.crews import CrewStops, HomeTold, SiteTold
from service.usecases.telling.told.plans import AboardNow

_HOME: Final = shape_of(HomeTold, title="A client's property")
_SITE: Final = shape_of(SiteTold, title="A compost site")
_PLACE: Final = {
    "anyOf": [_HOME, _SITE, {"type": "null"}],
    "description": "What is needed there, of stops still ahead; null of those behind.",
}


def _told(stop: Shape) -> Shape:
    """Return the shape of a routing's stop as a crew is told it."""
    gone = {"explanation", "fee_cents"}
    members = {name: one for name, one in stop["properties"].items() if name not in gone}
    required = [name for name in stop["required"] if name not in gone]
    return {**stop, "properties": {**members, "place": _PLACE}, "required": [*required, "place"]}


STOPS: Final = shape_of(
    CrewStops,
    of_members={
        "aboard_now": maybe(shape_of(AboardNow)),
        "out": OUT,
        "stops": several(
            {"oneOf": [_told(one) for one in (JOB_STOP, DROP_STOP, PICK_UP_STOP, LOAD_HELD_STOP)]}
        ),
    },
    description=(
        "`is_current` is false where something happened that the plan does not know of. Without a "
        "plan that tells the crew there are no stops."
    ),
)


class StopsQuery(Described):
    """Whose stops."""

    crew_id = Identifier(
        metadata={"description": "Which crew; a key of one crew or vehicle need not say it."}
    )


def stop_routes(tell_stops: TellStops, door: Door) -> Routes:
    """Return the route of a crew's stops."""
    routes = Routes(
        "stops",
        description=(
            "A crew's own part of the newest plan of today. A key of one crew or vehicle reads "
            "this, its own jobs, loads and their notes, and nothing else of the firm."
        ),
    )

    @routes.operation(
        "GET",
        "/days/today/stops",
        name="read_stops",
        summary="Read a crew's stops of today, with what it needs at each.",
        may_answer=(404,),
    )
    @door.admits(Act.READ_OWN)
    @routes.query(StopsQuery)
    @routes.response(200, STOPS)
    def read_stops(asked: Asked, query: Mapping[str, Any]) -> dict[str, object]:
        return tell_stops(asked.caller, crew_id=query.get("crew_id"))

    return routes

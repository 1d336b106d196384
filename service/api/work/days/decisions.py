"""Needs you: what of a depot's day waits for somebody's word."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from datetime import date
from typing import Any, Final

from service.api.exchange.door import Asked, Door
from service.api.exchange.preferences import preferred_wait_s
from service.api.exchange.routes import Routes
from service.api.work.day_query import DAY_PARAMETER, RoutingQuery, depot_day, of_day
from service.api.work.days.routings import PREFER
from service.api.work.derived import shape_of
from service.api.work.shapes import DAY, ID, MAYBE_TEXT, several, whole
from service.core.callers.access import Act
from service.usecases.day.today import TellToday
from service.usecases.planning.current_routing import BeingPlanned, NotPlannedYet, ReadRouting
from service.usecases.telling.decisions.decision import Decision
from service.usecases.telling.decisions.listing import TellDecisions

DECISION: Final = shape_of(
    Decision,
    of_members={
        "subject": {
            **MAYBE_TEXT,
            "description": "Whom it is about, by name: lawns; the place; the vehicle.",
        }
    },
    description=(
        "Something that waits for a word: why, when it gets worse, and what can be done. It is "
        "worked out of the records each time and leaves the list when its fact is gone."
    ),
)
DECISIONS: Final = whole({"day": DAY, "depot_id": ID, "decisions": several(DECISION)})


def decision_routes(
    read_routing: ReadRouting, tell_today: TellToday, tell_decisions: TellDecisions, door: Door
) -> Routes:
    """Return the route of what waits for a word."""
    routes = Routes(
        "decisions",
        description=(
            "Needs you: refusals, grass that turns or lies aboard overnight, doubtful weights, "
            "words grown old, gates that shut too soon, lots without a place, papers that end, "
            "overloads, lost locks and possible duplicates of a depot's day, the most urgent first."
        ),
    )

    @routes.operation(
        "GET",
        "/days/<day>/decisions",
        name="read_decisions",
        summary="List what of a depot's day waits for somebody's word, the most urgent first.",
        in_path=[DAY_PARAMETER, PREFER],
    )
    @door.admits(Act.READ)
    @of_day
    @routes.query(RoutingQuery)
    @routes.response(200, DECISIONS)
    def read_decisions(
        asked: Asked, query: Mapping[str, Any], day: date | str
    ) -> dict[str, object]:
        depot_id, wanted = depot_day(tell_today, asked, query, day)
        plan = None
        wait_s = preferred_wait_s()
        if wait_s != 0:
            with suppress(NotPlannedYet, BeingPlanned):
                plan = read_routing(asked.caller, depot_id, wanted, wait_s=wait_s or 0.0)
        found = tell_decisions(asked.caller, depot_id, wanted, plan=plan)
        return {
            "day": wanted.isoformat(),
            "depot_id": str(depot_id),
            "decisions": [one.to_json() for one in found],
        }

    return routes

"""Is the process alive, and can it do its work."""

from __future__ import annotations

from typing import Any

import structlog

from service.api.contract.schemas import Answered
from service.api.exchange.routes import Routes
from service.api.fields import Choice
from service.planning.arrays.compiled import PlannerAwaited
from service.usecases.base.readiness import CheckReady, NotReady


class Health(Answered):
    """The word of the process."""

    status = Choice(("ok",))


def health_routes(check_ready: CheckReady) -> Routes:
    """Return the two questions a supervisor asks; neither needs a key."""
    routes = Routes("health", description="Questions of whoever runs the service.")

    @routes.operation("GET", "/health", name="read_health", summary="Tell that the process lives.")
    @routes.response(200, Health, example={"status": "ok"})
    def health() -> dict[str, Any]:
        return {"status": "ok"}

    @routes.operation(
        "GET",
        "/ready",
        name="read_readiness",
        summary="Tell whether the database can be worked in, and plans can be made.",
        may_answer=(503,),
    )
    @routes.response(200, Health, example={"status": "ok"})
    def ready() -> dict[str, Any]:
        try:
            check_ready()
        except (NotReady, PlannerAwaited):
            raise
        except Exception as error:
            structlog.get_logger("service.api").warning("not_ready", kind=type(error).__name__)
            raise NotReady(why="The database does not answer.") from error
        return {"status": "ok"}

    return routes

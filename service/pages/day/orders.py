"""Another order of the lawns: what it would save, and taking it; asked for, never imposed."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.errors import FieldFault, RecordNotUsable
from service.core.records import NOBODY
from service.pages.day.acts import planned_again
from service.pages.day.screen import OFFICE, Asked, asked_day, day_asked, depots_of
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import page
from service.usecases.planning.propose_orders import Wanted
from service.usecases.telling.day_look import DayLook

PLACE: Final = "/screens/day/orders"
REASON: Final = "another order of the lawns"


def order_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the screen of orders: what is proposed, and taking it."""
    routes = Blueprint("orders_screen", __name__)

    @routes.get(PLACE)
    @entrance.admits(*OFFICE)
    def ask(sitting: Sitting) -> Response:
        depots = depots_of(needs, sitting.caller)
        look = needs.look_at_day(sitting.caller, asked_day(depots), day_asked())
        return _page(needs, sitting, look, told=None)

    @routes.post(PLACE)
    @entrance.admits(*OFFICE)
    def propose(sitting: Sitting) -> Response:
        """Look for orders and plan both days: it takes a while, so only where somebody asks."""
        depot_id, day = _of_day(Form(request.form))
        look = needs.look_at_day(sitting.caller, depot_id, day)
        wanted = Wanted(vehicle_ids=_working(look))
        told = needs.propose_orders(sitting.caller, depot_id, look.day, wanted)
        return _page(needs, sitting, look, told=told)

    @routes.post(f"{PLACE}/taken")
    @entrance.admits(*OFFICE)
    def take(sitting: Sitting) -> AnyResponse:
        """Amend the planned times of all jobs that were chosen, or of none."""
        depot_id, day = _of_day(Form(request.form))
        rows = [
            _row(text)
            for vehicle in request.form.getlist("vehicle")
            for text in request.form.getlist(f"job-{vehicle}")
        ]
        if not rows:
            detail = "Choose at least one vehicle."
            raise RecordNotUsable([FieldFault(pointer="/vehicle", detail=detail)])
        needs.record_jobs.amend_many(
            sitting.caller,
            {job_id: {"planned_at": at} for job_id, _, at in rows},
            {job_id: version for job_id, version, _ in rows},
            reason=REASON,
        )
        return planned_again(needs, sitting.caller, depot_id, day, at="vehicles")

    return routes


def _of_day(form: Form) -> tuple[UUID, date]:
    depot_id, day = form.identifier("depot"), form.day("day")
    form.done()
    return depot_id or NOBODY, day or date.min


def _working(look: DayLook) -> tuple[UUID, ...]:
    """Return the vehicles of the day that still drive."""
    routing: Any = {"vehicles": ()} if look.plan is None else look.plan.routing
    return tuple(
        UUID(vehicle["vehicle_id"]) for vehicle in routing["vehicles"] if vehicle["out"] is None
    )


def _row(text: str) -> tuple[UUID, int, datetime]:
    """Return a job, its version then, and the time proposed for it. Raises RecordNotUsable."""
    job_id, version, at, *more = [*text.split(), "", "", ""]
    with suppress(ValueError):
        planned_at = datetime.fromisoformat(at)
        if planned_at.tzinfo is not None and not any(more):
            return UUID(job_id), int(version), planned_at
    detail = "Look for the orders again: this is none that was proposed."
    raise RecordNotUsable([FieldFault(pointer="/job", detail=detail)])


def _page(
    needs: Needs, sitting: Sitting, look: DayLook, *, told: Mapping[str, Any] | None
) -> Response:
    return page(
        "day_orders.html.j2",
        look=look,
        asked=Asked(depot_id=look.depot.id, day=look.day),
        told=told,
        currency=needs.keep_sessions.firm(sitting.caller.firm_id).currency,
    )

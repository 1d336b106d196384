"""The dispatcher's screen: read as it was last planned, its parts fetched when they are opened."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, jsonify, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.callers.sessions import Seat
from service.core.errors import RecordMissing
from service.core.loads import HoldState, Load
from service.core.places import CompostSite, Depot
from service.core.plans import DayPlan
from service.core.records import NOBODY
from service.documents.rendering.reader import refusal_words
from service.pages.day.map import day_map
from service.pages.day.view import DayView, cautions_of, day_view, matters_of
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import HEADERS, page
from service.usecases.telling.day_look import DayLook

OFFICE: Final = (Seat.DISPATCHER, Seat.OWNER)
# How soon a page looks again for a first plan that is being made. Common practice, no source.
LOOKS_AGAIN_S: Final = "3"
MOST_DEPOTS: Final = 100
MOST_SITES: Final = 200
MOST_ENTRIES: Final = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Which day of which depot a screen is about."""

    depot_id: UUID
    day: date | None

    @property
    def query(self) -> str:
        """The same, for an address."""
        day = "" if self.day is None else f"&day={self.day.isoformat()}"
        return f"depot={self.depot_id}{day}"


def day_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the screen, and what it fetches."""
    routes = Blueprint("day", __name__)

    @routes.get("/screens/day")
    @entrance.admits(*OFFICE)
    def show_day(sitting: Sitting) -> AnyResponse:
        depots = depots_of(needs, sitting.caller)
        if not depots:
            return redirect("/screens/setup", HTTPStatus.SEE_OTHER)
        look = needs.look_at_day(sitting.caller, asked_day(depots), day_asked())
        response = page("day.html.j2", **_told(needs, sitting, look, depots))
        response.headers["Vary"] = "Cookie"
        if look.plan is None and look.being_planned and not look.is_past:
            response.headers["Refresh"] = LOOKS_AGAIN_S  # also without a script
        return response

    @routes.get("/screens/day/mark")
    @entrance.admits(*OFFICE)
    def read_mark(sitting: Sitting) -> Response:
        """Tell whether anything changed, before anything is read."""
        form = Form(request.args)
        depot_id, day = form.identifier("depot"), form.day("day")
        form.done()
        mark = needs.look_at_day.mark(sitting.caller, depot_id or NOBODY, day or date.min)
        response = jsonify({"mark": mark.text})
        response.headers.update(HEADERS)
        response.set_etag(mark.text)
        response.make_conditional(request)
        return response

    @routes.get("/screens/day/moved")
    @entrance.admits(*OFFICE)
    def show_moved(sitting: Sitting) -> Response:
        form = Form(request.args)
        plan_id, since_id = form.identifier("plan"), form.identifier("since")
        form.done()
        told = needs.tell_plan_changes(sitting.caller, plan_id or NOBODY, since_id=since_id)
        return page("day_moved.html.j2", moved=told.moved, cost=told.cost_cents)

    @routes.get("/screens/day/loads/<uuid:load_id>")
    @entrance.admits(*OFFICE)
    def show_load(sitting: Sitting, load_id: UUID) -> Response:
        load = needs.papers.loads.read(sitting.caller, load_id)
        look = needs.look_at_day(sitting.caller, load.depot_id, load.working_day)
        notes = needs.papers.delivery_notes.page(sitting.caller, filters={"load_id": load_id})
        newest = max(notes.records, key=lambda note: note.issued_at, default=None)
        return page(
            "day_load.html.j2",
            load=load,
            turned_away=refusal_words(load.refusal_reason),
            stop=_stop_of(look.plan, load),
            vehicle=needs.library.vehicles.read(sitting.caller, load.vehicle_id).registration,
            addresses=_addresses_of(look.plan),
            now=look.now,
            currency=_currency(needs, sitting),
            note=None if newest is None else needs.note_link(newest.id),
            note_number=None if newest is None else newest.number,
            whole=request.args.get("whole") is None,
        )

    @routes.get("/screens/day/loads/<uuid:load_id>/changes")
    @entrance.admits(*OFFICE)
    def show_what_would_change(sitting: Sitting, load_id: UUID) -> Response:
        """Work out what would change where a load goes: only where somebody asks for it."""
        load = needs.papers.loads.read(sitting.caller, load_id)
        told: Mapping[str, Any] = needs.tell_what_would_change.of_job(
            sitting.caller, load.parts[0].job_id
        )
        ways = [
            way
            for one in told["loads"]
            if one["load_id"] == str(load_id)
            for way in one["what_would_change"]
        ]
        return page("day_changes.html.j2", ways=ways)

    return routes


def depots_of(needs: Needs, caller: Caller) -> tuple[Depot, ...]:
    """Return the firm's depots; a firm that is being set up has none."""
    return needs.library.depots.page(caller, filters={}, limit=MOST_DEPOTS).records


def asked_day(depots: tuple[Depot, ...]) -> UUID:
    """Return which depot an address names; the first if it names none. Raises RecordMissing."""
    if not depots:
        raise RecordMissing(record="depot", id="any")
    if "depot" not in request.args:
        return depots[0].id
    form = Form(request.args)
    depot_id = form.identifier("depot")
    form.done()
    return depot_id or depots[0].id


def day_asked() -> date | None:
    """Return which day an address names; None for today."""
    if request.args.get("day") is None:
        return None
    form = Form(request.args)
    day = form.day("day")
    form.done()
    return day


def _told(
    needs: Needs, sitting: Sitting, look: DayLook, depots: tuple[Depot, ...]
) -> dict[str, Any]:
    """Return what the template of the day is filled with."""
    entries = tuple(
        entry
        for state in (HoldState.EXPECTED, HoldState.IN_BAY)  # each from its index, in its order
        for entry in needs.papers.hold_entries.page(
            sitting.caller, filters={"state": state}, limit=MOST_ENTRIES
        ).records
    )
    view = drawing = None
    decisions = needs.tell_decisions(sitting.caller, look.depot.id, look.day, plan=look.plan)
    if look.plan is not None:
        view = day_view(look, entries)
        depot = (look.depot.point.longitude, look.depot.point.latitude)
        drawing = day_map(look.plan.routing, depot, letters=view.letters)
    matters = matters_of(look, decisions, view)
    return {
        "decisions": matters,
        "cautions": cautions_of(matters),
        "sitting": sitting.session,
        "look": look,
        "depots": depots,
        "asked": Asked(depot_id=look.depot.id, day=None if look.day == look.today else look.day),
        "view": view,
        "map": drawing,
        "other_sites": [] if view is None else _other_sites(needs, sitting, view),
        "currency": _currency(needs, sitting),
    }


def _other_sites(needs: Needs, sitting: Sitting, view: DayView) -> list[CompostSite]:
    """Return the sites that a plan does not name: one that was said to be shut may open again."""
    named = {place["destination_id"] for place in view.places}
    sites = needs.library.compost_sites.page(sitting.caller, filters={}, limit=MOST_SITES).records
    return [site for site in sites if str(site.id) not in named]


def _currency(needs: Needs, sitting: Sitting) -> str:
    return needs.keep_sessions.firm(sitting.caller.firm_id).currency


def _addresses_of(plan: DayPlan | None) -> Mapping[str, str]:
    """Return the address of each job that a plan tells, by its id."""
    if plan is None:
        return {}
    routing: Any = plan.routing
    return {
        stop["job_id"]: stop["property"]
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "job"
    }


def _stop_of(plan: DayPlan | None, load: Load) -> Mapping[str, Any] | None:
    """Return how a plan tells a load; None where it knows it no more."""
    if plan is None:
        return None
    routing: Any = plan.routing
    return next(
        (
            stop
            for vehicle in routing["vehicles"]
            for stop in vehicle["stops"]
            if stop.get("load_id") == str(load.id)
        ),
        None,
    )

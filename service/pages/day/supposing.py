"""Suppose: what the day would be if a site shut, a vehicle failed or it rained; nothing is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, request

from service.core.errors import FieldFault, RecordNotUsable
from service.core.records import NOBODY
from service.pages.day.screen import OFFICE, Asked, asked_day, day_asked, depots_of
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import page
from service.usecases.planning.what_if import Changes
from service.usecases.telling.day_look import DayLook

PLACE: Final = "/screens/day/suppose"
MOST_SITES: Final = 200
MOST_VEHICLES: Final = 200


def supposing_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the form of suppositions, and the day beside the day supposed."""
    routes = Blueprint("supposing_screen", __name__)

    @routes.get(PLACE)
    @entrance.admits(*OFFICE)
    def ask(sitting: Sitting) -> Response:
        depots = depots_of(needs, sitting.caller)
        look = needs.look_at_day(sitting.caller, asked_day(depots), day_asked())
        return _page(needs, sitting, look, changes=Changes(), told=None)

    @routes.post(PLACE)
    @entrance.admits(*OFFICE)
    def suppose(sitting: Sitting) -> Response:
        """Plan both days: it takes the planner's time twice, so only where somebody asks."""
        form = Form(request.form)
        depot_id, day = form.identifier("depot"), form.day("day")
        changes = Changes(
            closed_site_ids=_ids("shut"), lost_vehicle_ids=_ids("out"), rain=form.flag("rain")
        )
        form.done()
        if changes == Changes():
            detail = "Choose at least one thing to suppose."
            raise RecordNotUsable([FieldFault(pointer="/rain", detail=detail)])
        look = needs.look_at_day(sitting.caller, depot_id or NOBODY, day)
        told = needs.what_if(sitting.caller, look.depot.id, look.day, changes)
        return _page(needs, sitting, look, changes=changes, told=told)

    return routes


def _ids(name: str) -> tuple[UUID, ...]:
    """Return the ids of the boxes that are ticked. Raises RecordNotUsable."""
    found = []
    for text in request.form.getlist(name):
        one = Form({name: text})
        found.append(one.identifier(name))
        one.done()
    return tuple(record_id for record_id in found if record_id is not None)


def _page(
    needs: Needs,
    sitting: Sitting,
    look: DayLook,
    *,
    changes: Changes,
    told: Mapping[str, Any] | None,
) -> Response:
    library, caller = needs.library, sitting.caller
    sites = library.compost_sites.page(caller, filters={}, limit=MOST_SITES).records
    vehicles = library.vehicles.page(
        caller, filters={"depot_id": look.depot.id}, limit=MOST_VEHICLES
    ).records
    names = [
        *(f"{site.name} is shut" for site in sites if site.id in changes.closed_site_ids),
        *(
            f"{vehicle.registration} is out"
            for vehicle in vehicles
            if vehicle.id in changes.lost_vehicle_ids
        ),
        *(("it rains on what is still to be mown",) if changes.rain else ()),
    ]
    return page(
        "day_suppose.html.j2",
        look=look,
        asked=Asked(depot_id=look.depot.id, day=look.day),
        sites=sites,
        vehicles=vehicles,
        changes=changes,
        supposed=_listed(names),
        told=told,
        currency=needs.keep_sessions.firm(caller.firm_id).currency,
    )


def _listed(names: Sequence[str]) -> str:
    return " and ".join(names)

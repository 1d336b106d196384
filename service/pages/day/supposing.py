"""Suppose: what the day would be if a site shut, a vehicle failed or it rained; nothing is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, request

from service.core.crews import is_used_on
from service.core.errors import FieldFault, RecordNotUsable
from service.core.materials import LotStatus
from service.core.records import NOBODY
from service.pages.day.screen import OFFICE, Asked, asked_day, day_asked, depots_of
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import page
from service.usecases.planning.supposed.lots import SupposedLots
from service.usecases.planning.what_if import Changes
from service.usecases.telling.day_look import DayLook
from service.usecases.telling.told.lots import LEFT
from service.usecases.telling.told.moved import SupposedTold

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
        return _page(needs, sitting, look, changes=_asked_about(look), told=None)

    @routes.post(PLACE)
    @entrance.admits(*OFFICE)
    def suppose(sitting: Sitting) -> Response:
        """Plan both days: it takes the planner's time twice, so only where somebody asks."""
        form = Form(request.form)
        depot_id, day = form.identifier("depot"), form.day("day")
        changes = Changes(
            closed_site_ids=_ids("shut"),
            lost_vehicle_ids=_ids("out"),
            rain=form.flag("rain"),
            lots=SupposedLots(
                left_on_lawn_job_ids=_ids("left"), untreated_job_ids=_ids("untreated")
            ),
        )
        form.done()
        if changes == Changes():
            detail = "Choose at least one thing to suppose."
            raise RecordNotUsable([FieldFault(pointer="/rain", detail=detail)])
        look = needs.look_at_day(sitting.caller, depot_id or NOBODY, day)
        told = needs.what_if(sitting.caller, look.depot.id, look.day, changes)
        return _page(needs, sitting, look, changes=changes, told=told)

    return routes


@dataclass(frozen=True, slots=True, kw_only=True)
class WorseLot:
    """A lawn still to be mown whose clippings are not clean, as its boxes are named."""

    job_id: UUID
    lawn: str
    status: LotStatus
    may_be_untreated: bool  # somebody's word could make it clean: of all else something is known


def _worse_lots(look: DayLook) -> list[WorseLot]:
    """Return what is to be mown and is not clean, by the plan that is looked at."""
    routing: Any = {"lots": (), "vehicles": ()} if look.plan is None else look.plan.routing
    worse = {
        lot["job_id"]: lot
        for lot in routing["lots"]
        if lot["outcome"] not in LEFT and lot["status"] != LotStatus.CLEAN
    }
    return [
        WorseLot(
            job_id=UUID(lot["job_id"]),
            lawn=stop["property"],
            status=LotStatus(lot["status"]),
            may_be_untreated=any(
                found["code"] == "treatment_history_unknown" for found in lot["findings"]
            ),
        )
        for vehicle in routing["vehicles"]
        for stop in vehicle["stops"]
        if stop["kind"] == "job" and not stop["done"]
        for lot in filter(None, [worse.get(stop["job_id"])])
    ]


def _asked_about(look: DayLook) -> Changes:
    """Return what is supposed before anybody chose: of the lot asked about, what is likeliest."""
    about = Form(request.args).identifier("about")
    for lot in _worse_lots(look):
        if lot.job_id == about:
            of_it = (lot.job_id,)
            lots = (
                SupposedLots(untreated_job_ids=of_it)
                if lot.may_be_untreated
                else SupposedLots(left_on_lawn_job_ids=of_it)
            )
            return Changes(lots=lots)
    return Changes()


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
    told: SupposedTold | None,
) -> Response:
    library, caller = needs.library, sitting.caller
    sites = library.compost_sites.page(caller, filters={}, limit=MOST_SITES).records
    vehicles = [
        one
        for one in library.vehicles.page(
            caller, filters={"depot_id": look.depot.id}, limit=MOST_VEHICLES
        ).records
        if is_used_on(look.day, one)
    ]
    worse_lots = _worse_lots(look)
    names = [
        *(f"{site.name} is shut" for site in sites if site.id in changes.closed_site_ids),
        *(
            f"{vehicle.registration} is out"
            for vehicle in vehicles
            if vehicle.id in changes.lost_vehicle_ids
        ),
        *(("it rains on what is still to be mown",) if changes.rain else ()),
        *(
            f"{lot.lawn} keeps its clippings"
            for lot in worse_lots
            if lot.job_id in changes.lots.left_on_lawn_job_ids
        ),
        *(
            f"nothing was put on {lot.lawn}"
            for lot in worse_lots
            if lot.job_id in changes.lots.untreated_job_ids
        ),
    ]
    return page(
        "day_suppose.html.j2",
        look=look,
        asked=Asked(depot_id=look.depot.id, day=look.day),
        sites=sites,
        vehicles=vehicles,
        worse_lots=worse_lots,
        changes=changes,
        supposed=_listed(names),
        told=told,
        currency=needs.keep_sessions.firm(caller.firm_id).currency,
    )


def _listed(names: Sequence[str]) -> str:
    return " and ".join(names)

"""Where feeds are fetched: a place's calendar by its signed address, the rest by the office."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, json

from service.core.callers.access import Caller, Role
from service.core.errors import RecordMissing
from service.core.loads import OPEN_LOAD_STATES, Load, LoadState
from service.core.places import Bed, CompostSite, DestinationKind, Point
from service.core.records import NOBODY
from service.pages.day.screen import OFFICE, day_asked
from service.pages.entrance import Entrance, Sitting
from service.pages.feed_links import FeedEnded, has_ended
from service.pages.feeds.gpx import gpx_text
from service.pages.feeds.icalendar import Event, calendar_text
from service.pages.needs import Needs
from service.pages.rendering import HEADERS
from service.pages.setup.filing import every
from service.pages.words import STATUSES, kilograms
from service.usecases.base.whose import working_for
from service.usecases.telling.routing.geojson import routing_map

FED: Final = (DestinationKind.BED, DestinationKind.COMPOST_SITE)
DAYS_KEPT: Final = 60
# How long a tip at a bed takes a client's attention; common practice, no source.
AT_A_BED: Final = timedelta(minutes=20)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place whose deliveries are told, as whoever has the address may know it."""

    name: str
    address: str
    point: Point
    zone: ZoneInfo
    lasts: timedelta
    feeds_ended_at: datetime | None


def feed_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the feeds."""
    routes = Blueprint("feeds", __name__)

    @routes.get(
        "/feeds/<uuid:firm_id>/<kind>/<uuid:place_id>/<int:made>/<signature>/deliveries.ics"
    )
    @entrance.guards
    def read_calendar(
        firm_id: UUID, kind: str, place_id: UUID, made: int, signature: str
    ) -> Response:
        """Tell a place's deliveries to whoever holds its address: of no other place, no lawn."""
        links = needs.feed_links
        made_at = links.made_at(firm_id, kind, place_id, made=made, signature=signature)
        if kind not in FED or made_at is None:
            raise RecordMissing(record="feed", id=place_id)
        caller = Caller(firm_id=firm_id, key_id=NOBODY, role=Role.INTEGRATOR)
        with working_for(firm_id):
            return calendar(caller, DestinationKind(kind), place_id, made_at)

    def calendar(
        caller: Caller, kind: DestinationKind, place_id: UUID, made_at: datetime
    ) -> Response:
        place = _place(needs, caller, kind, place_id)
        firm = needs.keep_sessions.firm(caller.firm_id)
        now = needs.look_at_day.now(place.zone)
        if has_ended(made_at, withdrawn_at=place.feeds_ended_at, now=now):
            raise FeedEnded(firm=firm.name, phone=firm.phone)
        since = (now - timedelta(days=DAYS_KEPT)).date()
        events = [
            _event(load, place, firm_name=firm.name, phone=firm.phone)
            for load in every(needs.papers.loads, caller, destination_id=place_id)
            if load.state is not LoadState.SUPERSEDED and load.working_day >= since
        ]
        text = calendar_text(f"Clippings for {place.name}", events)
        return _file(text, "text/calendar; charset=utf-8", "deliveries.ics", shown=True)

    @routes.get("/screens/day/vehicles/<uuid:vehicle_id>/way.gpx")
    @entrance.admits(*OFFICE)
    def read_gpx(sitting: Sitting, vehicle_id: UUID) -> Response:
        plan, told = _vehicle_day(needs, sitting.caller, vehicle_id)
        name = f"{told['registration']}, {plan.day.isoformat()}"
        text = gpx_text(name, told["stops"], made_at=plan.planned_at)
        return _file(text, "application/gpx+xml", "way.gpx")

    @routes.get("/screens/day/vehicles/<uuid:vehicle_id>/way.geojson")
    @entrance.admits(*OFFICE)
    def read_geojson(sitting: Sitting, vehicle_id: UUID) -> Response:
        plan, told = _vehicle_day(needs, sitting.caller, vehicle_id)
        aims = {stop.get("destination_id") for stop in told["stops"]}
        places = [
            place for place in plan.routing["destinations"] if place["destination_id"] in aims
        ]
        own = replace(plan, routing={"vehicles": [told], "destinations": places})
        return _file(json.dumps(routing_map(own)), "application/geo+json", "way.geojson")

    return routes


def _vehicle_day(needs: Needs, caller: Caller, vehicle_id: UUID) -> tuple[Any, Mapping[str, Any]]:
    """Return the newest plan of the day that is asked for, and the vehicle's part of it."""
    vehicle = needs.library.vehicles.read(caller, vehicle_id)
    look = needs.look_at_day(caller, vehicle.depot_id, day_asked())
    if look.plan is not None:
        routing: Any = look.plan.routing
        for told in routing["vehicles"]:
            if told["vehicle_id"] == str(vehicle_id):
                return look.plan, told
    raise RecordMissing(record="planned way", id=vehicle_id)


def _place(needs: Needs, caller: Caller, kind: DestinationKind, place_id: UUID) -> Place:
    library = needs.library
    if kind is DestinationKind.COMPOST_SITE:
        site: CompostSite = library.compost_sites.read(caller, place_id)
        return Place(
            name=site.name,
            address=site.address,
            point=site.point,
            zone=ZoneInfo(site.time_zone),
            lasts=timedelta(minutes=site.unloading_minutes),
            feeds_ended_at=site.feeds_ended_at,
        )
    bed: Bed = library.beds.read(caller, place_id)
    home = library.properties.read(caller, bed.property_id)
    depots = library.depots.page(caller, filters={}, limit=1).records
    return Place(
        name=bed.name,
        address=home.address,
        point=bed.point or home.point,
        zone=ZoneInfo(depots[0].time_zone if depots else "UTC"),
        lasts=AT_A_BED,
        feeds_ended_at=bed.feeds_ended_at,
    )


def _event(load: Load, place: Place, *, firm_name: str, phone: str) -> Event:
    # Of a load that was sent away altogether, all is told.
    stayed = load.kept_share if load.state is LoadState.PARTLY_REFUSED else 1.0
    at, mass = load.done_at or load.arrive_at, load.mass_kg.scaled(stayed, unit="kg")
    weighed = ""
    if load.weighed_net is not None and load.weight_counts:
        weighed = f" Weighed: {kilograms(load.weighed_net.si_value)}."
    if load.state in OPEN_LOAD_STATES:
        start = "Clippings planned" if load.state is LoadState.PLANNED else "Clippings on their way"
    else:
        start = "Clippings sent away" if load.state is LoadState.REFUSED else "Clippings brought"
    lots = ", ".join(dict.fromkeys(part.lot_code for part in load.parts))
    lines: Iterator[str] = iter(
        (
            f"Between {kilograms(mass.low)} and {kilograms(mass.high)}, estimated.{weighed}",
            f"On record: {STATUSES[load.status.value]}. Lots: {lots}.",
            f"{firm_name}, {phone}. A plan can change until the load is on its way.",
        )
    )
    return Event(
        uid=f"{load.id}@clipping-dispatch",
        sequence=load.version - 1,
        changed_at=load.updated_at,
        starts=at,
        lasts=place.lasts,
        summary=f"{start}, about {kilograms(mass.likely)}",
        description="\n".join(lines),
        place=f"{place.name}, {place.address}",
        latitude=place.point.latitude,
        longitude=place.point.longitude,
        is_cancelled=load.state is LoadState.REFUSED,
    )


def _file(text: str, kind: str, name: str, *, shown: bool = False) -> Response:
    response = Response(text, content_type=kind)
    response.headers.update(HEADERS)
    if not shown:
        response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response

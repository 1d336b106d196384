"""The owner's evening: what the day came to, what is still open, what the service does not know."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, redirect
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.callers.sessions import Seat
from service.core.jobs import JobState
from service.core.loads import OPEN_LOAD_STATES, Load, LoadState
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.pages.day.screen import Asked, asked_day, day_asked, depots_of
from service.pages.entrance import Entrance, Sitting
from service.pages.needs import Needs
from service.pages.rendering import HEADERS, page
from service.usecases.telling.day_look import DayLook

PLACE: Final = "/screens/evening"
A_PAGE: Final = 200
DAYS_OFFERED: Final = 31
STAYED: Final = frozenset({LoadState.DELIVERED, LoadState.PARTLY_REFUSED})
# What a spreadsheet would take for a formula (common practice, no source).
FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r")
COLUMNS: Final = (
    "day,time,vehicle,destination_kind,destination,state,status,lots,mass_low_kg,mass_likely_kg,"
    "mass_high_kg,weighed_net_kg,weigh_ticket,refused_share,refusal_reason,fee_cents"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sum:
    """What stayed at one kind of destination: estimated, and weighed where a weight counts [kg]."""

    kind: str
    loads: int
    low_kg: float
    likely_kg: float
    high_kg: float
    weighed: int
    weighed_kg: float
    fee_cents: int


def evening_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the screen, its table for a spreadsheet, and the end of a key."""
    routes = Blueprint("evening", __name__)

    @routes.get(PLACE)
    @entrance.admits(Seat.OWNER)
    def show_evening(sitting: Sitting) -> AnyResponse:
        caller = sitting.caller
        depots = depots_of(needs, caller)
        if not depots:
            return redirect("/screens/setup", HTTPStatus.SEE_OTHER)
        look = needs.look_at_day(caller, asked_day(depots), day_asked())
        loads = loads_of(needs, caller, look)
        return page(
            "evening.html.j2",
            look=look,
            depots=depots,
            asked=Asked(depot_id=look.depot.id, day=look.day),
            sums=list(sums_of(loads)),
            left_kg=left_kg(look),
            still_open=list(_open(look, loads)),
            unknown=list(_unknown(needs, caller, look, loads)),
            keys=sorted(needs.list_keys(caller.firm_id), key=lambda key: key.created_at),
            firm=needs.keep_sessions.firm(caller.firm_id),
            days=days_around(look),
        )

    @routes.get(f"{PLACE}.csv")
    @entrance.admits(Seat.OWNER, Seat.DISPATCHER)
    def read_table(sitting: Sitting) -> Response:
        """Return the day's loads for a spreadsheet (RFC 4180)."""
        caller = sitting.caller
        look = needs.look_at_day(caller, asked_day(depots_of(needs, caller)), day_asked())
        out = io.StringIO()
        writer = csv.writer(out)
        writer.writerow(COLUMNS.split(","))
        writer.writerows(_rows(needs, caller, look))
        response = Response(out.getvalue(), mimetype="text/csv")
        response.headers.update(HEADERS)
        name = f"loads-{look.day.isoformat()}.csv"
        response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
        return response

    @routes.post(f"{PLACE}/keys/<uuid:key_id>/end")
    @entrance.admits(Seat.OWNER)
    def revoke(sitting: Sitting, key_id: UUID) -> AnyResponse:
        needs.revoke_key(sitting.caller.firm_id, key_id)
        return redirect(f"{PLACE}#keys", HTTPStatus.SEE_OTHER)

    return routes


def days_around(look: DayLook) -> list[date]:
    """Return the days to choose from, the newest first: around the one shown, up to today.

    They are told in words: a browser writes a date in its own order, not in its reader's.
    """
    last = max(look.day, min(look.day + timedelta(days=DAYS_OFFERED), look.today))
    return [last - timedelta(days=back) for back in range(2 * DAYS_OFFERED)]


def loads_of(needs: Needs, caller: Caller, look: DayLook) -> list[Load]:
    """Return the loads of a depot's day that still count, all pages of them."""
    wanted = {
        "depot_id": look.depot.id,
        "working_day": look.day,
        "state": tuple(state for state in LoadState if state is not LoadState.SUPERSEDED),
    }
    found: list[Load] = []
    after = None
    while True:
        part = needs.papers.loads.page(caller, filters=wanted, after=after, limit=A_PAGE)
        found += part.records
        after = part.next_after
        if after is None:
            return sorted(found, key=lambda load: load.done_at or load.arrive_at)


def sums_of(loads: Sequence[Load]) -> Iterator[Sum]:
    """Yield what stayed where, one a kind; the ends add up, as the lots of a day err together."""
    for kind in DestinationKind:
        own = [load for load in loads if load.destination_kind is kind and load.state in STAYED]
        weighed = [
            load.weighed_net.si_value
            for load in own
            if load.weighed_net is not None and load.weight_counts
        ]
        if own:
            yield Sum(
                kind=kind.value,
                loads=len(own),
                low_kg=sum(load.mass_kg.low * load.kept_share for load in own),
                likely_kg=sum(load.mass_kg.likely * load.kept_share for load in own),
                high_kg=sum(load.mass_kg.high * load.kept_share for load in own),
                weighed=len(weighed),
                weighed_kg=sum(weighed),
                fee_cents=sum(load.fee_cents for load in own),
            )


def left_kg(look: DayLook) -> float:
    """Return what was left on lawns by what is mown, likely [kg]: nobody carried or paid it."""
    lots = _routing(look).get("lots", ())
    left: float = sum(
        lot["mass_kg"]["likely"]
        for lot in lots
        if lot["state"] == JobState.MOWN and lot["outcome"] == "left_on_lawn" and lot["mass_kg"]
    )
    return left


def _routing(look: DayLook) -> Mapping[str, Any]:
    return {} if look.plan is None else look.plan.routing


def _open(look: DayLook, loads: Sequence[Load]) -> Iterator[str]:
    """Yield what is not finished: what stays on wheels rots there over night."""
    for vehicle in _routing(look).get("vehicles", ()):
        aboard = vehicle["aboard_now"]["mass_high_kg"]
        if aboard > 0:
            yield f"{vehicle['registration']} has up to {aboard:.0f} kg aboard."
    waiting = sum(load.state in OPEN_LOAD_STATES for load in loads)
    if waiting:
        yield f"{_counted(waiting, 'load')} planned or on the way, with no end on record."
    planned = sum(lot["state"] == JobState.PLANNED for lot in _routing(look).get("lots", ()))
    if planned:
        yield f"{_counted(planned, 'lawn')} planned and not reported mown."
    if not look.is_current and look.plan is not None:
        yield f"{_counted(look.unplanned_events, 'record')} not in the newest plan."


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing} is" if number == 1 else f"{number} {thing}s are"


def _unknown(needs: Needs, caller: Caller, look: DayLook, loads: Sequence[Load]) -> Iterator[str]:
    """Yield what the service was not told, so that nobody takes silence for a yes."""
    lots = _routing(look).get("lots", ())
    unknown = sum(lot["status"] == LotStatus.UNKNOWN for lot in lots)
    if unknown:
        yield f"What was put on {unknown} of the day's lawns; unknown is never taken for clean."
    stayed = [load for load in loads if load.state in STAYED]
    unweighed = sum(not load.weight_counts for load in stayed)
    if unweighed:
        yield f"What {unweighed} of {len(stayed)} tipped loads weighed; their mass is estimated."
    beds = [load for load in stayed if load.destination_kind is DestinationKind.BED]
    notes = [_answered(needs, caller, load) for load in beds]
    without, silent = notes.count(None), notes.count(False)
    if without:
        yield f"What the clients of {without} loads were told: no note was written for them."
    if silent:
        yield f"What the clients of {silent} notes say; they have not answered."
    yield "The roads: distances are straight lines times a factor."


def _answered(needs: Needs, caller: Caller, load: Load) -> bool | None:
    """Return whether a load's note was answered; None if there is no note."""
    notes = needs.papers.delivery_notes.page(caller, filters={"load_id": load.id}).records
    if not notes:
        return None
    return any(note.acknowledgement is not None for note in notes)


def _rows(needs: Needs, caller: Caller, look: DayLook) -> Iterator[list[object]]:
    names = {
        place["destination_id"]: place["name"] for place in _routing(look).get("destinations", ())
    }
    vehicles = {
        vehicle["vehicle_id"]: vehicle["registration"]
        for vehicle in _routing(look).get("vehicles", ())
    }
    zone = look.now.tzinfo
    for load in loads_of(needs, caller, look):
        at = (load.done_at or load.arrive_at).astimezone(zone)
        weighed = None if load.weighed_net is None else round(load.weighed_net.si_value, 1)
        mass = load.mass_kg
        row: list[object] = [
            *(look.day.isoformat(), f"{at:%H:%M}", vehicles.get(str(load.vehicle_id), "")),
            *(load.destination_kind.value, names.get(str(load.destination_id), "")),
            *(load.state.value, load.status.value),
            " ".join(part.lot_code for part in load.parts),
            *(round(mass.low, 1), round(mass.likely, 1), round(mass.high, 1), weighed),
            *(load.weigh_ticket, load.refused_share, load.refusal_reason, load.fee_cents),
        ]
        yield [_cell(value) for value in row]


def _cell(value: object) -> object:
    """Return a cell that no spreadsheet takes for a formula."""
    if isinstance(value, str) and value.startswith(FORMULA_STARTS):
        return f"'{value}"
    return "" if value is None else value

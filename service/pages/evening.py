"""The owner's evening: what the day came to, what is still open, what the service does not know."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, Response, redirect
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.callers.sessions import Seat
from service.core.loads import Load
from service.core.materials import LotStatus
from service.core.places import DestinationKind
from service.documents.rendering.language import unread_languages
from service.documents.rendering.reader import refusal_words
from service.pages.day.screen import Asked, asked_day, day_asked, depots_of
from service.pages.entrance import Entrance, Sitting
from service.pages.needs import Needs
from service.pages.rendering import page
from service.pages.setup.screen import table
from service.usecases.telling.day_look import DayLook
from service.usecases.telling.evening.cells import table_text
from service.usecases.telling.evening.evening import STAYED

PLACE: Final = "/screens/evening"
DAYS_OFFERED: Final = 31
COLUMNS: Final = (
    "day,time,vehicle,destination_kind,destination,state,status,lots,mass_low_kg,mass_likely_kg,"
    "mass_high_kg,weighed_net_kg,weigh_ticket,refused_share,refusal_reason,fee_cents,"
    "load_id,vehicle_id,destination_id"
)


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
        evening = needs.tell_evening(caller, look.depot.id, look.day)
        loads = needs.tell_evening.loads(caller, look.depot.id, look.day)
        return page(
            "evening.html.j2",
            look=look,
            depots=depots,
            asked=Asked(depot_id=look.depot.id, day=look.day),
            evening=evening,
            unknown=list(_unknown(needs, caller, look, loads)),
            keys=sorted(needs.keep_keys.all(caller.firm_id), key=lambda key: key.created_at),
            firm=needs.keep_sessions.firm(caller.firm_id),
            days=days_around(look),
        )

    @routes.get(f"{PLACE}.csv")
    @entrance.admits(Seat.OWNER, Seat.DISPATCHER)
    def read_table(sitting: Sitting) -> Response:
        """Return the day's loads for a spreadsheet (RFC 4180)."""
        caller = sitting.caller
        look = needs.look_at_day(caller, asked_day(depots_of(needs, caller)), day_asked())
        name = f"loads-{look.day.isoformat()}.csv"
        return table(name, table_text(COLUMNS.split(","), _rows(needs, caller, look)))

    @routes.post(f"{PLACE}/keys/<uuid:key_id>/end")
    @entrance.admits(Seat.OWNER)
    def revoke(sitting: Sitting, key_id: UUID) -> AnyResponse:
        needs.keep_keys.revoke(sitting.caller.firm_id, key_id)
        return redirect(f"{PLACE}#keys", HTTPStatus.SEE_OTHER)

    return routes


def days_around(look: DayLook) -> list[date]:
    """Return the days to choose from, the newest first: around the one shown, up to today.

    They are told in words: a browser writes a date in its own order, not in its reader's.
    """
    last = max(look.day, min(look.day + timedelta(days=DAYS_OFFERED), look.today))
    return [last - timedelta(days=back) for back in range(2 * DAYS_OFFERED)]


def _routing(look: DayLook) -> Mapping[str, Any]:
    return {} if look.plan is None else look.plan.routing


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
        yield f"What clients were told of {_counted(without, 'load')}: no note was written."
    if silent:
        yield f"What clients say to {_counted(silent, 'note')}: nobody has answered."
    unread = unread_languages()
    if unread:
        yield f"How well it is said in {', '.join(unread)}: a machine wrote it, no speaker read it."
    yield "The roads: distances are straight lines times a factor."


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _answered(needs: Needs, caller: Caller, load: Load) -> bool | None:
    """Return whether a load's note was answered; None if there is no note."""
    notes = needs.papers.delivery_notes.page(caller, filters={"load_id": load.id}).records
    if not notes:
        return None
    return any(note.acknowledgement is not None for note in notes)


def _rows(needs: Needs, caller: Caller, look: DayLook) -> Iterator[list[object]]:
    loads = needs.tell_evening.loads(caller, look.depot.id, look.day)
    names = needs.tell_evening.names(caller, loads)
    zone = look.now.tzinfo
    for load in loads:
        at = (load.done_at or load.arrive_at).astimezone(zone)
        weighed = None if load.weighed_net is None else round(load.weighed_net.si_value, 1)
        mass = load.mass_kg
        row: list[object] = [
            *(look.day.isoformat(), f"{at:%H:%M}", names.get(load.vehicle_id, "")),
            *(load.destination_kind.value, names.get(load.destination_id, "")),
            *(load.state.value, load.status.value),
            " ".join(part.lot_code for part in load.parts),
            *(round(mass.low, 1), round(mass.likely, 1), round(mass.high, 1), weighed),
            *(
                load.weigh_ticket,
                load.refused_share,
                refusal_words(load.refusal_reason),
                load.fee_cents,
            ),
            *(str(load.id), str(load.vehicle_id), str(load.destination_id)),
        ]
        yield row

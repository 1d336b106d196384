"""The close of a day on a screen: its balance, what is open, and what was entered since."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID

from flask import Blueprint, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.mass_book import ELSEWHERE, LAWN, VEHICLE
from service.core.records import NOBODY
from service.pages.day.screen import OFFICE, Asked, asked_day, day_asked, depots_of
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import page
from service.pages.setup.filing import every
from service.usecases.telling.day_look import DayLook
from service.usecases.telling.evening.closing import ClosedDay, NotClosedYet

PLACE: Final = "/screens/close"
LONGEST_REMARKS: Final = 2000
# Less than this is what rounding leaves of nothing [kg].
NOTHING_KG: Final = 0.05
# In the order that grass goes: from its lawn, in a vehicle, to where it stays.
ORDER: Final = (LAWN, VEHICLE, "bed", "compost_site", "hold_bay", ELSEWHERE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """What a day brought to one place, less what it took from there [kg].

    ``counted_kg`` is weighed where a weight counts, ``likely_kg`` is estimated.
    """

    kind: str
    name: str
    counted_kg: float
    likely_kg: float


def closing_screens(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the page, and what its form posts to."""
    routes = Blueprint("closing_screens", __name__)

    @routes.get(PLACE)
    @entrance.admits(*OFFICE)
    def show_close(sitting: Sitting) -> AnyResponse:
        caller = sitting.caller
        depots = depots_of(needs, caller)
        look = needs.look_at_day(caller, asked_day(depots), day_asked())
        closed = _closed(needs, caller, look)
        lines = _balance(needs, caller, look)
        return page(
            "close.html.j2",
            look=look,
            asked=Asked(depot_id=look.depot.id, day=look.day),
            seat=sitting.session.seat,
            closed=closed,
            late=[] if closed is None else closed.late,
            evening=needs.close_day.before(caller, look.depot.id, look.day),
            lines=lines,
            lost_kg=sum(line.likely_kg for line in lines),
            heavier_kg=sum(line.counted_kg for line in lines),
        )

    @routes.post(PLACE)
    @entrance.admits(*OFFICE)
    def close(sitting: Sitting) -> AnyResponse:
        form = Form(request.form)
        depot_id, day = form.identifier("depot"), form.day("day")
        remarks = form.text("remarks", longest=LONGEST_REMARKS)
        form.done()
        needs.close_day(sitting.caller, depot_id or NOBODY, day or date.min, remarks=remarks)
        asked = Asked(depot_id=depot_id or NOBODY, day=day)
        return redirect(f"{PLACE}?{asked.query}", HTTPStatus.SEE_OTHER)

    return routes


def _closed(needs: Needs, caller: Caller, look: DayLook) -> ClosedDay | None:
    try:
        return needs.close_day.read(caller, look.depot.id, look.day)
    except NotClosedYet:
        return None


def _balance(needs: Needs, caller: Caller, look: DayLook) -> list[Line]:
    """Return what the day brought to every place by the mass book, all lawns in one line."""
    told: Mapping[str, Any] = needs.tell_mass_book.day(caller, look.depot.id, look.day)
    names = _names(needs, caller)
    found: dict[tuple[str, str], Line] = {}
    for row in told["balances"]:
        name = "" if row["place_kind"] == LAWN else names.get(UUID(row["place_id"]), "")
        key = row["place_kind"], name
        before = found.get(key, Line(kind=key[0], name=name, counted_kg=0.0, likely_kg=0.0))
        found[key] = replace(
            before,
            counted_kg=before.counted_kg + row["counted_kg"],
            likely_kg=before.likely_kg + row["mass_kg"]["likely"],
        )
    return sorted(
        (line for line in found.values() if abs(line.counted_kg) >= NOTHING_KG),
        key=lambda line: (ORDER.index(line.kind) if line.kind in ORDER else -1, line.name),
    )


def _names(needs: Needs, caller: Caller) -> dict[UUID, str]:
    places: Iterable[Any] = (
        one for books in needs.library.destinations.values() for one in every(books, caller)
    )
    vehicles = {one.id: one.registration for one in every(needs.library.vehicles, caller)}
    return {one.id: one.name for one in places} | vehicles

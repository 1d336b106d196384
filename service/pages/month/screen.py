"""The owner's month as a page, and each of its figures as a table for a spreadsheet."""

from __future__ import annotations

from datetime import date
from http import HTTPStatus
from typing import Final

from flask import Blueprint, Response, redirect, request
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.sessions import Seat
from service.core.errors import FieldFault, RecordMissing, RecordNotUsable
from service.pages.day.screen import Asked, asked_day, depots_of
from service.pages.entrance import Entrance, Sitting
from service.pages.month.figures import Figure, figures_of
from service.pages.needs import Needs
from service.pages.rendering import page
from service.pages.setup.screen import table
from service.pages.setup.sheet_text import written
from service.usecases.telling.day_look import DayLook

PLACE: Final = "/screens/month"
MONTHS_OFFERED: Final = 24
DECEMBER: Final = 12


def month_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the page of a month, and its tables."""
    routes = Blueprint("month", __name__)

    @routes.get(PLACE)
    @entrance.admits(Seat.OWNER)
    def show_month(sitting: Sitting) -> AnyResponse:
        depots = depots_of(needs, sitting.caller)
        if not depots:
            return redirect("/screens/setup", HTTPStatus.SEE_OTHER)
        look, first, figures = _asked(needs, sitting)
        return page(
            "month.html.j2",
            look=look,
            depots=depots,
            first=first,
            months=list(_months(look.today)),
            figures=figures,
            asked=Asked(depot_id=look.depot.id, day=None),
            firm=needs.keep_sessions.firm(sitting.caller.firm_id),
        )

    @routes.get(f"{PLACE}/<name>.csv")
    @entrance.admits(Seat.OWNER)
    def read_figure(sitting: Sitting, name: str) -> Response:
        _, first, figures = _asked(needs, sitting)
        for figure in figures:
            if figure.name == name:
                return table(f"{name}-{first:%Y-%m}.csv", written(figure.columns, figure.rows))
        raise RecordMissing(record="figure", id=name)

    return routes


def _asked(needs: Needs, sitting: Sitting) -> tuple[DayLook, date, list[Figure]]:
    caller = sitting.caller
    look = needs.look_at_day(caller, asked_day(depots_of(needs, caller)))
    text = request.args.get("month")
    try:
        first = look.today.replace(day=1) if not text else date.fromisoformat(f"{text}-01")
    except ValueError:
        detail = "Month: Write a month such as 2026-05."
        raise RecordNotUsable([FieldFault(pointer="/month", detail=detail)]) from None
    return look, first, figures_of(needs, caller, look, first)


def _months(today: date) -> list[date]:
    """Return the first days of months to choose from, the newest first."""
    found, first = [], today.replace(day=1)
    for _ in range(MONTHS_OFFERED):
        found.append(first)
        year, month = (
            (first.year - 1, DECEMBER) if first.month == 1 else (first.year, first.month - 1)
        )
        first = date(year, month, 1)
    return found

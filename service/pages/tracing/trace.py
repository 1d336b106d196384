"""Where grass went: asked by lawn, lot, place or product, with whom to call and what to say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, Final

from flask import Blueprint, Response, request

from service.core.errors import FieldFault, RecordNotUsable
from service.core.measures.units import date_words
from service.pages.day.screen import OFFICE
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import page
from service.pages.tracing.names import (
    Named,
    lawns_named,
    now_at_yard,
    places_named,
    products_named,
)
from service.usecases.mass_book.wanted_lots import WantedLots

PLACE: Final = "/screens/trace"
LONGEST_CODE: Final = 20
LONGEST_NAME: Final = 200
# What an address, or a form that begins a recall, may ask by.
ASKED: Final = ("lawn", "lot", "place", "product", "since", "until")


def trace_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the page that asks and answers."""
    routes = Blueprint("trace_screens", __name__)

    @routes.get(PLACE)
    @entrance.admits(*OFFICE)
    def show_trace(sitting: Sitting) -> Response:
        caller = sitting.caller
        traced: Mapping[str, Any] | None = None
        if any(request.args.get(name) for name in ASKED):
            traced = needs.trace_lots(caller, wanted_lots(Form(request.args)))
        now = now_at_yard(needs, caller)
        lawns, places = lawns_named(needs, caller), places_named(needs, caller)
        return page(
            "trace.html.j2",
            about=_about(request.args, (*lawns, *places)),
            traced=traced,
            said=request.args,
            asked=[(name, request.args[name]) for name in ASKED if request.args.get(name)],
            lawns=lawns,
            places=places,
            products=products_named(needs, caller),
            open_recalls=needs.keep_recalls.all(caller, is_open=True),
            now=now,
            key=needs.new_key(),
        )

    return routes


def _about(said: Mapping[str, str], named: Iterable[Named]) -> str:
    """Return what was asked about, in words."""
    names = {str(one.id): one.name for one in named}
    what = (said.get(name, "") for name in ("lawn", "place", "lot", "product"))
    days = (
        f"{word} {date_words(date.fromisoformat(said[word]))}"
        for word in ("since", "until")
        if said.get(word)
    )
    return ", ".join(filter(None, [*(names.get(one, one) for one in what), *days]))


def wanted_lots(form: Form) -> WantedLots:
    """Return which lots a form asks about. Raises RecordNotUsable."""
    wanted = WantedLots(
        lawn_id=form.identifier("lawn") if form.flag("lawn") else None,
        lot_code=form.text("lot", longest=LONGEST_CODE),
        product=form.text("product", longest=LONGEST_NAME),
        destination_id=form.identifier("place") if form.flag("place") else None,
        since=form.day("since") if form.flag("since") else None,
        until=form.day("until") if form.flag("until") else None,
    )
    form.done()
    asked = (wanted.lawn_id, wanted.lot_code, wanted.product, wanted.destination_id)
    if sum(one is not None for one in asked) != 1:
        detail = "Ask by one of these: a lawn, a lot, a place, or a product."
        raise RecordNotUsable([FieldFault(pointer="/lawn", detail=detail)])
    return wanted

"""All screens, and the files they are made of."""

from __future__ import annotations

from collections.abc import Iterator
from http import HTTPStatus

from flask import Blueprint, Response, abort

from service.pages.closing import closing_screens
from service.pages.day.acts import act_routes
from service.pages.day.orders import order_routes
from service.pages.day.screen import day_routes
from service.pages.day.supposing import supposing_routes
from service.pages.entrance import Entrance
from service.pages.evening import evening_routes
from service.pages.feeds.routes import feed_routes
from service.pages.gate import gate_routes
from service.pages.joining import joining_routes
from service.pages.lists import list_routes
from service.pages.month.screen import month_routes
from service.pages.needs import Needs
from service.pages.people import people_routes
from service.pages.persons.screen import person_screens
from service.pages.rendering import ASSETS, KINDS, asset_bytes, page
from service.pages.round.screen import round_routes
from service.pages.setup.editing import edit_routes
from service.pages.setup.screen import setup_routes
from service.pages.setup.work import work_routes
from service.pages.tracing.recalls import recall_routes
from service.pages.tracing.trace import trace_routes
from service.pages.tracing.treatments import treatment_routes

# A file's address changes with the file, so what was fetched once never goes out of date.
FOREVER = "public, max-age=31536000, immutable"


def all_screens(needs: Needs) -> Iterator[Blueprint]:
    """Return every group of screens."""
    entrance = Entrance(needs)
    for routes in _each_of(needs, entrance):
        routes.register_error_handler(HTTPStatus.INTERNAL_SERVER_ERROR, entrance.tells_what_broke)
        yield routes


def _each_of(needs: Needs, entrance: Entrance) -> Iterator[Blueprint]:
    yield _asset_routes()
    yield joining_routes(needs, entrance)
    yield day_routes(needs, entrance)
    yield act_routes(needs, entrance)
    yield supposing_routes(needs, entrance)
    yield order_routes(needs, entrance)
    yield people_routes(needs, entrance)
    yield person_screens(needs, entrance)
    yield round_routes(needs, entrance)
    yield gate_routes(needs, entrance)
    yield evening_routes(needs, entrance)
    yield closing_screens(needs, entrance)
    yield setup_routes(needs, entrance)
    yield edit_routes(needs, entrance)
    yield work_routes(needs, entrance)
    yield treatment_routes(needs, entrance)
    yield trace_routes(needs, entrance)
    yield recall_routes(needs, entrance)
    yield feed_routes(needs, entrance)
    yield list_routes(needs, entrance)
    yield month_routes(needs, entrance)
    yield _nowhere_routes(entrance)


def _asset_routes() -> Blueprint:
    routes = Blueprint("assets", __name__)

    @routes.get(f"{ASSETS}/<name>")
    def read_asset(name: str) -> Response:
        """Serve a file of ours; the name is looked up, never joined to a path."""
        kind = KINDS.get(name.rpartition(".")[2])
        try:
            if kind is None:
                abort(HTTPStatus.NOT_FOUND)
            body = asset_bytes(name)
        except OSError:
            abort(HTTPStatus.NOT_FOUND)
        return Response(body, content_type=kind, headers={"Cache-Control": FOREVER})

    return routes


def _nowhere_routes(entrance: Entrance) -> Blueprint:
    """Return what answers an address that leads nowhere: a page to people, a problem to programs.

    What is sent there, and another method at an address that is ours, is answered as anywhere.
    """
    routes = Blueprint("nowhere", __name__)

    def tell(rest: str = "") -> Response:  # noqa: ARG001 - whatever was asked for
        if not entrance.asks_for_a_page():
            abort(HTTPStatus.NOT_FOUND)
        return page(
            "refusal.html.j2",
            status=HTTPStatus.NOT_FOUND,
            title="There is nothing at this address",
            lines=["If it came in a message, open the whole link, or ask whoever sent it again."],
            back="/screens" if entrance.session() else None,
        )

    for number, place in enumerate(("/screens", "/notes", "/feeds")):
        routes.add_url_rule(f"{place}/", f"at_{number}", tell)
        routes.add_url_rule(f"{place}/<path:rest>", f"below_{number}", tell)
    return routes

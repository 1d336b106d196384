"""All screens, and the files they are made of."""

from __future__ import annotations

from collections.abc import Iterator

from flask import Blueprint, Response, abort

from service.pages.day.acts import act_routes
from service.pages.day.screen import day_routes
from service.pages.entrance import Entrance
from service.pages.evening import evening_routes
from service.pages.gate import gate_routes
from service.pages.joining import joining_routes
from service.pages.needs import Needs
from service.pages.people import people_routes
from service.pages.rendering import ASSETS, KINDS, asset_bytes
from service.pages.round.screen import round_routes

# A file's address changes with the file, so what was fetched once never goes out of date.
FOREVER = "public, max-age=31536000, immutable"


def all_screens(needs: Needs) -> Iterator[Blueprint]:
    """Return every group of screens."""
    entrance = Entrance(needs)
    yield _asset_routes()
    yield joining_routes(needs, entrance)
    yield day_routes(needs, entrance)
    yield act_routes(needs, entrance)
    yield people_routes(needs, entrance)
    yield round_routes(needs, entrance)
    yield gate_routes(needs, entrance)
    yield evening_routes(needs, entrance)


def _asset_routes() -> Blueprint:
    routes = Blueprint("assets", __name__)

    @routes.get(f"{ASSETS}/<name>")
    def read_asset(name: str) -> Response:
        """Serve a file of ours; the name is looked up, never joined to a path."""
        kind = KINDS.get(name.rpartition(".")[2])
        try:
            if kind is None:
                abort(404)
            body = asset_bytes(name)
        except OSError:
            abort(404)
        return Response(body, content_type=kind, headers={"Cache-Control": FOREVER})

    return routes

"""Joining and leaving: a link is looked at first, and used by a button."""

from __future__ import annotations

from http import HTTPStatus
from typing import Final

from flask import Blueprint, redirect
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.sessions import Seat
from service.pages.entrance import Entrance, Sitting
from service.pages.needs import Needs
from service.pages.rendering import page
from service.pages.speaking import spoken, tongues
from service.usecases.base.whose import working_for
from service.usecases.records.callers.sessions import SESSION_LASTS

START: Final = {
    Seat.OWNER: "/screens/day",
    Seat.DISPATCHER: "/screens/day",
    Seat.CREW: "/screens/round/",
    Seat.SITE: "/screens/gate",
}


def joining_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the way in and the way out."""
    routes = Blueprint("joining", __name__)

    @routes.get("/join/<token>")
    @entrance.guards
    def look_at_link(token: str) -> AnyResponse:
        """Say what the link does: whoever previews it uses nothing up."""
        entrance.refuse_in_public()
        invited = needs.keep_sessions.invited(token)
        shown = page(
            "join.html.j2",
            reader=spoken(),
            tongues=tongues(),
            invited=invited,
            days=SESSION_LASTS.days,
            ends=entrance.ends_with(invited.session.seat),
        )
        return entrance.keeps_language(shown)

    @routes.post("/join/<token>")
    @entrance.guards
    def join(token: str) -> AnyResponse:
        entrance.refuse_in_public()
        joined = needs.keep_sessions.join(token)
        before = entrance.ends_with(joined.session.seat)
        if before is not None:
            with working_for(before.firm_id):
                needs.keep_sessions.end(before.firm_id, before.id)
        response = redirect(START[joined.session.seat], HTTPStatus.SEE_OTHER)
        entrance.lets_in(response, joined)
        return response

    @routes.get("/screens")
    @entrance.admits()
    def start(sitting: Sitting) -> AnyResponse:
        """Lead everybody to the screen they need first."""
        return redirect(START[sitting.session.seat], HTTPStatus.SEE_OTHER)

    @routes.post("/screens/leave")
    @entrance.admits()
    def leave(sitting: Sitting) -> AnyResponse:
        needs.keep_sessions.end(sitting.caller.firm_id, sitting.session.id)
        response = page("left.html.j2", reader=spoken())
        entrance.shows_out(response, sitting)
        return response

    return routes

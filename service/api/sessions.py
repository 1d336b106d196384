"""Sessions of people before screens: invite, list, and show out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final
from uuid import UUID

from marshmallow import post_load

from service.api.contract.examples import EXAMPLE_ID, EXAMPLE_TIME, OTHER_ID
from service.api.contract.schemas import Answered, Described, Entries
from service.api.exchange.door import Asked, Door
from service.api.exchange.routes import Routes
from service.api.fields import Choice, Flag, Identifier, Link, Moment, Text
from service.core.callers.access import Act, Caller
from service.core.callers.sessions import Seat, Session
from service.usecases.records.callers.invitations import Invitation
from service.usecases.records.callers.sessions import KeepSessions

ABOUT: Final = (
    "People before the screens under `/screens`. Each is invited by a link that works once, for "
    "three days; whoever opens it there has a session of 31 days on that device. A session acts as "
    "a key of its seat would; a crew lead is shown the day of one crew, a gate its own site. An "
    "owner may invite and show out everybody, a dispatcher no owner. A compost site can answer "
    "without joining: with `by_link` the link itself opens the gate's page of that site, and "
    "nothing else, for whoever has it, until it ends or is withdrawn."
)


BY_LINK: Final = (
    "Whether a compost site's gate is opened by the link itself, without a device that joins. Each "
    "word that is said by it is kept as the link's: the history of a record says `site_link`."
)


class NewSession(Described):
    """Who is invited, and to whose screens."""

    seat = Choice(Seat, required=True)
    name = Text(longest=120, required=True, metadata={"description": "Whose telephone it is."})
    crew_id = Identifier(metadata={"description": "Whose day a crew lead is shown."})
    compost_site_id = Identifier(metadata={"description": "Whose gate."})
    by_link = Flag(metadata={"description": BY_LINK})
    until = Moment(
        metadata={
            "description": (
                "Until when the link opens the gate, 366 days from now at the latest; 31 days if "
                "left out. Said with `by_link` alone."
            )
        }
    )

    @post_load
    def build(self, data: Mapping[str, Any], **_: Any) -> Invitation:
        """Return the invitation."""
        return Invitation(**data)


class SessionAnswer(Answered):
    """A person's way in, without its secret: nobody knows that."""

    id = Identifier()
    seat = Choice(Seat)
    name = Text(longest=120)
    crew_id = Identifier(allow_none=True)
    compost_site_id = Identifier(allow_none=True)
    by_link = Flag(metadata={"description": BY_LINK})
    invited_by_id = Identifier(allow_none=True)
    invited_at = Moment()
    link = Link(
        allow_none=True,
        metadata={
            "description": (
                "What the person opens; null once it was used, is too old or was withdrawn, and to "
                "who may not invite to that seat. With `by_link` it is not used up."
            )
        },
    )
    link_until = Moment()
    joined_at = Moment(allow_none=True)
    until = Moment(
        allow_none=True,
        metadata={"description": "When the device has to be invited anew, or the link ends."},
    )
    ended_at = Moment(allow_none=True)


class SessionsAnswer(Answered):
    """Everybody who was invited, the newest first."""

    items = Entries(SessionAnswer)
    next = Link(allow_none=True, metadata={"description": "Always null: all are listed."})


def session_routes(keep_sessions: KeepSessions, door: Door, *, public_url: str) -> Routes:
    """Return the routes of /sessions."""
    routes = Routes("sessions", description=ABOUT)
    answers = SessionAnswer()

    def told(session: Session, by: Caller) -> dict[str, Any]:
        way = keep_sessions.way_in(session, by=by)
        link = None if way is None else public_url + way
        fields = {name: getattr(session, name) for name in answers.fields if name != "link"}
        return {**fields, "link": link}

    @routes.operation("POST", "/sessions", name="invite", summary="Invite a person to the screens.")
    @door.admits(Act.INVITE)
    @routes.body(NewSession, example={"seat": "crew", "name": "Dana", "crew_id": OTHER_ID})
    @routes.response(201, SessionAnswer, example=_EXAMPLE)
    def invite(asked: Asked, invitation: Invitation) -> dict[str, Any]:
        session = keep_sessions.invite(
            asked.caller.firm_id, invitation, by=asked.caller, identifiers=asked.identifiers
        )
        return told(session, asked.caller)

    @routes.operation("GET", "/sessions", name="list_sessions", summary="List who was invited.")
    @door.admits(Act.INVITE)
    @routes.response(200, SessionsAnswer, example={"items": [_EXAMPLE], "next": None})
    def list_sessions(asked: Asked) -> dict[str, Any]:
        items = [told(one, asked.caller) for one in keep_sessions.all(asked.caller.firm_id)]
        return {"items": items, "next": None}

    @routes.operation(
        "POST",
        "/sessions/<uuid:record_id>/end",
        name="end_session",
        summary="End a session, or withdraw its link; who was shown out has to be invited anew.",
    )
    @door.admits(Act.INVITE)
    @routes.response(200, SessionAnswer, example={**_EXAMPLE, "link": None})
    def end_session(asked: Asked, record_id: UUID) -> dict[str, Any]:
        caller = asked.caller
        return told(keep_sessions.end(caller.firm_id, record_id, by=caller), caller)

    return routes


_EXAMPLE: Final = {
    "id": EXAMPLE_ID,
    "seat": "crew",
    "name": "Dana",
    "crew_id": OTHER_ID,
    "compost_site_id": None,
    "by_link": False,
    "invited_by_id": OTHER_ID,
    "invited_at": EXAMPLE_TIME.isoformat(),
    "link": "https://example.org/join/AZAAAAAAcACAAAAAAAAAAQ",
    "link_until": EXAMPLE_TIME.isoformat(),
    "joined_at": None,
    "until": None,
    "ended_at": None,
}

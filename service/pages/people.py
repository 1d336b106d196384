"""People: who may see which screens, their links as square codes, and the way out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from http import HTTPStatus
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from flask import Blueprint, Response, redirect, request
from markupsafe import Markup
from werkzeug.wrappers import Response as AnyResponse

from service.core.callers.access import Caller
from service.core.callers.sessions import MAY_INVITE, Seat, Session
from service.core.places import CompostSite
from service.core.records import NOBODY
from service.documents.rendering.quick_code import code_svg
from service.pages.entrance import Entrance, Sitting
from service.pages.forms import Form
from service.pages.needs import Needs
from service.pages.rendering import page
from service.usecases.records.callers.invitations import Invitation

PLACE: Final = "/screens/people"
LONGEST_NAME: Final = 120
MOST_NAMED: Final = 500


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """A session as it is listed: ``of`` which crew or gate, its link as long as that works."""

    session: Session
    of: str
    link: str | None
    is_over: bool

    @property
    def code(self) -> Markup | None:
        """The link as a square code for a camera."""
        if self.link is None:
            return None
        return Markup(code_svg(self.link, in_page=True))  # noqa: S704 - made here, nothing of anybody's in it


def people_routes(needs: Needs, entrance: Entrance) -> Blueprint:
    """Return the screen of people, and what its forms post to."""
    routes = Blueprint("people", __name__)
    office = entrance.admits(Seat.DISPATCHER, Seat.OWNER)

    @routes.get(PLACE)
    @office
    def show_people(sitting: Sitting) -> Response:
        caller, library = sitting.caller, needs.library
        crews: Sequence[Any] = library.crews.page(caller, filters={}, limit=MOST_NAMED).records
        sites: Sequence[Any] = library.compost_sites.page(
            caller, filters={}, limit=MOST_NAMED
        ).records
        names = {one.id: one.name for one in (*crews, *sites)}
        return page(
            "people.html.j2",
            people=[
                _person(needs, one, caller, names)
                for one in needs.keep_sessions.all(caller.firm_id)
            ],
            made=request.args.get("made", ""),
            may_end=MAY_INVITE[caller.role],
            me=sitting.session,
            seats=[seat for seat in Seat if seat in MAY_INVITE[caller.role]],
            crews=crews,
            sites=sites,
        )

    @routes.post(PLACE)
    @office
    def invite(sitting: Sitting) -> AnyResponse:
        form = Form(request.form)
        seat = form.choice("seat", tuple(Seat))
        name = form.text("name", required=True, longest=LONGEST_NAME)
        of_crew, of_site = seat == Seat.CREW, seat == Seat.SITE
        crew_id = form.identifier("crew_id") if of_crew else None
        site_id = form.identifier("compost_site_id") if of_site else None
        form.done()
        session = needs.keep_sessions.invite(
            sitting.caller.firm_id,
            Invitation(
                seat=Seat(seat or ""), name=name or "", crew_id=crew_id, compost_site_id=site_id
            ),
            by=sitting.caller,
        )
        return redirect(_shown(session), HTTPStatus.SEE_OTHER)

    @routes.post(f"{PLACE}/links")
    @office
    def make_link(sitting: Sitting) -> AnyResponse:
        """Make what lets a site answer without joining, until its last day is over there."""
        form = Form(request.form)
        name = form.text("name", required=True, longest=LONGEST_NAME)
        site_id = form.identifier("compost_site_id")
        last = form.day("until") if form.flag("until") else None
        form.done()
        site: CompostSite = needs.library.compost_sites.read(sitting.caller, site_id or NOBODY)
        until = None if last is None else _end_of(last, ZoneInfo(site.time_zone))
        invitation = Invitation(
            seat=Seat.SITE, name=name or "", compost_site_id=site.id, by_link=True, until=until
        )
        session = needs.keep_sessions.invite(sitting.caller.firm_id, invitation, by=sitting.caller)
        return redirect(_shown(session), HTTPStatus.SEE_OTHER)

    @routes.post(f"{PLACE}/<uuid:session_id>/end")
    @office
    def end(sitting: Sitting, session_id: UUID) -> AnyResponse:
        needs.keep_sessions.end(sitting.caller.firm_id, session_id, by=sitting.caller)
        return redirect(PLACE, HTTPStatus.SEE_OTHER)

    return routes


def _end_of(day: date, zone: ZoneInfo) -> datetime:
    """Return the last minute of a day, which is named as the day a link ends on."""
    return datetime.combine(day, time(23, 59), tzinfo=zone)


def _shown(session: Session) -> str:
    """Return where a link that was just made lies open: it is to be handed on."""
    return f"{PLACE}?made={session.id}#{session.id}"


def _person(needs: Needs, session: Session, caller: Caller, names: Mapping[UUID, str]) -> Person:
    way = needs.keep_sessions.way_in(session, by=caller)
    return Person(
        session=session,
        of=names.get(session.crew_id or session.compost_site_id or NOBODY, ""),
        link=None if way is None else needs.public_url + way,
        is_over=needs.keep_sessions.is_over(session),
    )

"""Commands on people's sessions: a link that joins one device, who has joined, who is shown out."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

import segno

from service.bootstrap import sessions_of
from service.cli.records import DATABASE_URL, told_plainly
from service.core.callers.sessions import Seat, Session
from service.gateways.time_and_ids import FreshIdentifiers, SystemClock
from service.settings import Settings
from service.storage.engine import make_engine
from service.storage.unit_of_work import reading_opener, unit_of_work_opener
from service.usecases.base.whose import working_for
from service.usecases.records.callers.invitations import Invitation
from service.usecases.records.callers.sessions import KeepSessions


def invite(called: Namespace, environment: Mapping[str, str]) -> None:
    """Print a link; it alone goes to standard output, its square code beside it for a camera."""
    invitation = Invitation(
        seat=Seat(called.seat),
        name=called.name,
        crew_id=called.crew,
        compost_site_id=called.site,
    )
    with _opened(called, environment) as (sessions, settings):
        session = sessions.invite(called.firm, invitation)
        link = settings.public_url + (sessions.way_in(session) or "")
    print(
        f"Session {session.id}. Its link works once, until "
        f"{session.link_until:%Y-%m-%d %H:%M} UTC:",
        file=sys.stderr,
    )
    segno.make(link, error="m", micro=False).terminal(out=sys.stderr, compact=True)
    print(link)


def list_sessions(called: Namespace, environment: Mapping[str, str]) -> None:
    """Print everybody who was invited."""
    with _opened(called, environment) as (sessions, _):
        for one in sessions.all(called.firm):
            print(f"{one.id}  {one.seat.value:<10}  {_state_of(one):<19}  {one.name}")


def end_session(called: Namespace, environment: Mapping[str, str]) -> None:
    """Show somebody out."""
    with _opened(called, environment) as (sessions, _):
        sessions.end(called.firm, called.session)
    print(f"Session {called.session} opens nothing any more.")


def _state_of(session: Session) -> str:
    if session.ended_at is not None:
        return f"ended {session.ended_at:%Y-%m-%d}"
    if session.joined_at is not None:
        return f"joined {session.joined_at:%Y-%m-%d}"
    if session.by_link:
        return f"link to {session.link_until:%Y-%m-%d}"
    return f"invited {session.invited_at:%Y-%m-%d}"


@contextmanager
def _opened(
    called: Namespace, environment: Mapping[str, str]
) -> Iterator[tuple[KeepSessions, Settings]]:
    if called.database_url is not None:
        environment = {**environment, DATABASE_URL: called.database_url}
    settings = Settings.from_env(environment)
    with told_plainly(), working_for(called.firm):
        engine = make_engine(settings.database_url)
        try:
            yield (
                sessions_of(
                    settings,
                    open_unit_of_work=unit_of_work_opener(engine),
                    open_reading=reading_opener(engine),
                    clock=SystemClock(),
                    identifiers=FreshIdentifiers(),
                ),
                settings,
            )
        finally:
            engine.dispose()

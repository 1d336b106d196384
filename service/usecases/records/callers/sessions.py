"""Sessions of people before screens: invited, joined once, found by their cookie, ended."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller, Firm, with_role
from service.core.callers.sessions import MAY_INVITE, Seat, Session
from service.core.errors import NotAllowed, RecordMissing, RecordNotUsable, Refusal
from service.core.records import Identifiers
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork, UnitOfWork
from service.usecases.base.use_cases import Changing
from service.usecases.base.whose import EveryFirm, working_for
from service.usecases.records.callers.api_keys import SECRET_BYTES, MakeSecret, fingerprint_of
from service.usecases.records.callers.invitations import Invitation, link_faults, seat_faults
from service.usecases.records.callers.join_tokens import JoinTokens, Purpose

# Common practice, no source: a link outlives a weekend, a session a month on one's own telephone.
LINK_WORKS: Final = timedelta(days=3)
SESSION_LASTS: Final = timedelta(days=31)


class LinkSpent(Refusal):
    """A link to join works once, for some days, until it is withdrawn."""

    code = "link_spent"
    sentence = (
        "This link was used, is too old, or was withdrawn. Ask whoever sent it for a new one."
    )


class GateLinkEnded(Refusal):
    """A link that opened a gate once: its day is over, or it was withdrawn."""

    code = "gate_link_ended"
    sentence = "This link has ended. Ask {firm} for another: {phone}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Invited:
    """A session that waits for its person: of which firm, and at which crew or site."""

    session: Session
    firm_name: str
    place: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Joined:
    """A session with the secret of its cookie: the only time it is ever told."""

    session: Session
    secret: str = field(repr=False)


@dataclass(frozen=True, kw_only=True, eq=False)
class KeepSessions(Changing):
    """Invite people, let them in, tell who they are, and show them out."""

    # Every page asks whose its cookie is: that must not wait for writers, nor hold them up.
    open_reading: OpenUnitOfWork
    # Gives unguessable text of so many bytes.
    make_secret: MakeSecret
    tokens: JoinTokens

    def invite(
        self,
        firm_id: UUID,
        invitation: Invitation,
        *,
        by: Caller | None = None,
        identifiers: Identifiers | None = None,
    ) -> Session:
        """Return a session that waits for its link to be used.

        Parameters
        ----------
        by
            Who invites; None at the machine's own command line.

        Raises
        ------
        NotAllowed, RecordMissing, RecordNotUsable
        """
        if not _may(by, invitation.seat):
            raise _not_allowed(by, "invite", invitation.seat)
        now = self.clock.now()
        until = (invitation.until or now + SESSION_LASTS) if invitation.by_link else None
        session = Session(
            id=(identifiers or self.identifiers).next_id(),
            firm_id=firm_id,
            seat=invitation.seat,
            name=invitation.name,
            crew_id=invitation.crew_id,
            compost_site_id=invitation.compost_site_id,
            by_link=invitation.by_link,
            invited_by_id=None if by is None else by.key_id,
            invited_at=now,
            link_until=until or now + LINK_WORKS,
            until=until,
        )
        with self.open_unit_of_work() as unit:
            kept = unit.sessions.find(session.id)
            if kept is not None and kept.firm_id == firm_id:
                # A try of the same request kept it, and was cut off before it could say so.
                return kept
            if unit.firms.get(firm_id) is None:
                raise RecordMissing(record="firm", id=firm_id)
            faults = [*seat_faults(unit, session), *link_faults(invitation, now)]
            if faults:
                raise RecordNotUsable(faults)
            unit.sessions.add(session)
            unit.commit()
        return session

    def way_in(self, session: Session, *, by: Caller | None = None) -> str | None:
        """Return the path of a session's link, as long as the link works.

        Whoever opens it is let in: it is shown only to those who might have invited.

        Parameters
        ----------
        by
            Who looks; None at the machine's own command line.
        """
        now = self.clock.now()
        if not _may(by, session.seat):
            return None
        if session.by_link:
            token = self.tokens.token(session.id, Purpose.GATE)
            return f"/gate/{token}" if session.is_open(now) else None
        return f"/join/{self.tokens.token(session.id)}" if session.may_join(now) else None

    def invited(self, token: str) -> Invited:
        """Return what a link leads to, without using the link. Raises LinkSpent."""
        session_id = self.tokens.session_id(token)
        if session_id is None:
            raise LinkSpent
        with working_for(EveryFirm.CALLERS), self.open_reading() as unit:
            session = unit.sessions.find(session_id)
            if session is None or not session.may_join(self.clock.now()):
                raise LinkSpent
            firm = unit.firms.get(session.firm_id)
            place = _place(unit, session)
        return Invited(session=session, firm_name="" if firm is None else firm.name, place=place)

    def join(self, token: str) -> Joined:
        """Use a link up and return the session it opens. Raises LinkSpent."""
        session = self.invited(token).session
        now, secret = self.clock.now(), self.make_secret(SECRET_BYTES)
        joined = replace(
            session,
            joined_at=now,
            secret_sha256=fingerprint_of(secret),
            until=now + SESSION_LASTS,
        )
        with working_for(session.firm_id), self.open_unit_of_work() as unit:
            if not unit.sessions.join(joined):
                raise LinkSpent
            unit.commit()
        return Joined(session=joined, secret=secret)

    def find(self, secret: str) -> Session | None:
        """Return the open session of a cookie, or None."""
        if not secret.isascii():
            return None
        with working_for(EveryFirm.CALLERS), self.open_reading() as unit:
            session = unit.sessions.find_by_secret(fingerprint_of(secret))
        return session if session is not None and session.is_open(self.clock.now()) else None

    def by_link(self, token: str) -> Session:
        """Return the open session of a link to a gate.

        Raises
        ------
        LinkSpent, GateLinkEnded
            If nobody made it here; if its day is over, or it was withdrawn.
        """
        session_id = self.tokens.session_id(token, Purpose.GATE)
        if session_id is None:
            raise LinkSpent
        with working_for(EveryFirm.CALLERS), self.open_reading() as unit:
            session = unit.sessions.find(session_id)
        if session is None or not session.by_link:
            raise LinkSpent
        if not session.is_open(self.clock.now()):
            with working_for(session.firm_id):
                firm = self.firm(session.firm_id)
            raise GateLinkEnded(firm=firm.name, phone=firm.phone)
        return session

    def firm(self, firm_id: UUID) -> Firm:
        """Return whose screens they are. Raises RecordMissing."""
        with self.open_reading() as unit:
            firm = unit.firms.get(firm_id)
        if firm is None:
            raise RecordMissing(record="firm", id=firm_id)
        return firm

    def read(self, firm_id: UUID, session_id: UUID) -> Session:
        """Return a session of the firm. Raises RecordMissing."""
        with self.open_reading() as unit:
            session = unit.sessions.find(session_id)
        if session is None or session.firm_id != firm_id:
            raise RecordMissing(record="session", id=session_id)
        return session

    def all(self, firm_id: UUID) -> list[Session]:
        """Return every session of the firm, the newest first."""
        with self.open_reading() as unit:
            kept = unit.sessions.all(firm_id)
        return sorted(kept, key=lambda one: (one.invited_at, one.id), reverse=True)

    def is_over(self, session: Session) -> bool:
        """Return whether a session opens nothing any more, nor can be joined."""
        now = self.clock.now()
        return not session.is_open(now) and not session.may_join(now)

    def end(self, firm_id: UUID, session_id: UUID, *, by: Caller | None = None) -> Session:
        """End a session, or withdraw its link, from now on.

        Parameters
        ----------
        by
            Who shows them out; None for the person themselves, and at the machine's command line.

        Raises
        ------
        NotAllowed, RecordMissing
        """
        session = self.read(firm_id, session_id)
        if not _may(by, session.seat):
            raise _not_allowed(by, "show out", session.seat)
        with self.open_unit_of_work() as unit:
            if not unit.sessions.end(firm_id, session_id, self.clock.now()):
                raise RecordMissing(record="session", id=session_id)
            unit.commit()
        return self.read(firm_id, session_id)


def _may(by: Caller | None, seat: Seat) -> bool:
    """Return whether somebody may decide who sits there: nobody does above themselves."""
    return by is None or seat in MAY_INVITE.get(by.role, frozenset())


def _not_allowed(by: Caller | None, act: str, seat: Seat) -> NotAllowed:
    role = "nobody" if by is None else by.role.value
    whose = with_role(one for one, seats in MAY_INVITE.items() if seat in seats)
    return NotAllowed(role=role, act=f"{act} a person as {seat.value}", whose=whose)


def _place(unit: UnitOfWork, session: Session) -> str | None:
    """Return the name of the crew or site a session is for."""
    if session.crew_id is not None:
        crew = unit.crews.get(session.firm_id, session.crew_id)
        return None if crew is None else crew.name
    if session.compost_site_id is not None:
        site = unit.compost_sites.get(session.firm_id, session.compost_site_id)
        return None if site is None else site.name
    return None

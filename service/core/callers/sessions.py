"""Sessions: who sits before a screen, since when, and what of the firm they are shown."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Final
from uuid import UUID

from service.core.callers.access import Caller, Role


class Seat(StrEnum):
    """Whose screens they are."""

    OWNER = "owner"
    DISPATCHER = "dispatcher"
    CREW = "crew"
    SITE = "site"


ROLES: Final = {
    Seat.OWNER: Role.OWNER,
    Seat.DISPATCHER: Role.DISPATCHER,
    Seat.CREW: Role.CREW,
    Seat.SITE: Role.SITE,
}
# Nobody invites above themselves.
MAY_INVITE: Final = {
    Role.OWNER: frozenset(Seat),
    Role.DISPATCHER: frozenset({Seat.DISPATCHER, Seat.CREW, Seat.SITE}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One person's way in: invited by a link that works once, then known by a cookie.

    Of the cookie only the hash is kept, of the link nothing: it is signed. ``crew_id`` is whose day
    a crew lead is shown, ``compost_site_id`` whose gate. ``by_link`` is the way in of a site that
    joins no device: its link opens the gate until it ends, as often as it is opened.
    """

    id: UUID
    firm_id: UUID
    seat: Seat
    name: str
    crew_id: UUID | None = None
    compost_site_id: UUID | None = None
    by_link: bool = False
    invited_by_id: UUID | None = None
    invited_at: datetime
    link_until: datetime
    joined_at: datetime | None = None
    secret_sha256: str | None = field(default=None, repr=False)
    until: datetime | None = None
    ended_at: datetime | None = None

    def may_join(self, now: datetime) -> bool:
        """Return whether the link still lets a device join."""
        waits = self.joined_at is None and self.ended_at is None
        return waits and not self.by_link and now < self.link_until

    def is_open(self, now: datetime) -> bool:
        """Return whether the person is let in."""
        return self.until is not None and self.ended_at is None and now < self.until

    @property
    def caller(self) -> Caller:
        """Return who asks, for the use cases; changes are kept under the id of the session."""
        return Caller(firm_id=self.firm_id, key_id=self.id, role=ROLES[self.seat])

"""Who is invited to which screens, and what is wrong with an invitation."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from service.core.callers.sessions import Seat, Session
from service.core.errors import FieldFault
from service.usecases.base.ports.unit_of_work import UnitOfWork

# A season and its winter, as the address of a calendar. Common practice, no source.
LONGEST_BY_LINK: Final = timedelta(days=366)


@dataclass(frozen=True, slots=True, kw_only=True)
class Invitation:
    """Who is invited to which screens; ``until`` when a link opens a gate, None for a month."""

    seat: Seat
    name: str
    crew_id: UUID | None = None
    compost_site_id: UUID | None = None
    by_link: bool = False
    until: datetime | None = None


def seat_faults(unit: UnitOfWork, session: Session) -> list[FieldFault]:
    """Return what is wrong with whom a session is for: every fault at once."""
    scopes = (
        ("crew_id", Seat.CREW, session.crew_id, unit.crews, "crew"),
        (
            "compost_site_id",
            Seat.SITE,
            session.compost_site_id,
            unit.compost_sites,
            "compost site",
        ),
    )
    found = []
    for name, seat, record_id, repository, noun in scopes:
        if (session.seat is seat) != (record_id is not None):
            detail = f"Named where the seat is {seat.value}, and nowhere else."
            found.append(FieldFault(pointer=f"/{name}", detail=detail))
        elif record_id is not None and repository.get(session.firm_id, record_id) is None:
            detail = f"There is no such {noun}."
            found.append(FieldFault(pointer=f"/{name}", detail=detail, code="reference_missing"))
    return found


def link_faults(invitation: Invitation, now: datetime) -> list[FieldFault]:
    """Return what is wrong with the link of who joins no device: every fault at once."""
    found = []
    if invitation.by_link and invitation.seat is not Seat.SITE:
        detail = "Only the gate of a compost site is opened by a link that joins no device."
        found.append(FieldFault(pointer="/by_link", detail=detail))
    if invitation.until is None:
        return found
    if not invitation.by_link:
        detail = "Said of a link that joins no device alone: what a device joins has its own end."
        found.append(FieldFault(pointer="/until", detail=detail))
    elif not now < invitation.until <= now + LONGEST_BY_LINK:
        detail = f"A link ends in the future, in {LONGEST_BY_LINK.days} days at the latest."
        found.append(FieldFault(pointer="/until", detail=detail))
    return found

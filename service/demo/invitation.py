"""What to open and what to ask, ready to be copied."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from service.core.callers.sessions import Seat
from service.demo.story import GATES, TRUCKS
from service.usecases.records.callers.invitations import Invitation
from service.usecases.records.callers.sessions import KeepSessions

LEAD = TRUCKS[0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asking:
    """What the three requests name."""

    address: str
    key: str
    lawn: str
    crew: str
    vehicle: str
    cut_at: str
    depot: str
    note: str


# The page of the project shows the same requests with these words where the demo writes its own.
IN_WORDS = Asking(
    address="http://127.0.0.1:8080",
    key="KEY",
    lawn="LAWN",
    crew="CREW",
    vehicle="VEHICLE",
    cut_at="CUT_AT",
    depot="DEPOT",
    note="NOTE",
)


def asking(
    *,
    address: str,
    secret: str,
    lawn_id: UUID,
    crew_id: UUID,
    vehicle_id: UUID,
    cut_at: datetime,
    depot_id: UUID,
    note_id: UUID,
) -> Asking:
    """Return the demo's own values."""
    return Asking(
        address=address,
        key=secret,
        lawn=str(lawn_id),
        crew=str(crew_id),
        vehicle=str(vehicle_id),
        cut_at=cut_at.strftime("%Y-%m-%dT%H:%M:%SZ"),
        depot=str(depot_id),
        note=str(note_id),
    )


def curl_lines(values: Asking) -> tuple[str, str, str]:
    """Return three lines for a shell: post a job, read the day's routing, fetch a note."""
    bearer = f"-H 'Authorization: Bearer {values.key}'"
    job = json.dumps(
        {
            "lawn_id": values.lawn,
            "crew_id": values.crew,
            "vehicle_id": values.vehicle,
            "state": "mown",
            "cut_at": values.cut_at,
            "area_mowed": {"value": 220, "unit": "m2"},
            "height_removed": {"value": 30, "unit": "mm"},
            "grass_kind": "cool_season",
            "wetness": "dry",
            "treatment_history": "none_recorded",
        }
    )
    routing = f"{values.address}/days/today/routing?depot_id={values.depot}"
    return (
        f"curl -sS {values.address}/jobs {bearer} -H 'Content-Type: application/json' -d '{job}'",
        f"curl -sS '{routing}' {bearer} -H 'Prefer: wait=10'",
        f"curl -sS {values.address}/delivery-notes/{values.note} {bearer}",
    )


def people_of(crew_id: UUID, site_id: UUID) -> tuple[tuple[str, Invitation], ...]:
    """Return whom the demo invites, each with what they are there."""
    return (
        ("the dispatcher", Invitation(seat=Seat.DISPATCHER, name="Office")),
        (
            f"{LEAD.lead}, who leads crew {LEAD.crew}",
            Invitation(seat=Seat.CREW, name=LEAD.lead, crew_id=crew_id),
        ),
        ("the owner", Invitation(seat=Seat.OWNER, name="Owner")),
        (
            f"the gate of {GATES[0].name}",
            Invitation(seat=Seat.SITE, name=GATES[0].operator, compost_site_id=site_id),
        ),
    )


def join_lines(
    sessions: KeepSessions, firm_id: UUID, *, crew_id: UUID, site_id: UUID, address: str
) -> list[str]:
    """Return lines to print: who, and the link that joins one browser, once."""
    lines = []
    for who, invitation in people_of(crew_id, site_id):
        way = sessions.way_in(sessions.invite(firm_id, invitation))
        lines += [f"  {address}{way}", f"    {who}"]
    return lines

"""What a site says of itself on the day, by its own gate or by telephone to the office."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Final
from zoneinfo import ZoneInfo

from service.core.acceptance.live_status import LiveStatus, SiteState
from service.core.measures.units import POUND_KG
from service.core.places import CompostSite
from service.pages.forms import Form

# What a site says that takes no more of anything: it is open, and has no room left.
FULL: Final = "full"


def live_status(form: Form, site: CompostSite, now: datetime) -> LiveStatus:
    """Return what a site says of itself now. Raises RecordNotUsable."""
    state = form.choice("state", (*SiteState, FULL))
    shuts = form.clock("shuts", day=now.date(), zone=ZoneInfo(site.time_zone))
    room_kg = form.number("room_kg", low=0, required=False)
    room_lb = form.number("room_lb", low=0, required=False)
    if room_lb is not None:
        room_kg = room_lb * POUND_KG
    note = form.text("note")
    if state == FULL:  # its gate is not shut: what is under way can be asked about
        state, room_kg = SiteState.OPEN, 0.0
    form.done()
    return replace(
        site.live_status,
        state=SiteState(state or SiteState.UNKNOWN),
        as_of=now,
        closes_early_at=shuts,
        capacity_left_kg=room_kg,
        note=note,
    )

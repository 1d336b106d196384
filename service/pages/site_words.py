"""What a site says of itself on the day, by its own gate or by telephone to the office."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

from service.core.live_status import LiveStatus, SiteState
from service.core.places import CompostSite
from service.pages.forms import Form


def live_status(form: Form, site: CompostSite, now: datetime) -> LiveStatus:
    """Return what a site says of itself now. Raises RecordNotUsable."""
    state = form.choice("state", tuple(SiteState))
    shuts = form.clock("shuts", day=now.date(), zone=ZoneInfo(site.time_zone))
    room_kg = form.number("room_kg", low=0, required=False)
    note = form.text("note")
    form.done()
    return replace(
        site.live_status,
        state=SiteState(state or SiteState.UNKNOWN),
        as_of=now,
        closes_early_at=shuts,
        capacity_left_kg=room_kg,
        note=note,
    )

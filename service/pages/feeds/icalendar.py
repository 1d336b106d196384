"""Deliveries as a calendar (RFC 5545, with the names of RFC 7986)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

OCTETS: Final = 75  # RFC 5545, 3.1: a line is no longer, its break not counted
REFRESHED: Final = "PT15M"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One delivery; a changed one keeps its ``uid`` and has a higher ``sequence``."""

    uid: str
    sequence: int
    changed_at: datetime
    starts: datetime
    lasts: timedelta
    summary: str
    description: str
    place: str
    latitude: float
    longitude: float
    is_cancelled: bool = False


def calendar_text(name: str, events: Iterable[Event]) -> str:
    """Return a calendar of some events."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//clipping-dispatch//deliveries//EN",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"NAME:{escaped(name)}",
        f"X-WR-CALNAME:{escaped(name)}",
        f"REFRESH-INTERVAL;VALUE=DURATION:{REFRESHED}",
    ]
    for event in events:
        lines += _event(event)
    return "".join(f"{part}\r\n" for line in [*lines, "END:VCALENDAR"] for part in folded(line))


def _event(event: Event) -> Iterator[str]:
    yield "BEGIN:VEVENT"
    yield f"UID:{event.uid}"
    yield f"DTSTAMP:{_moment(event.changed_at)}"
    yield f"LAST-MODIFIED:{_moment(event.changed_at)}"
    yield f"SEQUENCE:{event.sequence}"
    yield f"DTSTART:{_moment(event.starts)}"
    yield f"DTEND:{_moment(event.starts + event.lasts)}"
    yield f"SUMMARY:{escaped(event.summary)}"
    yield f"DESCRIPTION:{escaped(event.description)}"
    yield f"LOCATION:{escaped(event.place)}"
    yield f"GEO:{event.latitude:.6f};{event.longitude:.6f}"
    yield f"STATUS:{'CANCELLED' if event.is_cancelled else 'CONFIRMED'}"
    yield "TRANSP:TRANSPARENT"  # a delivery makes nobody busy
    yield "END:VEVENT"


def _moment(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def escaped(text: str) -> str:
    """Return text as a value of type TEXT (RFC 5545, 3.3.11), without controls."""
    plain = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    lines = (
        "".join(sign for sign in line if sign == "\t" or ord(sign) >= ord(" "))
        for line in plain.splitlines()
    )
    return "\\n".join(lines)


def folded(line: str) -> Iterator[str]:
    """Yield the lines that a long one is broken into (RFC 5545, 3.1): no letter is cut in two."""
    part, octets = "", 0
    for sign in line:
        size = len(sign.encode())
        if octets + size > OCTETS:
            yield part
            part, octets = " ", 1
        part += sign
        octets += size
    yield part

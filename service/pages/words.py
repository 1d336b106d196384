"""How numbers, times and the words of records are written on screens."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime
from typing import Any, Final

from markupsafe import Markup

from service.core.measures.units import UNITS, date_words

STATUSES: Final = {
    "clean": "clean",
    "weedy": "weeds in seed",
    "diseased": "diseased",
    "treated": "treated",
    "unknown": "treatment unknown",
    "littered": "litter in it",
}
LOAD_STATES: Final = {
    "planned": "planned",
    "under_way": "on its way",
    "delivered": "delivered",
    "partly_refused": "part taken",
    "refused": "sent away",
    "superseded": "no longer planned",
}
PLACES: Final = {"bed": "bed", "compost_site": "compost site", "hold_bay": "hold bay"}
SEATS: Final = {
    "owner": "owner",
    "dispatcher": "dispatcher",
    "crew": "crew lead",
    "site": "gate of a compost site",
}
THOUSAND: Final = 1000


def clock(moment: datetime | str | None) -> str:
    """Return the hour of a moment, as the clock there shows it."""
    if moment is None:
        return ""
    at = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    return f"{at:%H:%M}"


def when(moment: datetime | str, now: datetime) -> str:
    """Return the hour of a moment, with its weekday if that is not today's."""
    at = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    at = at.astimezone(now.tzinfo)
    return f"{at:%H:%M}" if at.date() == now.date() else f"{at:%H:%M} on {at:%A}"


def day_name(day: Any) -> str:
    """Return a day in words."""
    return f"{day:%A} {date_words(day)}"


def kilograms(mass_kg: float) -> str:
    """Return a mass [kg]: whole kilograms, from a tonne on in tonnes."""
    if mass_kg >= THOUSAND:
        return f"{mass_kg / THOUSAND:.2f} t"
    return f"{mass_kg:.0f} kg"


def cubic_metres(volume_l: float) -> str:
    """Return a volume [L] in cubic metres."""
    return f"{volume_l / THOUSAND:.1f} m³"


def money(cents: float) -> str:
    """Return an amount [1/100 of the currency] without its sign."""
    return f"{cents / 100:,.2f}"


def _word(table: dict[str, str]) -> Callable[[str], str]:
    def told(word: str) -> str:
        return table.get(word, word.replace("_", " "))

    return told


def unit_name(code: str) -> str:
    """Return a unit as people write it; its code is for programs."""
    if code.isalnum() and code != "har":
        return code.replace("2", "²").replace("3", "³")
    return UNITS[code].name


def kept_whole(codes: Iterable[str]) -> Markup:
    """Return codes in a row, none of which is broken at its hyphen at the end of a line."""
    return Markup(", ").join(Markup('<span class="whole">{}</span>').format(one) for one in codes)


FILTERS: Final[dict[str, Callable[..., str]]] = {
    "clock": clock,
    "when": when,
    "date": date_words,
    "day_name": day_name,
    "kg": kilograms,
    "m3": cubic_metres,
    "money": money,
    "status": _word(STATUSES),
    "load_state": _word(LOAD_STATES),
    "place": _word(PLACES),
    "unit": unit_name,
    "whole": kept_whole,
    "seat": _word(SEATS),
}

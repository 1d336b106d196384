"""What forms send: read strictly, every fault named at once."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.errors import FieldFault, RecordNotUsable
from service.core.quantities import Measure

LONGEST_TEXT: Final = 500
LARGEST: Final = 1_000_000.0
# Beyond these no clock of a place is told; as the interface has it.
YEARS: Final = range(1990, 2200)
# What is asked in a form by other words than the field's name.
LABELS: Final = {
    "back": "Works again at",
    "compost_site_id": "Site",
    "crew_id": "Crew",
    "height": "Taken off",
    "note": "In words",
    "refusal_reason": "Why",
    "refused_percent": "Not taken, in per cent",
    "released_to": "In words",
    "room_kg": "Only so many kg more",
    "seat": "They are",
    "shuts": "Shuts early at",
    "weigh_ticket": "Ticket",
    "weighed_kg": "Weighed, net [kg]",
}


class Form:
    """The fields of one form; what is empty was not answered.

    Each reader returns None for a field that is missing or faulty; `done` raises for all faults.
    """

    def __init__(self, fields: Mapping[str, str]) -> None:
        """Take the fields as they were sent."""
        self._fields = {name: text.strip() for name, text in fields.items() if text.strip()}
        self._faults: list[FieldFault] = []

    def text(self, name: str, *, required: bool = False, longest: int = LONGEST_TEXT) -> str | None:
        """Return a text."""
        text = self._fields.get(name)
        if text is None:
            if required:
                self.fault(name, "Here stands some text.")
            return None
        if len(text) > longest or any(
            ord(sign) < ord(" ") and sign not in "\r\n\t" for sign in text
        ):
            self.fault(name, f"Here stands text of up to {longest} characters.")
            return None
        return text

    def choice(self, name: str, allowed: tuple[str, ...], *, required: bool = True) -> str | None:
        """Return one of some words."""
        word = self._fields.get(name)
        if word in allowed or (word is None and not required):
            return word
        self.fault(name, f"Here stands one of: {', '.join(allowed)}.")
        return None

    def flag(self, name: str) -> bool:
        """Return whether a box is ticked, or a field filled in."""
        return name in self._fields

    def identifier(self, name: str) -> UUID | None:
        """Return an id."""
        try:
            return UUID(self._fields[name])
        except (KeyError, ValueError):
            self.fault(name, "Here stands an id.")
            return None

    def number(
        self, name: str, *, low: float, high: float = LARGEST, required: bool = True
    ) -> float | None:
        """Return a number from a span; a comma may stand for the point."""
        text = self._fields.get(name)
        if text is None and not required:
            return None
        plain = (text or "").replace(",", ".", 1)
        if not plain.replace(".", "", 1).isdecimal() or not plain.isascii():
            self.fault(name, f"Here stands a number from {low:,.12g} to {high:,.12g}.")
            return None
        value = float(plain)
        if not low <= value <= high:
            self.fault(name, f"Here stands a number from {low:,.12g} to {high:,.12g}.")
            return None
        return value

    def measure(
        self, name: str, *, unit: str, low: float, high: float = LARGEST, required: bool = True
    ) -> Measure | None:
        """Return a number in a unit."""
        value = self.number(name, low=low, high=high, required=required)
        return None if value is None else Measure(value=value, unit=unit)

    def clock(
        self, name: str, *, day: date, zone: ZoneInfo, required: bool = False
    ) -> datetime | None:
        """Return an hour of a day, as the clock there shows it."""
        text = self._fields.get(name)
        if text is None and not required:
            return None
        try:
            return datetime.combine(day, time.fromisoformat(text or ""), tzinfo=zone)
        except ValueError:
            self.fault(name, "Here stands an hour such as 14:30.")
            return None

    def day(self, name: str) -> date | None:
        """Return a day."""
        try:
            day = date.fromisoformat(self._fields.get(name, ""))
        except ValueError:
            day = None
        if day is None or day.year not in YEARS:
            self.fault(name, "Here stands a day such as 2026-05-24.")
            return None
        return day

    def moment(self, name: str) -> datetime | None:
        """Return a moment with its zone, as a script writes it."""
        text = self._fields.get(name)
        if text is None:
            return None
        try:
            at = datetime.fromisoformat(text)
        except ValueError:
            self.fault(name, "Here stands a moment with its zone.")
            return None
        if at.utcoffset() is None:
            self.fault(name, "A moment has a zone.")
            return None
        if at.year not in YEARS:
            self.fault(name, f"A moment lies in the years {YEARS[0]} to {YEARS[-1]}.")
            return None
        return at

    def fault(self, name: str, detail: str) -> None:
        """Keep a fault of a field, in whose name it is told: a page shows no pointers."""
        label = LABELS.get(name, name.replace("_", " ").capitalize())
        self._faults.append(FieldFault(pointer=f"/{name}", detail=f"{label}: {detail}"))

    def done(self) -> None:
        """End reading. Raises RecordNotUsable with every fault."""
        if self._faults:
            raise RecordNotUsable(self._faults)

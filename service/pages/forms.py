"""What forms send: read strictly, every fault named at once."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.errors import FieldFault, RecordNotUsable
from service.core.measures.quantities import Measure, two_readings, ungrouped
from service.core.measures.units import UNITS
from service.core.measures.written_units import UnitNotRead, parted
from service.documents.rendering.reader import Reader
from service.usecases.telling.in_language import ENGLISH

LONGEST_TEXT: Final = 500
LARGEST: Final = 1_000_000.0
# Beyond these no clock of a place is told; as the interface has it.
YEARS: Final = range(1990, 2200)


class Form:
    """The fields of one form; what is empty was not answered.

    Each reader returns None for a field that is missing or faulty; `done` raises for all faults.
    """

    def __init__(self, fields: Mapping[str, str], reader: Reader | None = None) -> None:
        """Take the fields as they were sent, and whoever is told what is wrong with them."""
        self._reader = reader or Reader(ENGLISH)
        self._fields = {name: text.strip() for name, text in fields.items() if text.strip()}
        self._faults: list[FieldFault] = []

    def text(self, name: str, *, required: bool = False, longest: int = LONGEST_TEXT) -> str | None:
        """Return a text."""
        text = self._fields.get(name)
        if text is None:
            if required:
                self.fault(name, "text")
            return None
        if len(text) > longest or any(
            ord(sign) < ord(" ") and sign not in "\r\n\t" for sign in text
        ):
            self.fault(name, "short_text", longest=longest)
            return None
        return text

    def choice(self, name: str, allowed: tuple[str, ...], *, required: bool = True) -> str | None:
        """Return one of some words."""
        word = self._fields.get(name)
        if word in allowed or (word is None and not required):
            return word
        self.fault(name, "choice", allowed=", ".join(allowed))
        return None

    def flag(self, name: str) -> bool:
        """Return whether a box is ticked, or a field filled in."""
        return name in self._fields

    def identifier(self, name: str) -> UUID | None:
        """Return an id."""
        try:
            return UUID(self._fields[name])
        except (KeyError, ValueError):
            self.fault(name, "id")
            return None

    def number(
        self,
        name: str,
        *,
        low: float,
        high: float = LARGEST,
        required: bool = True,
        printed: str = "",
    ) -> float | None:
        """Return a number from a span; a comma may stand for the point.

        Parameters
        ----------
        printed
            What the form itself wrote there: sent back as it was it means that and nothing else.
        """
        return self._number(
            name,
            self._fields.get(name, ""),
            low=low,
            high=high,
            required=required,
            printed=printed,
        )

    def _number(
        self,
        name: str,
        text: str,
        *,
        low: float,
        high: float,
        required: bool,
        printed: str = "",
    ) -> float | None:
        """Return the number that a text says."""
        if not text and not required:
            return None
        text = ungrouped(text)
        both = None if text == printed else two_readings(text)
        if both is not None:
            whole, fraction = (f"{value:.12g}" for value in both)
            self.fault(name, "two_readings", typed=text, whole=whole, fraction=fraction)
            return None
        plain = text.replace(",", ".", 1)
        if not plain.replace(".", "", 1).isdecimal() or not plain.isascii():
            self.fault(name, "number", low=low, high=high)
            return None
        value = float(plain)
        if not low <= value <= high:
            self.fault(name, "number", low=low, high=high)
            return None
        return value

    def measure(
        self, name: str, *, unit: str, low: float, high: float = LARGEST, required: bool = True
    ) -> Measure | None:
        """Return a number, in the unit that is written behind it, else in the one asked for.

        Parameters
        ----------
        low, high
            Ends of the span, in the unit asked for.
        """
        asked = UNITS[unit]
        try:
            number, written = parted(self._fields.get(name, ""), asked.quantity)
        except UnitNotRead:
            self.fault(name, "number", low=low, high=high)
            return None
        told = written or asked
        times = asked.factor / told.factor
        value = self._number(name, number, low=low * times, high=high * times, required=required)
        return None if value is None else Measure(value=value, unit=told.code)

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
            self.fault(name, "hour")
            return None

    def day(self, name: str) -> date | None:
        """Return a day."""
        try:
            day = date.fromisoformat(self._fields.get(name, ""))
        except ValueError:
            day = None
        if day is None or day.year not in YEARS:
            self.fault(name, "day")
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
            self.fault(name, "moment")
            return None
        if at.utcoffset() is None:
            self.fault(name, "zone")
            return None
        if at.year not in YEARS:
            self.fault(name, "years", first=str(YEARS[0]), last=str(YEARS[-1]))
            return None
        return at

    def fault(self, name: str, key: str, **gaps: object) -> None:
        """Keep a fault of a field, in whose name it is told: a page shows no pointers.

        Parameters
        ----------
        key
            Of its sentence, under ``fault`` in the files of languages.
        """
        label = self._reader.table("asked").get(name, name.replace("_", " ").capitalize())
        detail = f"{label}: {self._reader.sentence(f'fault.{key}', **gaps)}"
        self._faults.append(FieldFault(pointer=f"/{name}", detail=detail))

    def done(self) -> None:
        """End reading. Raises RecordNotUsable with every fault."""
        if self._faults:
            raise RecordNotUsable(self._faults)

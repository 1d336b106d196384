"""Columns of a sheet, which are the fields of a form, too: what may stand in a cell, in words."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from typing import Any, Final
from zoneinfo import ZoneInfo

from service.core.measures.quantities import two_readings, ungrouped
from service.core.measures.units import UNITS, date_words
from service.core.measures.written_units import UnitNotRead, parted
from service.core.permission.jurisdictions import fault_of_place
from service.core.places import Point
from service.pages.forms import YEARS

YES: Final = ("yes", "y", "true", "x", "1")
NO: Final = ("no", "n", "false", "0", "-")
DEGREES: Final = re.compile(
    r"""(?P<degrees>[-+]?\d{1,3}(?:[.,]\d+)?)\s*°?\s*
        (?:(?P<minutes>\d{1,2}(?:[.,]\d+)?)\s*['\u2032]\s*)?
        (?:(?P<seconds>\d{1,2}(?:[.,]\d+)?)\s*(?:"|\u2033|'')\s*)?
        (?P<side>[NSEWnsew])?""",
    re.VERBOSE,
)
LATITUDE_MAX: Final = 90.0
LONGITUDE_MAX: Final = 180.0
SIXTY: Final = 60.0
SHORT_KINDS: Final = frozenset({"number", "clock", "day", "choice", "flag"})
ASKED_IN: Final = {"kg": "kg", "m³": "m3"}  # a label's unit, and its code
SHORT_LABEL: Final = 32
SHORT_HINT: Final = 34


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column of a sheet and a field of a form.

    Attributes
    ----------
    name
        Its heading, and the field's name.
    label
        What the form asks.
    kind
        How its cells are read: one of `READERS`.
    low, high
        Of a number; with ``above`` the low end itself is none.
    choices
        Of a choice: word on record -> as people read it.
    nothing
        Of several: the word of whoever looked and found none; empty, nobody has said.
    hint
        What helps to fill it in.
    group
        The title it stands under in the form; of none, and required, it is asked first.
    example
        What stands there in an empty sheet's example.
    """

    name: str
    label: str
    kind: str = "text"
    required: bool = False
    longest: int = 200
    low: float = 0.0
    high: float = 1_000_000.0
    above: bool = False
    choices: Mapping[Any, str] = field(default_factory=dict)
    nothing: str = ""
    hint: str = ""
    example: str = ""
    group: str = "More that may be said of it"

    @property
    def is_first(self) -> bool:
        """Whether whoever fills in the form meets it without opening anything."""
        return self.required or not self.group

    @property
    def is_short(self) -> bool:
        """Whether two of them stand side by side on a telephone: a number, an hour, a day."""
        is_brief = self.kind in SHORT_KINDS and len(self.label) <= SHORT_LABEL
        return is_brief and len(self.hint) <= SHORT_HINT

    @property
    def title(self) -> str:
        """What is asked, without the unit it is asked in."""
        return self.label.partition(" [")[0]

    @property
    def unit(self) -> str:
        """The unit it is asked in, as people write it; empty if it has none."""
        return self.label.partition(" [")[2].rstrip("]")

    def shown(self, text: str) -> str:
        """Return what a cell says as people read it: a day in words, a number with its unit."""
        if not text:
            return ""
        if self.kind == "day":
            return date_words(date.fromisoformat(text))
        unit = self.unit
        told = f"{float(text):,.10g}" if self.kind == "number" else text
        return f"{told} {unit}".rstrip()


class CellFault(Exception):
    """What is wrong with a cell, and what may stand there."""


def read_asked(column: Column, text: str, *, printed: str = "") -> Any:
    """Return what somebody typed into a form's field, where a point may part thousands.

    Parameters
    ----------
    printed
        What the form itself wrote there, which has one meaning.

    Raises
    ------
    CellFault
    """
    if column.kind == "number" and text.strip() != printed:
        refuse_two_readings(ungrouped(_parted(column, text.strip())[0]))
    return read_cell(column, text)


def refuse_two_readings(text: str, *, marks: str = ".,") -> None:
    """Refuse a number that can be read in two ways. Raises CellFault."""
    both = two_readings(text, marks=marks)
    if both is not None:
        raise CellFault(f"{text} can be read in two ways: write {both[0]:.12g}, or {both[1]:.12g}.")


def read_cell(column: Column, text: str) -> Any:
    """Return what stands in a cell; None if nothing does. Raises CellFault.

    A sheet's point is a decimal point, unless commas of it are: programs write it.
    """
    text = " ".join(text.split()) if column.kind != "lines" else text.strip()
    if not text:
        if column.required:
            raise CellFault(
                _choose(column) if column.choices else "Write something here: it is empty."
            )
        return None
    return READERS[column.kind](column, text)


def _text(column: Column, text: str) -> str:
    if len(text) > column.longest or any(ord(sign) < ord(" ") and sign != "\n" for sign in text):
        raise CellFault(f"Write text of up to {column.longest} characters.")
    return text


def _parted(column: Column, text: str) -> tuple[str, float]:
    """Return the number that is written, and how many of the unit asked for its own is."""
    asked = ASKED_IN.get(column.unit)
    if asked is None:
        return text, 1.0
    try:
        number, written = parted(text, UNITS[asked].quantity)
    except UnitNotRead as fault:
        raise CellFault(f"Write the number alone, or with {', '.join(fault.allowed)}.") from fault
    return number, 1.0 if written is None else written.factor / UNITS[asked].factor


def _number(column: Column, text: str) -> float:
    text, times = _parted(column, text)
    text = ungrouped(text)
    refuse_two_readings(text, marks=",")
    plain = text.replace(",", ".", 1)
    low_end = "above" if column.above else "from"
    sentence = f"Write a number {low_end} {column.low:,.12g} to {column.high:,.12g}."
    if not plain.replace(".", "", 1).isdecimal() or not plain.isascii():
        raise CellFault(sentence)
    value = float(plain) * times
    if not column.low <= value <= column.high or (column.above and value == column.low):
        raise CellFault(sentence)
    return value


def _choice(column: Column, text: str) -> str:
    wanted = text.casefold().replace("_", " ")
    word: str
    for word, shown in column.choices.items():
        if wanted in {word.casefold().replace("_", " "), shown.casefold()}:
            return word
    raise CellFault(_choose(column))


def _choose(column: Column) -> str:
    return f"Choose one of: {', '.join(column.choices.values())}."


def _several(column: Column, text: str) -> tuple[str, ...]:
    parts = [part.strip() for part in re.split(r"[;,+]", text) if part.strip()]
    found = tuple(dict.fromkeys(_choice(column, part) for part in parts))
    if column.nothing not in found:
        return found
    if len(found) > 1:
        raise CellFault(f"Write {column.nothing}, or which: not both.")
    return ()


def _flag(_: Column, text: str) -> bool:
    if text.casefold() in YES:
        return True
    if text.casefold() in NO:
        return False
    raise CellFault("Write yes or no.")


def _day(_: Column, text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        day = None
    if day is None or day.year not in YEARS:
        raise CellFault("Write a day such as 2026-05-24: year, month, day.")
    return day


def _days(column: Column, text: str) -> tuple[date, ...]:
    """Return several days, each once, the earliest first."""
    return tuple(sorted({_day(column, part) for part in re.split(r"[;,\s]+", text) if part}))


def _clock(_: Column, text: str) -> time:
    found = re.fullmatch(r"(\d{1,2})[:.](\d\d)(?::00)?", text)
    try:
        return time(int(found[1]), int(found[2])) if found else time.fromisoformat(text)
    except ValueError:
        raise CellFault("Write an hour such as 07:30.") from None


def _zone(_: Column, text: str) -> str:
    try:
        ZoneInfo(text)
    except (ValueError, OSError, KeyError):
        raise CellFault("Write a time zone such as Europe/London.") from None
    return text


def _law(_: Column, text: str) -> str:
    if not re.fullmatch(r"[A-Z]{2}(-[A-Z0-9]{1,3})?", text.upper()):
        raise CellFault("Write a country or a part of one by its letters, such as GB-ENG.")
    fault = fault_of_place(text.upper())
    if fault is not None:
        raise CellFault(fault)
    return text.upper()


def _mail(column: Column, text: str) -> str:
    if not re.fullmatch(r"[^@\s]+@[^@\s]+", text):
        raise CellFault("Write an e-mail address.")
    return _text(column, text)


def _point(_: Column, text: str) -> Point:
    """Return a point from degrees as a map shows them: 51.752, -1.2577, or 51°45'07"N 1°15'28"W."""
    text = text.removeprefix("geo:").partition("?")[0]
    at = re.search(r"@(-?\d+\.\d+),(-?\d+\.\d+)", text)  # an address copied from a map
    found = [at[1], at[2]] if at else _halves(text)
    wrong = "Write latitude, then longitude, such as 51.7520, -1.2577."
    if len(found) != len(("latitude", "longitude")):
        raise CellFault(wrong)
    latitude, longitude = (_degrees(half, wrong) for half in found)
    if abs(latitude) > LATITUDE_MAX or abs(longitude) > LONGITUDE_MAX:
        raise CellFault(wrong)
    return Point(latitude=latitude, longitude=longitude)


def _halves(text: str) -> list[str]:
    """Return the two angles of a point: parted by a sign, else by the space between them."""
    for mark in (";", ", ", ",", " "):
        parts = [part.strip() for part in text.split(mark) if part.strip()]
        if len(parts) == len(("latitude", "longitude")):
            return parts
    return []


def _degrees(text: str, wrong: str) -> float:
    found = DEGREES.fullmatch(text.strip())
    if found is None:
        raise CellFault(wrong)
    parts = [float((found[name] or "0").replace(",", ".")) for name in _PARTS]
    size = abs(parts[0]) + parts[1] / SIXTY + parts[2] / SIXTY**2
    west_or_south = (found["side"] or "").upper() in {"W", "S"}
    return -size if west_or_south or found["degrees"].startswith("-") else size


_PARTS: Final = ("degrees", "minutes", "seconds")
READERS: Final = {
    "text": _text,
    "lines": _text,
    "number": _number,
    "choice": _choice,
    "several": _several,
    "flag": _flag,
    "day": _day,
    "days": _days,
    "clock": _clock,
    "zone": _zone,
    "law": _law,
    "mail": _mail,
    "point": _point,
}

"""A unit that somebody writes behind a number: "1200 lb", "3,5 m³", "2 short tons"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from service.core.measures.units import UNITS, Quantity, Unit

_TIMES: Final = str.maketrans({"²": "2", "³": "3", "\u2033": '"', "\u2032": "'", ".": " "})
# No sign can begin a word and go on with the number: long texts are read in one pass.
_PARTED: Final = re.compile(r"(?P<number>[-+\d][\d., ]*)(?P<word>[^\W\d_].*|[\"'\u2033\u2032].*)")
# As people write them. "Ton" is none: it is 907, 1,000 or 1,016 kg, by who says it.
_WORDS: Final[Mapping[str, str]] = {
    "kg": "kg, kgs, kilo, kilos, kilogram, kilograms, kilogramme, kilogrammes",
    "g": "g, gram, grams, gramme, grammes",
    "t": "t, tonne, tonnes, metric ton, metric tons",
    "[lb_av]": "lb, lbs, pound, pounds",
    "[ston_av]": "short ton, short tons, us ton, us tons",
    "[lton_av]": "long ton, long tons, imperial ton, imperial tons",
    "m": "m, metre, metres, meter, meters",
    "cm": "cm, centimetre, centimetres, centimeter, centimeters",
    "mm": "mm, millimetre, millimetres, millimeter, millimeters",
    "km": "km, kilometre, kilometres, kilometer, kilometers",
    "[in_i]": 'in, inch, inches, "',
    "[ft_i]": "ft, foot, feet, '",
    "[yd_i]": "yd, yds, yard, yards",
    "[mi_i]": "mi, mile, miles",
    "m3": "m3, cu m, cubic metre, cubic metres, cubic meter, cubic meters",
    "L": "l, litre, litres, liter, liters",
    "[cyd_i]": "yd3, cu yd, cu yds, cy, cubic yard, cubic yards",
    "[cft_i]": "ft3, cu ft, cubic foot, cubic feet",
    "[gal_us]": "us gal, us gallon, us gallons",
    "[gal_br]": "imperial gallon, imperial gallons",
}
_CODES: Final[Mapping[str, str]] = MappingProxyType(
    {word.strip(): code for code, words in _WORDS.items() for word in words.split(",")}
)


class UnitNotRead(Exception):
    """A word behind a number that is no unit of what is asked.

    Attributes
    ----------
    allowed
        The units that may stand there, as people write them.
    """

    def __init__(self, allowed: tuple[str, ...]) -> None:
        super().__init__()
        self.allowed = allowed


def parted(text: str, quantity: Quantity) -> tuple[str, Unit | None]:
    """Return the number that is written, and the unit behind it; None where none is.

    Parameters
    ----------
    text
        What somebody wrote; the number is not read here.
    quantity
        What is asked.

    Raises
    ------
    UnitNotRead
        Where the word behind the number is no unit of that quantity, or may be several.
    """
    found = _PARTED.fullmatch(" ".join(text.split()))
    if found is None:
        return text, None
    word = " ".join(found["word"].translate(_TIMES).casefold().split())
    unit = UNITS.get(_CODES.get(word, ""))
    if unit is None or unit.quantity is not quantity:
        known = (code for code in _WORDS if UNITS[code].quantity is quantity)
        raise UnitNotRead(tuple(_WORDS[code].partition(",")[0] for code in known))
    return found["number"].rstrip(), unit

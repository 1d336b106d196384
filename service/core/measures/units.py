"""The units people write: their UCUM codes, names and exact definitions."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import Final

LITRES_PER_M3: Final = 1000.0
MM_PER_M: Final = 1000.0
METRES_PER_KM: Final = 1000.0
G_PER_KG: Final = 1000.0
SECONDS_PER_HOUR: Final = 3600.0


class Quantity(StrEnum):
    """What a unit measures."""

    MASS = "mass"
    AREA = "area"
    LENGTH = "length"
    VOLUME = "volume"
    TEMPERATURE = "temperature"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """A unit, and how a value in it becomes SI.

    Parameters
    ----------
    code
        UCUM code, case sensitive.
    name
        The name in the trade.
    quantity
        What it measures.
    factor
        SI units per unit: ``si = value * factor + offset``. Exact.
    offset
        Added after the factor; nothing but temperatures have one.
    definition
        The exact definition the factor follows from, with its source.
    """

    code: str
    name: str
    quantity: Quantity
    factor: float
    definition: str
    offset: float = 0.0


SI_UNIT: Final[Mapping[Quantity, str]] = MappingProxyType(
    {
        Quantity.MASS: "kg",
        Quantity.AREA: "m2",
        Quantity.LENGTH: "m",
        Quantity.VOLUME: "m3",
        Quantity.TEMPERATURE: "Cel",
    }
)

# 1 lb = 0.453 592 37 kg, 1 yd = 0.9144 m: exact since 1 July 1959 (Federal
# Register 24 FR 5348; NIST SP 811, 2008, appendix B.8, bold factors; Weights and
# Measures Act 1985, schedule 1, for the United Kingdom).
POUND_KG: Final = 0.45359237
_INCH_M: Final = 0.0254
_FOOT_M: Final = 0.3048
_YARD_M: Final = 0.9144
# 1 US survey foot = 1200/3937 m exactly (NIST SP 811, 2008, B.6); withdrawn for
# new work from 2023 (85 FR 62698), still what the UCUM code [acr_us] means.
_SURVEY_FOOT_M: Final = 1200 / 3937
# UCUM 2.1, [in_br] = 2.539998 cm: the British inch of before 1959.
_BRITISH_YARD_M: Final = 36 * 0.02539998

_NIST: Final = "NIST SP 811 (2008), appendix B.8"
# By what they measure: code, name, SI units in one, and the definition with its source.
_BY_QUANTITY: Final[Mapping[Quantity, tuple[tuple[str, str, float, str], ...]]] = {
    Quantity.MASS: (
        ("kg", "kilogram", 1.0, "SI"),
        ("g", "gram", 1e-3, "SI"),
        ("t", "tonne", 1e3, "1,000 kg, SI brochure table 8"),
        ("[lb_av]", "pound", POUND_KG, f"0.453 592 37 kg exactly, {_NIST}"),
        ("[ston_av]", "short ton", 2000 * POUND_KG, f"2,000 lb, {_NIST}"),
        ("[lton_av]", "long ton", 2240 * POUND_KG, f"2,240 lb, {_NIST}"),
    ),
    Quantity.AREA: (
        ("m2", "square metre", 1.0, "SI"),
        ("har", "hectare", 1e4, "10,000 m2, SI brochure table 8"),
        ("[sft_i]", "square foot", _FOOT_M**2, f"0.3048 m squared, {_NIST}"),
        (
            "1000.[sft_i]",
            "thousand square feet",
            1000 * _FOOT_M**2,
            f"1,000 ft2, the lawn trade's area unit, {_NIST}",
        ),
        ("[syd_i]", "square yard", _YARD_M**2, f"0.9144 m squared, {_NIST}"),
        (
            "[acr_us]",
            "acre, US survey",
            43560 * _SURVEY_FOOT_M**2,
            "43,560 square US survey feet, UCUM [acr_us], NIST SP 811 (2008), B.6",
        ),
        (
            "[acr_br]",
            "acre, British before 1959",
            4840 * _BRITISH_YARD_M**2,
            "4,840 [yd_br]2, UCUM [acr_br]",
        ),
        (
            "43560.[sft_i]",
            "acre, international",
            43560 * _FOOT_M**2,
            "4,046.856 422 4 m2 exactly, Weights and Measures Act 1985, schedule 1",
        ),
    ),
    Quantity.LENGTH: (
        ("m", "metre", 1.0, "SI"),
        ("cm", "centimetre", 1e-2, "SI"),
        ("mm", "millimetre", 1e-3, "SI"),
        ("km", "kilometre", 1e3, "SI"),
        ("[in_i]", "inch", _INCH_M, f"25.4 mm exactly, {_NIST}"),
        ("[ft_i]", "foot", _FOOT_M, f"0.3048 m exactly, {_NIST}"),
        ("[yd_i]", "yard", _YARD_M, f"0.9144 m exactly, {_NIST}"),
        ("[mi_i]", "mile", 1760 * _YARD_M, f"1,760 yd, {_NIST}"),
    ),
    Quantity.VOLUME: (
        ("m3", "cubic metre", 1.0, "SI"),
        ("L", "litre", 1e-3, "1 dm3, SI brochure table 8"),
        ("[cyd_i]", "cubic yard", _YARD_M**3, f"0.9144 m cubed, {_NIST}"),
        ("[cft_i]", "cubic foot", _FOOT_M**3, f"0.3048 m cubed, {_NIST}"),
        ("[gal_us]", "US gallon", 231 * _INCH_M**3, f"231 cubic inches, {_NIST}"),
        (
            "[gal_br]",
            "imperial gallon",
            4.54609e-3,
            "4.546 09 L exactly, Weights and Measures Act 1985, schedule 1",
        ),
        ("[bu_us]", "US bushel", 2150.42 * _INCH_M**3, f"2,150.42 cubic inches, {_NIST}"),
    ),
    Quantity.TEMPERATURE: (
        ("Cel", "degree Celsius", 1.0, "SI"),
        ("[degF]", "degree Fahrenheit", 5 / 9, "(F - 32) / 1.8, NIST SP 811 (2008), B.8"),
        ("K", "kelvin", 1.0, "Celsius + 273.15, SI brochure 2.3.1"),
    ),
}
_OFFSETS: Final = {"[degF]": -160 / 9, "K": -273.15}

UNITS: Final[Mapping[str, Unit]] = MappingProxyType(
    {
        code: Unit(
            code=code,
            name=name,
            quantity=quantity,
            factor=factor,
            definition=definition,
            offset=_OFFSETS.get(code, 0.0),
        )
        for quantity, units in _BY_QUANTITY.items()
        for code, name, factor, definition in units
    }
)


def date_words(day: date) -> str:
    """Return a date as people say it: a crew, a client or a gate reads no order of numbers."""
    return f"{day.day} {day:%B %Y}"

"""The units people write: their UCUM codes, names and exact definitions."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from types import MappingProxyType
from typing import Final


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
_ALL: Final = (
    Unit(code="kg", name="kilogram", quantity=Quantity.MASS, factor=1.0, definition="SI"),
    Unit(code="g", name="gram", quantity=Quantity.MASS, factor=1e-3, definition="SI"),
    Unit(
        code="t",
        name="tonne",
        quantity=Quantity.MASS,
        factor=1e3,
        definition="1,000 kg, SI brochure table 8",
    ),
    Unit(
        code="[lb_av]",
        name="pound",
        quantity=Quantity.MASS,
        factor=POUND_KG,
        definition=f"0.453 592 37 kg exactly, {_NIST}",
    ),
    Unit(
        code="[ston_av]",
        name="short ton",
        quantity=Quantity.MASS,
        factor=2000 * POUND_KG,
        definition=f"2,000 lb, {_NIST}",
    ),
    Unit(
        code="[lton_av]",
        name="long ton",
        quantity=Quantity.MASS,
        factor=2240 * POUND_KG,
        definition=f"2,240 lb, {_NIST}",
    ),
    Unit(code="m2", name="square metre", quantity=Quantity.AREA, factor=1.0, definition="SI"),
    Unit(
        code="har",
        name="hectare",
        quantity=Quantity.AREA,
        factor=1e4,
        definition="10,000 m2, SI brochure table 8",
    ),
    Unit(
        code="[sft_i]",
        name="square foot",
        quantity=Quantity.AREA,
        factor=_FOOT_M**2,
        definition=f"0.3048 m squared, {_NIST}",
    ),
    Unit(
        code="1000.[sft_i]",
        name="thousand square feet",
        quantity=Quantity.AREA,
        factor=1000 * _FOOT_M**2,
        definition=f"1,000 ft2, the lawn trade's area unit, {_NIST}",
    ),
    Unit(
        code="[syd_i]",
        name="square yard",
        quantity=Quantity.AREA,
        factor=_YARD_M**2,
        definition=f"0.9144 m squared, {_NIST}",
    ),
    Unit(
        code="[acr_us]",
        name="acre, US survey",
        quantity=Quantity.AREA,
        factor=43560 * _SURVEY_FOOT_M**2,
        definition="43,560 square US survey feet, UCUM [acr_us], NIST SP 811 (2008), B.6",
    ),
    Unit(
        code="[acr_br]",
        name="acre, British before 1959",
        quantity=Quantity.AREA,
        factor=4840 * _BRITISH_YARD_M**2,
        definition="4,840 [yd_br]2, UCUM [acr_br]",
    ),
    Unit(
        code="43560.[sft_i]",
        name="acre, international",
        quantity=Quantity.AREA,
        factor=43560 * _FOOT_M**2,
        definition="4,046.856 422 4 m2 exactly, Weights and Measures Act 1985, schedule 1",
    ),
    Unit(code="m", name="metre", quantity=Quantity.LENGTH, factor=1.0, definition="SI"),
    Unit(code="cm", name="centimetre", quantity=Quantity.LENGTH, factor=1e-2, definition="SI"),
    Unit(code="mm", name="millimetre", quantity=Quantity.LENGTH, factor=1e-3, definition="SI"),
    Unit(code="km", name="kilometre", quantity=Quantity.LENGTH, factor=1e3, definition="SI"),
    Unit(
        code="[in_i]",
        name="inch",
        quantity=Quantity.LENGTH,
        factor=_INCH_M,
        definition=f"25.4 mm exactly, {_NIST}",
    ),
    Unit(
        code="[ft_i]",
        name="foot",
        quantity=Quantity.LENGTH,
        factor=_FOOT_M,
        definition=f"0.3048 m exactly, {_NIST}",
    ),
    Unit(
        code="[yd_i]",
        name="yard",
        quantity=Quantity.LENGTH,
        factor=_YARD_M,
        definition=f"0.9144 m exactly, {_NIST}",
    ),
    Unit(
        code="[mi_i]",
        name="mile",
        quantity=Quantity.LENGTH,
        factor=1760 * _YARD_M,
        definition=f"1,760 yd, {_NIST}",
    ),
    Unit(code="m3", name="cubic metre", quantity=Quantity.VOLUME, factor=1.0, definition="SI"),
    Unit(
        code="L",
        name="litre",
        quantity=Quantity.VOLUME,
        factor=1e-3,
        definition="1 dm3, SI brochure table 8",
    ),
    Unit(
        code="[cyd_i]",
        name="cubic yard",
        quantity=Quantity.VOLUME,
        factor=_YARD_M**3,
        definition=f"0.9144 m cubed, {_NIST}",
    ),
    Unit(
        code="[cft_i]",
        name="cubic foot",
        quantity=Quantity.VOLUME,
        factor=_FOOT_M**3,
        definition=f"0.3048 m cubed, {_NIST}",
    ),
    Unit(
        code="[gal_us]",
        name="US gallon",
        quantity=Quantity.VOLUME,
        factor=231 * _INCH_M**3,
        definition=f"231 cubic inches, {_NIST}",
    ),
    Unit(
        code="[gal_br]",
        name="imperial gallon",
        quantity=Quantity.VOLUME,
        factor=4.54609e-3,
        definition="4.546 09 L exactly, Weights and Measures Act 1985, schedule 1",
    ),
    Unit(
        code="[bu_us]",
        name="US bushel",
        quantity=Quantity.VOLUME,
        factor=2150.42 * _INCH_M**3,
        definition=f"2,150.42 cubic inches, {_NIST}",
    ),
    Unit(
        code="Cel",
        name="degree Celsius",
        quantity=Quantity.TEMPERATURE,
        factor=1.0,
        definition="SI",
    ),
    Unit(
        code="[degF]",
        name="degree Fahrenheit",
        quantity=Quantity.TEMPERATURE,
        factor=5 / 9,
        offset=-160 / 9,
        definition="(F - 32) / 1.8, NIST SP 811 (2008), B.8",
    ),
    Unit(
        code="K",
        name="kelvin",
        quantity=Quantity.TEMPERATURE,
        factor=1.0,
        offset=-273.15,
        definition="Celsius + 273.15, SI brochure 2.3.1",
    ),
)

UNITS: Final[Mapping[str, Unit]] = MappingProxyType({unit.code: unit for unit in _ALL})


def date_words(day: date) -> str:
    """Return a date as people say it: a crew, a client or a gate reads no order of numbers."""
    return f"{day.day} {day:%B %Y}"

"""Units people write and the SI values the service computes with.

Codes are those of the Unified Code for Units of Measure (UCUM). Two areas of
the lawn trade have no single UCUM atom and are written as UCUM expressions:
``1000.[sft_i]`` (a thousand square feet) and ``43560.[sft_i]`` (the
international acre of 1959). The three tons have three codes and no fourth:
a bare "ton" is refused, because short ton, tonne and long ton differ by up to
12 %.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

from service.core.errors import Refusal


class UnitUnknown(Refusal):
    """The unit code is not one the service reads."""

    code = "unit_unknown"
    sentence = "{unit} is not a unit this service reads. For {quantity} write one of: {allowed}."


class UnitOfAnotherQuantity(Refusal):
    """The unit exists but measures something else."""

    code = "unit_of_another_quantity"
    sentence = "{unit} measures {found}, not {wanted}. Write one of: {allowed}."


class ValueNotANumber(Refusal):
    """The value is text, true or false, NaN or infinite."""

    code = "value_not_a_number"
    sentence = "{value} is not a number that can be measured."


class BelowAbsoluteZero(Refusal):
    """The temperature lies under absolute zero."""

    code = "below_absolute_zero"
    sentence = "{value} {unit} is below absolute zero."


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
_POUND_KG: Final = 0.45359237
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
        factor=_POUND_KG,
        definition=f"0.453 592 37 kg exactly, {_NIST}",
    ),
    Unit(
        code="[ston_av]",
        name="short ton",
        quantity=Quantity.MASS,
        factor=2000 * _POUND_KG,
        definition=f"2,000 lb, {_NIST}",
    ),
    Unit(
        code="[lton_av]",
        name="long ton",
        quantity=Quantity.MASS,
        factor=2240 * _POUND_KG,
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

_ABSOLUTE_ZERO_CEL: Final = -273.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """A value as somebody entered it, beside its SI value.

    Parameters
    ----------
    value
        The number as entered, in `unit`.
    unit
        UCUM code as entered, one of `UNITS`.
    """

    value: float
    unit: str

    def __post_init__(self) -> None:
        """Refuse what is not a number in a known unit."""
        to_si(self.value, self.unit)

    @property
    def quantity(self) -> Quantity:
        """What is measured."""
        return UNITS[self.unit].quantity

    @property
    def si_value(self) -> float:
        """The value in the SI unit of its quantity: kg, m2, m, m3 or Cel."""
        return to_si(self.value, self.unit)

    @property
    def si_unit(self) -> str:
        """The code of the unit `si_value` is in."""
        return SI_UNIT[self.quantity]

    @property
    def factor(self) -> float:
        """The exact factor that was used, SI units per unit entered."""
        return UNITS[self.unit].factor

    def value_in(self, unit: str) -> float:
        """Return the same measure in another unit of the same quantity."""
        unit_of(unit, quantity=self.quantity)
        return from_si(self.si_value, unit)


def codes_of(quantity: Quantity) -> tuple[str, ...]:
    """Return the unit codes that measure a quantity, in a fixed order."""
    return tuple(code for code, unit in UNITS.items() if unit.quantity is quantity)


def unit_of(code: str, *, quantity: Quantity) -> Unit:
    """Return the unit with this code, if it measures the quantity.

    Raises
    ------
    UnitUnknown
        If no unit has this code ("ton" has none: there are three).
    UnitOfAnotherQuantity
        If the unit measures something else.
    """
    allowed = ", ".join(codes_of(quantity))
    unit = UNITS.get(code)
    if unit is None:
        raise UnitUnknown(unit=code, quantity=quantity.value, allowed=allowed)
    if unit.quantity is not quantity:
        raise UnitOfAnotherQuantity(
            unit=code, found=unit.quantity.value, wanted=quantity.value, allowed=allowed
        )
    return unit


def to_si(value: float, unit: str) -> float:
    """Return a value in its SI unit: kg, m2, m, m3 or Cel.

    Parameters
    ----------
    value
        Any finite number, in `unit`. True, false and text are not numbers.
    unit
        UCUM code, one of `UNITS`.

    Raises
    ------
    UnitUnknown, ValueNotANumber, BelowAbsoluteZero
    """
    if unit not in UNITS:
        raise UnitUnknown(unit=unit, quantity="any quantity", allowed=", ".join(UNITS))
    if not _is_number(value):
        raise ValueNotANumber(value=value)
    found = UNITS[unit]
    si_value = value * found.factor + found.offset
    # The slack is for rounding alone: -459.67 F is absolute zero, printed.
    if found.quantity is Quantity.TEMPERATURE and si_value < _ABSOLUTE_ZERO_CEL - 1e-9:
        raise BelowAbsoluteZero(value=value, unit=unit)
    return si_value


def from_si(si_value: float, unit: str) -> float:
    """Return an SI value in another unit; the inverse of `to_si`.

    Parameters
    ----------
    si_value
        Finite number in kg, m2, m, m3 or Cel.
    unit
        UCUM code of the unit wanted, one of `UNITS`.

    Raises
    ------
    UnitUnknown, ValueNotANumber
    """
    if unit not in UNITS:
        raise UnitUnknown(unit=unit, quantity="any quantity", allowed=", ".join(UNITS))
    if not _is_number(si_value):
        raise ValueNotANumber(value=si_value)
    found = UNITS[unit]
    return (si_value - found.offset) / found.factor


def measure(value: float, unit: str, *, quantity: Quantity) -> Measure:
    """Return a measure of the quantity wanted, or refuse and say what is allowed.

    Raises
    ------
    UnitUnknown, UnitOfAnotherQuantity, ValueNotANumber, BelowAbsoluteZero
    """
    unit_of(unit, quantity=quantity)
    return Measure(value=value, unit=unit)


def rate_to_si(value: float, *, numerator: str, denominator: str) -> float:
    """Return a rate such as a density or a yield per area in SI units.

    Parameters
    ----------
    value
        Units of `numerator` per unit of `denominator`, e.g. 250 with
        ``[lb_av]`` and ``[cyd_i]``.
    numerator, denominator
        UCUM codes; neither a temperature.

    Raises
    ------
    UnitUnknown, UnitOfAnotherQuantity, ValueNotANumber
    """
    for code in (numerator, denominator):
        if code in UNITS and UNITS[code].quantity is Quantity.TEMPERATURE:
            raise UnitOfAnotherQuantity(
                unit=code,
                found="temperature",
                wanted="a mass, area, length or volume",
                allowed=", ".join(
                    c for c, u in UNITS.items() if u.quantity is not Quantity.TEMPERATURE
                ),
            )
    return to_si(value, numerator) / to_si(1.0, denominator)


def _is_number(value: object) -> bool:
    # True counts as 1 in Python; in a measurement it is a mistake.
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)

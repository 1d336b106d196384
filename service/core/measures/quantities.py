"""Units people write and the SI values the service computes with.

Codes are those of the Unified Code for Units of Measure (UCUM). Two areas of
the lawn trade have no single UCUM atom and are written as UCUM expressions:
``1000.[sft_i]`` (a thousand square feet) and ``43560.[sft_i]`` (the
international acre of 1959). The three tons have three codes and no fourth:
a bare "ton" is refused, because short ton, tonne and long ton differ by up to
12 %.
"""

import math
import re
from dataclasses import dataclass
from typing import Final

from service.core.errors import Refusal
from service.core.measures.units import SI_UNIT, UNITS, Quantity, Unit

__all__ = [
    "UNITS",
    "BelowAbsoluteZero",
    "Measure",
    "Quantity",
    "UnitOfAnotherQuantity",
    "UnitUnknown",
    "ValueNotANumber",
    "codes_of",
    "from_si",
    "measure",
    "rate_to_si",
    "to_si",
    "two_readings",
    "ungrouped",
    "unit_of",
]

# "1,200" is twelve hundred to one reader, and one and a fifth to another. No group begins with 0.
_ONE_MARK: Final = re.compile(r"([1-9]\d{0,2})([.,])(\d{3})")
# A space, of whatever width, parts groups of three digits and nothing else.
_SPACED: Final = re.compile(r"[1-9]\d{0,2}(?:\s\d{3})+(?:[.,]\d+)?", re.ASCII)
_NO_BREAK_SPACES: Final = str.maketrans({"\u00a0": " ", "\u2009": " ", "\u202f": " "})


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


def ungrouped(text: str) -> str:
    """Return a number without the spaces that part its groups of three; other text as it is."""
    plain = text.strip().translate(_NO_BREAK_SPACES)
    return plain.replace(" ", "") if _SPACED.fullmatch(plain) else text


def two_readings(text: str, *, marks: str = ".,") -> tuple[float, float] | None:
    """Return both numbers that a text may mean, the greater first; None if it means one at most.

    Parameters
    ----------
    marks
        Those that may part groups of three digits as well as a fraction.
    """
    found = _ONE_MARK.fullmatch(text)
    if found is None or found[2] not in marks:
        return None
    return float(found[1] + found[3]), float(f"{found[1]}.{found[3]}")

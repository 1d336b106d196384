"""The range a formula holds for, and the refusal outside it."""

from service.core.errors import Refusal


class OutsideValidity(Refusal):
    """A value lies outside the range its formula was made for."""

    code = "outside_validity"
    sentence = "{quantity} is {value} {unit}; the formula holds from {low} to {high} {unit}."


def within(quantity: str, value: float, *, low: float, high: float, unit: str) -> float:
    """Return a value that lies in its range, ends included.

    Parameters
    ----------
    quantity
        Name of the argument, as the caller wrote it.
    value
        Any float; NaN and infinities are outside every range.
    low, high
        Ends of the range, in `unit`.
    unit
        Unit of all three; ``1`` for a fraction.

    Raises
    ------
    OutsideValidity
        If the value is not a finite number from low to high.
    """
    if not low <= value <= high:
        raise OutsideValidity(quantity=quantity, value=value, low=low, high=high, unit=unit)
    return value

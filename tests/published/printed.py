"""A number somebody printed, and how close we must come to it.

Every module of published checks has a tuple `PRINTED` of these; a test asserts
each to half of its last printed digit, and the table of all of them in
README.md beside it is generated from the same tuples.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Printed:
    """One published check.

    Parameters
    ----------
    check
        What is compared, in a few words; with the unit.
    source
        Key in service/rules/sources.toml.
    where
        Place in the source.
    printed
        The number as printed, digit for digit: "2.50" is not "2.5".
    compute
        Returns our number for it, in the same unit.
    """

    check: str
    source: str
    where: str
    printed: str
    compute: Callable[[], float]

    @property
    def value(self) -> float:
        """The printed number."""
        return float(self.printed)

    @property
    def half_a_digit(self) -> float:
        """Half of the last printed digit: the tolerance, and a hair for rounding ties."""
        exponent = Decimal(self.printed).as_tuple().exponent
        assert isinstance(exponent, int)
        return 0.5 * 10.0**exponent * (1 + 1e-9)

    def agrees(self) -> bool:
        """Return whether our number rounds to the printed one."""
        return abs(self.compute() - self.value) <= self.half_a_digit

    def __str__(self) -> str:
        """Return the name the test report shows."""
        return f"{self.source}: {self.check}"

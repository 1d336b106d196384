"""A quantity nobody weighed: low, likely, high, and what it rests on."""

import math
from dataclasses import dataclass

from service.core.errors import Refusal


class EstimateOutOfOrder(Refusal):
    """The three percentiles are not finite, not positive or not in order."""

    code = "estimate_out_of_order"
    sentence = (
        "An estimate needs 0 <= low <= likely <= high, all finite; got {low}, {likely}, {high}."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A quantity with its spread.

    Parameters
    ----------
    low, likely, high
        The 10th, 50th and 90th percentile, in `unit`; finite and
        0 <= low <= likely <= high.
    unit
        Unit of the three, as in the suffix of the field's name; ``1`` for a
        fraction.
    basis
        What it rests on, in one line of plain words.
    sources
        Keys of the sources behind it, sorted, each once.
    """

    low: float
    likely: float
    high: float
    unit: str
    basis: str
    sources: tuple[str, ...]

    def __post_init__(self) -> None:
        """Refuse what is not an ordered, finite, non-negative interval."""
        if not (
            all(math.isfinite(end) for end in (self.low, self.likely, self.high))
            and 0 <= self.low <= self.likely <= self.high
        ):
            raise EstimateOutOfOrder(low=self.low, likely=self.likely, high=self.high)

    @property
    def is_exact(self) -> bool:
        """Whether the three percentiles are one number."""
        return self.low == self.high

    def scaled(self, factor: float, *, unit: str, basis: str | None = None) -> "Estimate":
        """Return the estimate times an exact, non-negative number.

        Parameters
        ----------
        factor
            Exact number, >= 0 [new unit per old unit].
        unit
            Unit of the result.
        basis
            New basis; None keeps the old one.
        """
        return Estimate(
            low=self.low * factor,
            likely=self.likely * factor,
            high=self.high * factor,
            unit=unit,
            basis=self.basis if basis is None else basis,
            sources=self.sources,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """One named number that went into an estimate: a line of its "why"."""

    name: str
    value: Estimate


def exactly(value: float, *, unit: str, basis: str, sources: tuple[str, ...] = ()) -> Estimate:
    """Return a number without spread as an estimate: counted, weighed or stated.

    Parameters
    ----------
    value
        The number, >= 0, in `unit`.
    unit
        Unit of the value; ``1`` for a fraction.
    basis
        Who counted, weighed or stated it.
    sources
        Keys of the sources behind it; none if it is a record of the day.
    """
    return Estimate(
        low=value,
        likely=value,
        high=value,
        unit=unit,
        basis=basis,
        sources=tuple(sorted(set(sources))),
    )

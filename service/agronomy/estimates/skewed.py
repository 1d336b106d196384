"""An estimate as a distribution: a lognormal with two spreads.

An estimate's three numbers are the 10th, 50th and 90th percentile of a two-piece
lognormal: its logarithm lies half the time below the likely value, spread as a
normal distribution with the lower spread, and half the time above it, with the
upper one. All three printed percentiles are kept exactly, however lopsided the
interval, and every moment of it has a closed form.
"""

import math
from statistics import NormalDist
from typing import Final

from service.core.errors import Refusal
from service.core.measures.estimates import Estimate

# 90th percentile of the standard normal distribution.
NORMAL_90: Final = 1.2815515655446004


class IntervalReachesZero(Refusal):
    """A factor may be zero, so its logarithm has no spread."""

    code = "interval_reaches_zero"
    sentence = "{basis} may be as low as {low}; a factor of a product must be above zero."


def log_spreads(estimate: Estimate) -> tuple[float, float]:
    """Return the lower and upper spread of an estimate's logarithm, each >= 0.

    Raises
    ------
    IntervalReachesZero
    """
    if estimate.low <= 0:
        raise IntervalReachesZero(basis=estimate.basis, low=estimate.low)
    return (
        math.log(estimate.likely / estimate.low) / NORMAL_90,
        math.log(estimate.high / estimate.likely) / NORMAL_90,
    )


def mean_of(estimate: Estimate) -> float:
    """Return the mean of an estimate, in its unit: above likely where high is far.

    Raises
    ------
    IntervalReachesZero
    """
    return estimate.likely if estimate.is_exact else moments(estimate)[0]


def median_above(estimate: Estimate, value: float) -> float:
    """Return the median of an estimated quantity that turned out to be more than a value.

    Half of the chance that is left lies above it. That chance is reckoned from the upper end: near
    1 the lower one has no digits left.

    Parameters
    ----------
    value
        At least the estimate's likely, in its unit.
    """
    spread = log_spreads(estimate)[1]
    if spread == 0:
        return value
    more = _normal_below(-math.log(value / estimate.likely) / spread)
    if more / 2 == 0.0:
        return value
    return estimate.likely * math.exp(-spread * NormalDist().inv_cdf(more / 2))


def cumulants(below: float, above: float) -> tuple[float, float, float, float]:
    """Return the first four cumulants of a two-piece normal deviation, median 0."""
    half_normal = math.sqrt(2 / math.pi)
    first = (above - below) * half_normal / 2
    second = (above**2 + below**2) / 2
    third = (above**3 - below**3) * half_normal
    fourth = 3 * (above**4 + below**4) / 2
    variance = second - first**2
    return (
        first,
        variance,
        third - 3 * first * second + 2 * first**3,
        fourth - 4 * first * third + 6 * first**2 * second - 3 * first**4 - 3 * variance**2,
    )


def moments(estimate: Estimate) -> tuple[float, float, float]:
    """Return mean, variance and third central moment of a two-piece lognormal."""
    below, above = log_spreads(estimate)

    def raw(order: int) -> float:
        return estimate.likely**order * (
            math.exp((order * above) ** 2 / 2) * _normal_below(order * above)
            + math.exp((order * below) ** 2 / 2) * _normal_below(-order * below)
        )

    mean, second = raw(1), raw(2)
    return mean, max(second - mean**2, 0.0), raw(3) - 3 * mean * second + 2 * mean**3


def _normal_below(z: float) -> float:
    """Return the share of a standard normal distribution below z."""
    return math.erfc(-z / math.sqrt(2)) / 2

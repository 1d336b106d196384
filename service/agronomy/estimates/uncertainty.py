"""Products and sums of quantities nobody weighed, low, likely and high.

What the three numbers stand for is said in `service.agronomy.estimates.skewed`.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Final

from service.agronomy.estimates.skewed import (
    NORMAL_90,
    IntervalReachesZero,
    cumulants,
    log_spreads,
    mean_of,
    moments,
)
from service.core.errors import Refusal
from service.core.measures.estimates import Estimate

__all__ = [
    "NORMAL_90",
    "CorrelationOutOfRange",
    "FractionOutOfRange",
    "IntervalReachesZero",
    "complement",
    "log_spreads",
    "mean_of",
    "product",
    "sources_of",
    "total",
]

# Below this a skewed distribution cannot be told from a normal one in floating point.
SKEWNESS_SMALL: Final = 1e-3
# Variance by squared mean below which moments drown in rounding: a spread of 0.01 %.
VARIANCE_SMALL: Final = 1e-8


class FractionOutOfRange(Refusal):
    """A share that must lie between nothing and the whole does not."""

    code = "fraction_out_of_range"
    sentence = "{name} is {value}; it must lie between {low} and {high}."


class CorrelationOutOfRange(Refusal):
    """The correlation of parts of a sum is not between 0 and 1."""

    code = "correlation_out_of_range"
    sentence = "The correlation of the parts of a sum is {correlation}; it lies between 0 and 1."


def product(
    factors: Sequence[tuple[Estimate, float]],
    *,
    unit: str,
    basis: str,
    scale: float = 1.0,
) -> Estimate:
    """Return scale x product(factor ** power) of independent factors.

    Parameters
    ----------
    factors
        Estimates above zero, each with its power (-1 divides by it).
    unit
        Unit of the product.
    basis
        What it rests on, in plain words.
    scale
        Exact number the product is multiplied by, > 0.

    Raises
    ------
    IntervalReachesZero
        If a factor's low end is zero.

    Notes
    -----
    Logarithms add, so their cumulants add; the percentiles follow from the first
    four cumulants by the expansion of Cornish and Fisher. With log-symmetric
    intervals, or with one uncertain factor, the answer is exact; with lopsided
    ones it stays within a few per cent of a Monte Carlo run (see the tests).

    References
    ----------
    [cornish-fisher-1938] the expansion.
    """
    log_likely = math.log(scale)
    spreads: list[tuple[float, float]] = []
    for factor, power in factors:
        below, above = log_spreads(factor)
        log_likely += power * math.log(factor.likely)
        if power < 0:
            below, above = above, below
        if below > 0 or above > 0:
            spreads.append((abs(power) * below, abs(power) * above))
    quantile = _log_quantile(spreads)
    return Estimate(
        low=math.exp(log_likely + quantile(-NORMAL_90)),
        likely=math.exp(log_likely + quantile(0.0)),
        high=math.exp(log_likely + quantile(NORMAL_90)),
        unit=unit,
        basis=basis,
        sources=sources_of(factor for factor, _ in factors),
    )


def total(
    parts: Sequence[Estimate], *, unit: str, basis: str, correlation: float = 0.0
) -> Estimate:
    """Return the sum of estimates.

    Parameters
    ----------
    parts
        Estimates in one unit; exact ones and zeros are allowed.
    unit
        Unit of the sum; that of the parts.
    basis
        What it rests on, in plain words.
    correlation
        How far the parts err together, 0 (each for itself) to 1 (all wet or all
        dry). The lots of one wet morning err together: 0 would promise too much.

    Raises
    ------
    CorrelationOutOfRange, IntervalReachesZero

    Notes
    -----
    A shifted lognormal with the mean, the variance and the skewness of the sum,
    as Fenton matched two moments; its ends are held within those of parts that
    err wholly together. The ends add exactly where only one part is uncertain or
    the correlation is 1.

    References
    ----------
    [fenton-1960] sum of lognormal distributions by matching moments.
    """
    if not 0 <= correlation <= 1:
        raise CorrelationOutOfRange(correlation=correlation)
    exact = math.fsum(part.likely for part in parts if part.is_exact)
    uncertain = [part for part in parts if not part.is_exact]
    if len(uncertain) <= 1 or correlation == 1:
        ends = [
            exact + math.fsum(getattr(part, end) for part in uncertain)
            for end in ("low", "likely", "high")
        ]
    else:
        ends = [exact + end for end in _sum_percentiles(uncertain, correlation)]
    return Estimate(
        low=ends[0],
        likely=ends[1],
        high=ends[2],
        unit=unit,
        basis=basis,
        sources=sources_of(parts),
    )


def complement(fraction: Estimate, *, basis: str) -> Estimate:
    """Return one minus a fraction, ends exchanged.

    Parameters
    ----------
    fraction
        Share of a whole, 0 <= it < 1 [kg/kg].
    basis
        What the rest is, in plain words.

    Raises
    ------
    FractionOutOfRange
        If the high end leaves nothing.
    """
    if fraction.high >= 1:
        raise FractionOutOfRange(name=fraction.basis, value=fraction.high, low=0, high="below 1")
    return Estimate(
        low=1 - fraction.high,
        likely=1 - fraction.likely,
        high=1 - fraction.low,
        unit=fraction.unit,
        basis=basis,
        sources=fraction.sources,
    )


def sources_of(estimates: Iterable[Estimate]) -> tuple[str, ...]:
    """Return the source keys of several estimates, sorted, each once."""
    return tuple(sorted({key for estimate in estimates for key in estimate.sources}))


def _log_quantile(spreads: Sequence[tuple[float, float]]) -> Callable[[float], float]:
    """Return the quantile function of a sum of two-piece normal deviations, by z."""
    if not spreads:
        return lambda _: 0.0
    if len(spreads) == 1:
        below, above = spreads[0]
        return lambda z: z * (below if z < 0 else above)
    orders = [cumulants(below, above) for below, above in spreads]
    mean, variance, third, fourth = (math.fsum(order) for order in zip(*orders, strict=True))
    deviation = math.sqrt(variance)
    skewness = third / deviation**3
    excess = fourth / deviation**4

    def quantile(z: float) -> float:
        stretched = (
            z
            + (z**2 - 1) * skewness / 6
            + (z**3 - 3 * z) * excess / 24
            - (2 * z**3 - 5 * z) * skewness**2 / 36
        )
        return mean + deviation * stretched

    return quantile


def _sum_percentiles(parts: Sequence[Estimate], correlation: float) -> list[float]:
    """Return the 10th, 50th and 90th percentile of a sum of uncertain parts."""
    each = [moments(part) for part in parts]
    mean = math.fsum(part[0] for part in each)
    alone = math.fsum(part[1] for part in each)
    together = math.fsum(math.sqrt(part[1]) for part in each) ** 2
    variance = alone + correlation * (together - alone)
    if variance < VARIANCE_SMALL * mean**2:
        return [
            math.fsum(getattr(part, end) for part in parts) for end in ("low", "likely", "high")
        ]
    third_alone = math.fsum(part[2] for part in each)
    third_together = math.fsum(math.cbrt(part[2]) for part in each) ** 3
    third = third_alone + correlation**1.5 * (third_together - third_alone)
    skewness = third / variance**1.5
    least, most = (math.fsum(getattr(part, end) for part in parts) for end in ("low", "high"))
    deviation = math.sqrt(variance)
    low, likely, high = (
        mean + deviation * _skewed_quantile(z, skewness) for z in (-NORMAL_90, 0.0, NORMAL_90)
    )
    return [max(low, least), min(max(likely, least), most), min(high, most)]


def _skewed_quantile(z: float, skewness: float) -> float:
    """Return the quantile of a shifted lognormal of mean 0, deviation 1, by z.

    Without skewness, or with the rare skewness to the left, it is the normal one.
    """
    if skewness < SKEWNESS_SMALL:
        return z
    # The lognormal with this skewness: (w + 2) sqrt(w - 1) = skewness, w = exp(s^2).
    root = math.cbrt(1 + skewness**2 / 2 + skewness * math.sqrt(1 + skewness**2 / 4))
    w = root + 1 / root - 1
    spread = math.sqrt(math.log(w))
    return (math.exp(spread * z - spread**2 / 2) - 1) / math.sqrt(w - 1)

"""Percentiles of a mixture of normal distributions."""

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

# Components that weigh less together move no percentile that anybody reads: near rounding.
_NEGLIGIBLE: Final = 1e-6
# A step below this share of the spread is rounding. Newton's method is there after a few steps, and
# halving the bracket at the latest after so many in floating point.
_CLOSE_ENOUGH: Final = 1e-9
_STEPS_MOST: Final = 60


def mixture_quantiles(
    weights: npt.NDArray[np.float64],
    means: npt.NDArray[np.float64],
    variances: npt.NDArray[np.float64],
    deviates: Sequence[float],
) -> list[float]:
    """Return percentiles of a mixture of normals.

    Parameters
    ----------
    weights, means, variances
        Of each component; weights sum to 1, variances are above 0.
    deviates
        The percentiles wanted, as deviates of the standard normal.
    """
    some = weights > _NEGLIGIBLE / len(weights)
    shares = (weights[some] / weights[some].sum()).tolist()
    middles = means[some].tolist()
    spreads = np.sqrt(variances[some]).tolist()
    components = list(zip(shares, middles, spreads, strict=True))
    mean = math.fsum(share * middle for share, middle, _ in components)
    spread = math.sqrt(
        math.fsum(share * (sd**2 + (middle - mean) ** 2) for share, middle, sd in components)
    )
    return [_quantile(components, mean, spread, deviate) for deviate in deviates]


def _quantile(
    components: Sequence[tuple[float, float, float]], mean: float, spread: float, deviate: float
) -> float:
    """Return one percentile: Newton's method, held inside a bracket that halves."""
    wanted = _below(deviate)
    # Every component's own percentile is a bound of the mixture's.
    ends = [middle + deviate * sd for _, middle, sd in components]
    low, high = min(ends), max(ends)
    at = min(max(mean + deviate * spread, low), high)
    for _ in range(_STEPS_MOST):
        found = density = 0.0
        for share, middle, sd in components:
            z = (at - middle) / sd
            found += share * _below(z)
            density += share * math.exp(-0.5 * z * z) / sd
        density /= math.sqrt(2 * math.pi)
        if found < wanted:
            low = at
        else:
            high = at
        step = (wanted - found) / density if density > 0 else math.inf
        if abs(step) <= _CLOSE_ENOUGH * spread or high - low <= _CLOSE_ENOUGH * spread:
            return at
        at = at + step if low < at + step < high else (low + high) / 2
    return at


def _below(z: float) -> float:
    return 0.5 * math.erfc(-z / math.sqrt(2))

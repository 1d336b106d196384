"""How likely a sum of amounts nobody weighed, which err together, lies above a limit.

An amount is spread as its 10th, 50th and 90th percentile say: a lognormal with two spreads. With
z a standard normal deviation, its logarithm lies z times the lower spread below the likely value
where z < 0, and z times the upper one above it elsewhere, so that all three are kept exactly.
Amounts err together through what they share: z = sqrt(rho) d + sqrt(1 - rho) e, where d is one
for all of them (a wet day) and e each one's own. This is the normal copula with one factor:
standard, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

Grid = NDArray[np.float64]

# 90th percentile of the standard normal distribution.
NORMAL_90: Final = 1.2815515655446004
# What may weigh nothing has no logarithm: a thousandth of the likely value stands for nothing.
LEAST_SHARE: Final = 1e-3
# Rounding of sums is no overflow.
ROUNDING: Final = 1e-9
# From here on amounts count as erring wholly together.
NEARLY_ONE: Final = 0.999
# Beyond this many deviations either way nothing counts that a double can tell.
FURTHEST: Final = 38.0
# A chance that cannot be above this is told as none.
NO_CHANCE: Final = 5e-4
# A limit is cut into so many steps (one less than a power of two, which transforms fastest), and
# the deviation that is shared into steps of at most this.
STEPS: Final = 127
SHARED_STEP: Final = 0.3
SHARED_FURTHEST: Final = 4.8
# Amounts spread over less than so many steps, or beyond so many, are taken by their moments.
LEAST_STEPS: Final = 4
MOST_APART: Final = 8
# Below these a skewed distribution cannot be told from a normal one, nor a spread from none.
SKEWNESS_SMALL: Final = 1e-3
VARIANCE_SMALL: Final = 1e-9

# The standard normal distribution as a table, in steps that leave an error below 1e-7.
TABLE_FURTHEST: Final = 8
TABLE_STEPS: Final = 1000  # in one deviation
_BELOW: Final[Grid] = np.array(
    [
        math.erfc(-number / TABLE_STEPS / math.sqrt(2)) / 2
        for number in range(-TABLE_FURTHEST * TABLE_STEPS, TABLE_FURTHEST * TABLE_STEPS + 1)
    ]
)
_RISE: Final[Grid] = np.diff(_BELOW, append=1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """What an amount may be: its 10th, 50th and 90th percentile, in one unit."""

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        """Refuse what is not an ordered, finite, non-negative interval."""
        if not (math.isfinite(self.high) and 0 <= self.low <= self.likely <= self.high):
            msg = f"a spread needs 0 <= low <= likely <= high, all finite; got {self}"
            raise ValueError(msg)

    @classmethod
    def exactly(cls, amount: float) -> Spread:
        """Return an amount without spread."""
        return cls(low=amount, likely=amount, high=amount)

    def times(self, factor: float) -> Spread:
        """Return the amount times an exact, non-negative number."""
        return Spread(low=self.low * factor, likely=self.likely * factor, high=self.high * factor)

    @property
    def is_exact(self) -> bool:
        """Whether it is one number; what is likely nothing counts at its high end."""
        return self.low == self.high or self.likely == 0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Amount:
    """A likely amount, with the lower and the upper spread of its logarithm."""

    likely: float
    below: float
    above: float

    @classmethod
    def of(cls, spread: Spread, factor: float) -> _Amount:
        low = max(spread.low, LEAST_SHARE * spread.likely)
        return cls(
            likely=spread.likely * factor,
            below=math.log(spread.likely / low) / NORMAL_90,
            above=math.log(spread.high / spread.likely) / NORMAL_90,
        )

    def at(self, z: float) -> float:
        """Return the amount at a deviation."""
        return self.likely * math.exp(z * (self.below if z < 0 else self.above))

    @property
    def width(self) -> float:
        """Return how far its 90th percentile is from its 10th."""
        return self.at(NORMAL_90) - self.at(-NORMAL_90)

    def deviations(self, amounts: Grid) -> Grid:
        """Return the deviations at which it reaches each amount."""
        with np.errstate(divide="ignore", invalid="ignore"):
            logs = np.log(np.maximum(amounts, 0.0) / self.likely)
            slopes = np.where(logs < 0, self.below, self.above)
            return np.where(logs == 0, 0.0, logs / slopes)


@lru_cache(maxsize=8192)
def chance_above(
    limit: float, parts: tuple[tuple[Spread, float], ...], *, correlation: float
) -> float:
    """Return the probability that a sum of shares of amounts lies above a limit.

    Parameters
    ----------
    limit
        In the unit of the amounts times that of their factors.
    parts
        Each amount once, with the factor it is multiplied by, >= 0.
    correlation
        How far the amounts err together, from 0 (each for itself) to 1 (all wet or all dry).

    Returns
    -------
    float
        From 0 to 1; what cannot be above 0.0005 is told as 0.

    Notes
    -----
    Given the shared deviation the amounts are independent. The widest are added up on a grid,
    the many narrow ones are taken as one shifted lognormal with their mean, variance and skewness,
    as Fenton matched two moments; then the shared deviation is integrated out by the trapezoidal
    rule. The tests hold it against random draws. A day that goes on asks again of every vehicle
    and place, most of which have what they had: those answers are remembered.

    References
    ----------
    [fenton-1960] sum of lognormal distributions by matching moments.
    """
    exact = math.fsum(spread.high * factor for spread, factor in parts if spread.is_exact)
    uncertain = [
        _Amount.of(spread, factor) for spread, factor in parts if factor > 0 and not spread.is_exact
    ]
    left = limit - exact + ROUNDING * max(1.0, abs(limit))
    if left <= 0:
        return 1.0
    if not uncertain:
        return 0.0
    meets = _meeting(left, uncertain)
    alone = math.erfc(meets / math.sqrt(2)) / 2
    if len(uncertain) == 1 or correlation >= NEARLY_ONE:
        return alone
    # The sum is above the limit only if one of them is further out than where all together meet it.
    if len(uncertain) * alone < NO_CHANCE:
        return 0.0
    return _together(left, uncertain, correlation)


def _meeting(limit: float, amounts: Sequence[_Amount]) -> float:
    """Return the deviation at which amounts that all deviate alike add up to the limit."""
    least, most = -FURTHEST, FURTHEST
    for _ in range(42):
        middle = (least + most) / 2
        if math.fsum(amount.at(middle) for amount in amounts) <= limit:
            least = middle
        else:
            most = middle
    return least


def _together(limit: float, amounts: Sequence[_Amount], correlation: float) -> float:
    """Return the chance for two amounts or more, of a correlation below 1."""
    own = math.sqrt(1 - correlation)
    # The smoother what follows is in the shared deviation, the longer its steps may be.
    smooth = own / math.sqrt(correlation) if correlation > 0 else math.inf
    steps = math.ceil(2 * SHARED_FURTHEST / min(SHARED_STEP, smooth))
    shared = np.linspace(-SHARED_FURTHEST, SHARED_FURTHEST, steps + 1)
    weights = np.exp(-(shared**2) / 2)
    centre = (math.sqrt(correlation) * shared)[:, np.newaxis]
    step = limit / STEPS
    widest = sorted(amounts, key=lambda amount: -amount.width)
    apart = [amount for amount in widest if amount.width >= LEAST_STEPS * step]
    apart = apart[: min(MOST_APART, len(widest) - 1)]
    rest = widest[len(apart) :]

    grid: Grid = step * np.arange(STEPS + 1, dtype=np.float64)
    sums: Grid | None = None
    for amount in apart:
        below = normal_below((amount.deviations(grid + step / 2) - centre) / own)
        cells = np.diff(below, axis=1, prepend=0.0)
        sums = cells if sums is None else _added(sums, cells)
    left: Grid = limit - grid
    if sums is None:
        sums, left = np.ones((len(shared), 1)), left[:1]
    if len(rest) == 1:
        within = normal_below((rest[0].deviations(left) - centre) / own)
    else:
        within = _pooled_within(left, rest, centre=centre, own=own)
    chances = 1 - (sums * within).sum(axis=1)
    return float(np.clip(weights @ chances / weights.sum(), 0.0, 1.0))


def _added(one: Grid, other: Grid) -> Grid:
    """Return the distribution of a sum on the grid; what is beyond its end is left out."""
    size = 2 * one.shape[1]
    both = np.fft.rfft(one, size, axis=1) * np.fft.rfft(other, size, axis=1)
    return np.fft.irfft(both, size, axis=1)[:, : one.shape[1]]


def _pooled_within(limits: Grid, amounts: Sequence[_Amount], *, centre: Grid, own: float) -> Grid:
    """Return how likely a sum lies within each limit: a shifted lognormal of its moments.

    E[exp(t z); z > 0] of a normal z of mean m and deviation s is exp(t m + t2 s2 / 2) times the
    normal share below (m + t s2) / s; the other half likewise.
    """

    def raw(order: int, amount: _Amount) -> Grid:
        halves = [
            np.exp(slope * centre + (slope * own) ** 2 / 2)
            * normal_below(side * (centre + slope * own**2) / own)
            for slope, side in ((order * amount.above, 1.0), (order * amount.below, -1.0))
        ]
        return amount.likely**order * (halves[0] + halves[1])

    mean, variance, third = (np.zeros_like(centre) for _ in range(3))
    for amount in amounts:
        first, second, cubed = (raw(order, amount) for order in (1, 2, 3))
        mean += first
        variance += np.maximum(second - first**2, 0.0)
        third += cubed - 3 * first * second + 2 * first**3
    deviation = np.sqrt(np.maximum(variance, VARIANCE_SMALL * mean**2))
    z = (limits - mean) / deviation
    skewness = third / deviation**3
    side = np.where(skewness < 0, -1.0, 1.0)
    bent = np.maximum(np.abs(skewness), SKEWNESS_SMALL)
    # The lognormal with this skewness: (w + 2) sqrt(w - 1) = skewness, w = exp(s^2).
    root = np.cbrt(1 + bent**2 / 2 + bent * np.sqrt(1 + bent**2 / 4))
    w = root + 1 / root - 1
    spread = np.sqrt(np.log(w))
    stretched = np.maximum(1 + side * z * np.sqrt(w - 1), 1e-300)
    reached = side * (np.log(stretched) / spread + spread / 2)
    return np.where(
        limits > 0,
        normal_below(np.where(np.abs(skewness) < SKEWNESS_SMALL, z, reached)),
        0.0,
    )


def normal_below(z: Grid) -> Grid:
    """Return the shares of a standard normal distribution below each z."""
    last = 2 * TABLE_FURTHEST * TABLE_STEPS
    places = np.clip((z + TABLE_FURTHEST) * TABLE_STEPS, 0, last)
    rows = places.astype(np.intp)
    return np.asarray(_BELOW[rows] + (places - rows) * _RISE[rows])

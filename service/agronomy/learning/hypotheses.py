"""How the spread of an estimate may really be shared out: a grid of hypotheses.

The shares of the four errors are an assumption. A firm whose loads scatter twice as far, or whose
lawns are much alike, is none that breaks it: the assumption stands in the middle of a grid, and
tickets say which of its points are likely.
"""

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import product
from typing import Final

import numpy as np

from service.agronomy.estimates.skewed import NORMAL_90
from service.agronomy.learning.mixtures import mixture_quantiles
from service.agronomy.learning.weigh_tickets import Floats
from service.core.errors import Refusal

# By how much the assumed variances may be off, in powers of two: of what a firm and its grass have
# in common, of its lawns, of single loads. The last has the finest steps, as many tickets tell it
# best, and what lies between two steps is believed to be one of them. Common practice, chosen on
# the bench.
_BETWEEN_OCTAVES: Final = (-0.5, 1.5)
_LAWN_OCTAVES: Final = (-0.8, 0.8)
_LOAD_OCTAVES: Final = (-1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0)
# Mean and standard deviation, in the same powers, of what is believed of the three before any
# ticket. Loads are held to scatter rather more than assumed, and few tickets that differ to tell
# of loads rather than of lawns: who believes too little scatter promises too much, and heights
# rounded to a centimetre are scatter that no share foresees. Common practice, chosen on the bench.
_BELIEVED_OCTAVES: Final = (-0.3, -0.4, 1.1)
_DOUBT_OCTAVES: Final = (0.8, 0.5, 1.5)


class VarianceSharesWrong(Refusal):
    """The shares of the four errors do not make up the whole."""

    code = "variance_shares_wrong"
    sentence = "The shares {shares} must all be above zero and sum to 1."


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceShares:
    """How the estimate's spread is shared out, as fractions that sum to 1.

    Parameters
    ----------
    firm, group, lawn, load
        Share of the variance of the logarithm [1], each above 0.
    """

    firm: float
    group: float
    lawn: float
    load: float

    def __post_init__(self) -> None:
        """Refuse shares that are not shares."""
        shares = (self.firm, self.group, self.lawn, self.load)
        if min(shares) <= 0 or abs(math.fsum(shares) - 1) > 1e-9:  # noqa: PLR2004 - rounding of a sum
            raise VarianceSharesWrong(shares=shares)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hypotheses:
    """Sets of four variances, and what is believed of each set before any ticket.

    Parameters
    ----------
    firm, group, lawn, load
        Variance of each error, one number a hypothesis, > 0.
    log_belief
        Logarithm of its probability before any ticket.
    """

    firm: Floats
    group: Floats
    lawn: Floats
    load: Floats
    log_belief: Floats

    def scaled(self, variance: float) -> "Hypotheses":
        """Return the hypotheses with all variances times a number."""
        return Hypotheses(
            firm=self.firm * variance,
            group=self.group * variance,
            lawn=self.lawn * variance,
            load=self.load * variance,
            log_belief=self.log_belief,
        )


@lru_cache(maxsize=16)
def hypotheses_of(shares: VarianceShares) -> Hypotheses:
    """Return the grid around some shares, in units of the estimate's own variance.

    Notes
    -----
    All variances are scaled so that the mixture of all hypotheses has the 10th and the 90th
    percentile of the estimate: without a ticket it stays what it was.

    References
    ----------
    [gelman-bda-2013] chapter 5: variances of a hierarchy with a prior of their own, integrated
    over a grid.
    """
    octaves = np.array(
        list(product(_BETWEEN_OCTAVES, _LAWN_OCTAVES, _LOAD_OCTAVES)), dtype=np.float64
    )
    log_belief = -0.5 * np.sum(((octaves - _BELIEVED_OCTAVES) / _DOUBT_OCTAVES) ** 2, axis=1)
    log_belief -= math.log(float(np.sum(np.exp(log_belief))))
    between, lawn, load = 2.0**octaves.T
    grid = Hypotheses(
        firm=shares.firm * between,
        group=shares.group * between,
        lawn=shares.lawn * lawn,
        load=shares.load * load,
        log_belief=log_belief,
    )
    totals = grid.firm + grid.group + grid.lawn + grid.load
    alike = mixture_quantiles(np.exp(log_belief), np.zeros_like(totals), totals, (NORMAL_90,))[0]
    return grid.scaled((NORMAL_90 / alike) ** 2)

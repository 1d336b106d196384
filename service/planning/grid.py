"""How finely a bound tells loads apart."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

COARSE, FINE = 48, 144  # steps of the payload; the work grows with their square
DEAR_CENTS = 300  # what a coarse step may cost; above, rounding loads down loosens bounds too much


def grid_of(payload_kg: int, fees: Iterable[npt.NDArray[np.int64]]) -> int:
    """Return the steps of a vehicle's payload: more where a step costs much.

    Parameters
    ----------
    fees
        For each lot, the fees of its takers [cents per t].
    """
    cheapest = [int(takers.min()) for takers in fees if len(takers)]
    a_step = max(cheapest, default=0) * payload_kg // (1000 * COARSE)
    return FINE if a_step > DEAR_CENTS else COARSE

"""Ways with what the crew costs on them: metres and seconds made one price.

The search prices ways by their metres alone. So that a second on the way costs too, each way is
handed to it as so many steps, each worth the largest amount that a metre and a second are whole
multiples of: nothing is rounded. Ways that are measured on the map become a matrix, since their
seconds are rounded.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from service.planning.arrays.place_map import Map
from service.planning.arrays.travel import MATRIX_MODE, spread
from service.planning.model.faults import Fault, ProblemNotUsable

MOST_STEPS = np.iinfo(np.int32).max  # what lies between candidates is kept in 32 bits
SPEED = 1  # position in the factors of a map


def priced(roads: Map, metre: int, second: int) -> tuple[Map, int]:
    """Return the ways in steps, and what a step costs.

    Parameters
    ----------
    metre, second
        What they cost [units].

    Raises
    ------
    ProblemNotUsable
        If the longest way is too many steps.
    """
    if second == 0:
        return roads, metre
    step = math.gcd(metre, second)
    metres, seconds = matrix_of(roads)
    steps = metres.astype(np.int64) * (metre // step) + seconds.astype(np.int64) * (second // step)
    if int(steps.max(initial=0)) > MOST_STEPS:
        detail = "With this price of a minute the longest way cannot be counted in whole numbers."
        raise ProblemNotUsable(
            [Fault(pointer="/costs/crew_cents_per_min", code="out_of_range", detail=detail)]
        )
    there = dataclasses.replace(
        roads, mode=MATRIX_MODE, metres=steps.astype(np.int32), seconds=seconds
    )
    return there, step


def matrix_of(roads: Map) -> tuple[np.ndarray, np.ndarray]:
    """Return metres and seconds from everywhere to everywhere, as the compiled ``way`` has them."""
    if roads.mode == MATRIX_MODE:
        return roads.metres, roads.seconds
    count = len(roads.points)
    every = np.arange(count)
    metres = np.empty((count, count), dtype=np.int32)
    for a in range(count):
        metres[a] = spread(roads.mode, roads.points, roads.metres, roads.factors, a, every, 0)
    seconds = np.floor(metres * 60.0 / roads.factors[SPEED] + 0.5).astype(np.int32)
    return metres, seconds

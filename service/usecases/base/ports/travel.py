"""The port of distances: how far and how long between points, all pairs at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from service.core.places import Point


@dataclass(frozen=True, slots=True, kw_only=True)
class TravelMatrix:
    """Whole metres and seconds between points, rows and columns in the order asked."""

    distance_m: NDArray[np.int64]
    duration_s: NDArray[np.int64]
    basis: str
    sources: tuple[str, ...]


class Distances(Protocol):
    """How far and how long between points, all pairs at once."""

    def matrix(self, points: Sequence[Point]) -> TravelMatrix:
        """Return the whole matrix."""
        ...

"""Where the places of a problem are, and the ways between them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from service.planning.arrays.travel import MATRIX_MODE, PLANE_MODE, SPHERE_MODE, way
from service.planning.model.problem import EARTH_RADIUS_M, Problem

Real = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Map:
    """Where the places are, in a form that compiled code reads."""

    mode: int
    points: Real  # x, y, 0 in metres, or a point on the unit sphere
    metres: npt.NDArray[np.int32]  # only with a matrix
    seconds: npt.NDArray[np.int32]
    factors: Real  # metres per unit of chord or straight line incl. detour; speed in m/min; radius

    def arguments(self) -> tuple[Any, ...]:
        """Return the arguments of the compiled ``way``."""
        return self.mode, self.points, self.metres, self.seconds, self.factors

    def way(self, start: int, end: int) -> tuple[int, int]:
        """Return metres and seconds from one place to another."""
        metres, seconds = way(*self.arguments(), start, end)
        return int(metres), int(seconds)


def map_of(problem: Problem) -> Map:
    """Return the geometry of a problem."""
    costs = problem.costs
    none = np.zeros((1, 1), dtype=np.int32)
    points = np.zeros((max(1, len(problem.places)), 3))
    metres = seconds = none
    mode = MATRIX_MODE if problem.matrix is not None else PLANE_MODE
    if problem.matrix is not None:
        metres = np.array(problem.matrix.distance_m, dtype=np.int32).reshape(
            len(problem.places), -1
        )
        seconds = np.array(problem.matrix.duration_s, dtype=np.int32).reshape(metres.shape)
    elif problem.places and problem.places[0].x_m is None:
        mode = SPHERE_MODE
        for row, place in enumerate(problem.places):
            lat, lon = math.radians(place.lat or 0.0), math.radians(place.lon or 0.0)
            points[row] = (
                math.cos(lat) * math.cos(lon),
                math.cos(lat) * math.sin(lon),
                math.sin(lat),
            )
    else:
        for row, place in enumerate(problem.places):
            points[row, :2] = place.x_m or 0, place.y_m or 0
    factors = np.array([float(costs.detour_permille), float(costs.speed_m_per_min), EARTH_RADIUS_M])
    return Map(mode=mode, points=points, metres=metres, seconds=seconds, factors=factors)

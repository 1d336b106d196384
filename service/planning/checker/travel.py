"""Ways and bare days as the independent judge works them out, with code of its own."""

from __future__ import annotations

import math
from fractions import Fraction

from service.planning.model.problem import EARTH_RADIUS_M, Problem, Vehicle


class Ways:
    """Metres, seconds and the cost of days without tips, from the problem alone."""

    def __init__(self, problem: Problem) -> None:
        """Look places and jobs up by id once."""
        self.problem = problem
        self.rows = {place.id: row for row, place in enumerate(problem.places)}
        self.jobs = {job.id: job for job in problem.jobs}

    def way(self, start: str, end: str) -> tuple[int, int]:
        """Return metres and seconds between two places."""
        a, b = self.rows[start], self.rows[end]
        if self.problem.matrix is not None:
            return self.problem.matrix.distance_m[a][b], self.problem.matrix.duration_s[a][b]
        if a == b:
            return 0, 0
        one, two, costs = self.problem.places[a], self.problem.places[b], self.problem.costs
        if one.x_m is not None and two.x_m is not None:
            straight = math.hypot(one.x_m - two.x_m, (one.y_m or 0) - (two.y_m or 0))
        else:
            straight = _great_circle_m(
                one.lat or 0.0, one.lon or 0.0, two.lat or 0.0, two.lon or 0.0
            )
        metres = math.floor(straight * costs.detour_permille / 1000 + 0.5)
        return metres, math.floor(Fraction(metres * 60, costs.speed_m_per_min) + Fraction(1, 2))

    def cost(self, metres: int, seconds: int) -> Fraction:
        """Return what a way costs, and the crew on it."""
        costs = self.problem.costs
        drive = Fraction(metres * costs.drive_cents_per_km, 1000)
        return drive + Fraction(seconds * costs.crew_cents_per_min, 60)

    def bare_day(self, vehicle: Vehicle) -> Fraction:
        """Return the cost of the vehicle's jobs with no tips at all."""
        costs = self.problem.costs
        place, clock, cost = vehicle.start_place, vehicle.shift_start_s, Fraction(0)
        for job in (self.jobs[name] for name in vehicle.jobs):
            metres, seconds = self.way(place, job.place)
            clock += seconds
            late = max(0, clock - job.window_s[1])
            cost += self.cost(metres, seconds)
            cost += Fraction(late * costs.late_cents_per_min, 60)
            cost += self.cost(0, max(0, job.window_s[0] - clock))  # the crew waits
            clock, place = max(clock, job.window_s[0]) + job.service_s, job.place
        metres, seconds = self.way(place, vehicle.end_place)
        over = max(0, clock + seconds - vehicle.shift_end_s)
        cost += self.cost(metres, seconds)
        return cost + Fraction(over * costs.overtime_cents_per_min, 60)


def _great_circle_m(lat1: float, lon1: float, lat2: float, lon2: float) -> float:
    """Return the great-circle distance on the format's sphere (haversine)."""
    one, two = math.radians(lat1), math.radians(lat2)
    half_lat, half_lon = (two - one) / 2, math.radians(lon2 - lon1) / 2
    chord = math.sin(half_lat) ** 2 + math.cos(one) * math.cos(two) * math.sin(half_lon) ** 2
    return 2 * EARTH_RADIUS_M * math.asin(min(1.0, math.sqrt(chord)))

"""How likely a plan is to overflow, when lots turn out heavier or lighter than planned.

Each lot's mass is spread as a triangle from low over likely to high; lots are independent. Sums of
lots are taken as normal (central limit); the tests compare with a Monte Carlo count. A tip that
empties the body takes whatever is aboard; any other tips the kilograms of the plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.planning.problem import Problem
from service.planning.result import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """What a lot may weigh [kg]: least, most likely, most."""

    low_kg: float
    likely_kg: float
    high_kg: float

    @property
    def mean_kg(self) -> float:
        """Return the mean of the triangle: (a + b + c) / 3."""
        return (self.low_kg + self.likely_kg + self.high_kg) / 3

    @property
    def variance_kg2(self) -> float:
        """Return its variance: (a2 + b2 + c2 - ab - ac - bc) / 18.

        Both moments are standard for the triangular distribution; common knowledge, no source.
        """
        a, b, c = self.low_kg, self.likely_kg, self.high_kg
        return (a * a + b * b + c * c - a * b - a * c - b * c) / 18


@dataclass(frozen=True, slots=True, kw_only=True)
class OverflowChances:
    """Probabilities from 0 to 1: by vehicle that it is ever overloaded, by destination overfull."""

    vehicles: dict[str, float]
    destinations: dict[str, float]


def overflow_chances(problem: Problem, plan: Plan, spreads: dict[str, Spread]) -> OverflowChances:
    """Return how likely each vehicle is overloaded and each destination gets more than its room.

    Parameters
    ----------
    problem, plan
        The day, and a legal plan of it.
    spreads
        By job; lots that are not named weigh what the problem says.

    Returns
    -------
    OverflowChances
        A vehicle's figure is that of its worst moment, a lower bound on that of the whole day.
    """
    jobs = {job.id: job for job in problem.jobs}
    vehicles: dict[str, float] = {}
    at: dict[str, tuple[float, float]] = {}
    for vehicle, answer in zip(problem.vehicles, plan.vehicles, strict=True):
        planned = sum(part.mass_kg for part in vehicle.aboard)
        mean, variance, worst = float(planned), 0.0, 0.0
        for index, stop in enumerate(answer.stops):
            if stop.done:
                if stop.destination is not None:
                    _add(at, stop.destination, float(stop.mass_kg), 0.0)
                continue
            if stop.job is not None:
                job = jobs[stop.job]
                kg = float(job.mass_kg)
                spread = spreads.get(job.id, Spread(low_kg=kg, likely_kg=kg, high_kg=kg))
                planned += job.mass_kg
                mean, variance = mean + spread.mean_kg, variance + spread.variance_kg2
                worst = max(worst, _above(vehicle.payload_kg, mean, variance))
            elif stop.destination is not None:
                if stop.mass_kg >= planned:
                    _add(at, stop.destination, mean, variance)
                    planned, mean, variance = 0, 0.0, 0.0
                else:
                    _add(at, stop.destination, float(stop.mass_kg), 0.0)
                    planned, mean = planned - stop.mass_kg, mean - stop.mass_kg
            for part in plan.unplaced:
                after = stop.job is not None and part.after_job == stop.job
                if part.vehicle == vehicle.id and after and index >= 0:
                    planned, mean = planned - part.mass_kg, mean - part.mass_kg
        vehicles[vehicle.id] = worst
    rooms = {d.id: d.capacity_kg for d in problem.destinations}
    return OverflowChances(
        vehicles=vehicles,
        destinations={name: _above(rooms[name], *moments) for name, moments in at.items()},
    )


def _add(at: dict[str, tuple[float, float]], name: str, mean: float, variance: float) -> None:
    before = at.get(name, (0.0, 0.0))
    at[name] = (before[0] + mean, before[1] + variance)


def _above(limit: float, mean: float, variance: float) -> float:
    """Return the chance that a normal quantity lies above a limit."""
    if variance <= 0:
        return 1.0 if mean > limit else 0.0
    return 0.5 * math.erfc((limit - mean) / math.sqrt(2 * variance))

"""What destinations have room for, and what done tips took of it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from service.planning.arrays.tables import UNITS_PER_CENT, Whole
from service.planning.model.problem import Problem
from service.planning.model.result import DestinationUse


def room_of(problem: Problem) -> Whole:
    """Return the room of every destination, as the problem names it."""
    return np.array([d.capacity_kg for d in problem.destinations], dtype=np.int64)


def scarcity_of(problem: Problem, uses: Iterable[DestinationUse]) -> Whole:
    """Return the scarcity prices that a plan told, in units per kg; 0 where it told none."""
    prices = {use.id: use.price_cents_per_t for use in uses}
    return np.array(
        [prices.get(d.id, 0) * UNITS_PER_CENT // 1000 for d in problem.destinations],
        dtype=np.int64,
    )


def numbers_of(problem: Problem) -> dict[str, int]:
    """Return destination numbers by id."""
    return {d.id: number for number, d in enumerate(problem.destinations)}


def done_of(problem: Problem, numbers: Mapping[str, int]) -> Whole:
    """Return the kilograms that done tips took, by destination number."""
    done_kg = np.zeros(len(numbers), dtype=np.int64)
    for vehicle in problem.vehicles:
        for stop in vehicle.done:
            if stop.destination is not None:
                done_kg[numbers[stop.destination]] += stop.mass_kg
    return done_kg

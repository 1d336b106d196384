"""What a node of branch and bound says of a vehicle: how much it tips at a destination, at once.

A use is a vehicle and a destination; a demand says of the largest tip of that use that it is at
least, and at most, so many kilograms. Of two halves of a use every tip plan lies in exactly one.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable

import numpy as np

from service.planning.arrays.inputs import ACCEPT, ASK, ASK_BIT, CAP, DEST, NO_CAP, OVER
from service.planning.arrays.tables import UNITS_PER_CENT, Whole
from service.planning.tip_plans.columns import Column, Tips
from service.planning.tip_plans.shortlists import NOWHERE, Shortlist

NOISE = 1e-6
STRANDED = 10_000_000 * UNITS_PER_CENT  # what a vehicle costs that has no plan yet
Use = tuple[int, int]  # vehicle, destination
Demand = tuple[Use, int, int]  # its largest tip there: at least, at most so many kilograms


def merged(demands: tuple[Demand, ...], new: Demand) -> tuple[Demand, ...]:
    """Return the demands with another one; of two for the same use the tighter ends count."""
    use, low, high = new
    kept = []
    for other, least, most in demands:
        if other == use:
            low, high = max(low, least), min(high, most)
        else:
            kept.append((other, least, most))
    return tuple(sorted([*kept, (use, low, high)]))


def largest(column: Column) -> dict[int, int]:
    """Return the largest tip of a tip plan at each destination [kg]."""
    found: dict[int, int] = {}
    for _, number, kg in column.tips:
        if number != NOWHERE:
            found[number] = max(kg, found.get(number, 0))
    return found


def obeys(column: Column, demands: tuple[Demand, ...]) -> bool:
    """Tell whether a tip plan does as a node demands."""
    mine = [demand for demand in demands if demand[0][0] == column.vehicle]
    if not mine or column.cost >= STRANDED:
        return True
    tips = largest(column)
    return all(low <= tips.get(number, 0) <= high for (_, number), low, high in mine)


def demanded(listed: Shortlist, vehicle: int, demands: tuple[Demand, ...]) -> Shortlist:
    """Return the shortlist with destinations forbidden, limited or asked for."""
    near, asked = listed.road.near.copy(), 0
    for (who, number), low, high in demands:
        if who != vehicle:
            continue
        here = near[:, DEST] == number
        if high == 0:
            near[here, ACCEPT] = 0
        elif high < NO_CAP:
            near[here, CAP] = high
            near[here, OVER] = 0
        if low:
            near[here, ASK], near[here, ASK_BIT] = low, asked.bit_length()
            asked = 2 * asked + 1
    return dataclasses.replace(listed, road=listed.road._replace(near=near), asked=asked)


def room_at_most(room: Whole, number: int, demands: tuple[Demand, ...]) -> Whole:
    """Return the room a vehicle can have at most, after what others are told to tip."""
    left = room.copy()
    for (vehicle, destination), low, _ in demands:
        if vehicle != number:
            left[destination] = max(left[destination] - low, 0)
    return left


def halves_of(mixture: Iterable[tuple[Column, float]]) -> tuple[Demand, Demand] | None:
    """Return the two halves of the use whose kilograms a mixture mixes most; None if none.

    Parameters
    ----------
    mixture
        Tip plans and their weights, which add up to 1 for each vehicle.
    """
    mixed: dict[Use, list[tuple[float, int]]] = {}
    for column, weight in mixture:
        if NOISE < weight < 1 - NOISE:
            for number, kg in largest(column).items():
                mixed.setdefault((column.vehicle, number), []).append((weight, kg))
    best, halves = NOISE * 1000, None
    for use, parts in sorted(mixed.items()):
        mean = sum(weight * kg for weight, kg in parts)
        unused = 1 - sum(weight for weight, _ in parts)
        off = sum(weight * abs(kg - mean) for weight, kg in parts) + unused * mean
        if off > best:
            least = 0 if unused > NOISE else min(kg for _, kg in parts)
            split = max(int(np.ceil(mean - NOISE)), least + 1)
            best, halves = off, ((use, split, NO_CAP), (use, 0, split - 1))
    return halves


def apart(weakest: tuple[int, Tips] | None, chosen: list[Column]) -> tuple[Demand, Demand] | None:
    """Return halves that tell a relaxed plan from the one chosen for its vehicle, if any do."""
    if weakest is None:
        return None
    number, tips = weakest
    column = next(column for column in chosen if column.vehicle == number)
    here = largest(column)
    there = largest(Column(vehicle=number, cost=0, tips=tips))
    differ = sorted(set(here) ^ set(there), key=lambda d: (-here.get(d, there.get(d, 0)), d))
    if not differ:
        return None
    use = (number, differ[0])
    return (use, 1, NO_CAP), (use, 0, 0)

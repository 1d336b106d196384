"""How bounds tell loads apart: in steps, laid so that what jobs add needs no rounding. Compiled.

A load that began with a lot is the sum of all lots since, less what partial tips dropped. Its steps
are counted from that sum downwards: so loads are rounded down where something was dropped, not
with every job.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import (
    BIT,
    GRID,
    KG,
    LITRES,
    PAYLOAD,
    START_BITS,
    START_KG,
    START_LITRES,
    Road,
)


class ToGo(NamedTuple):
    """Bounds on the cost to go by gap, by lot loaded first since empty, by step of the load.

    In ``cost``, entry [0, g, i, k] bounds what follows in gap g for a load of at least step k that
    began with lot i (0: what was aboard at the start, i + 1: job i); [1 + b, ...] the same if what
    bit b asks for is still to be done.
    """

    cost: Array
    begins: Array  # kilograms of step 1, by gap and first lot; step 0 is no load at all
    bits: Array  # kinds aboard, by gap and first lot
    light: Array  # litres and kilograms of the lightest lot aboard, by gap and first lot
    tips: Array  # what it costs to drop so many steps in a gap, by gap and first lot
    rise: Array  # and what the next step costs more, see ``gap_costs``
    step: int  # kilograms


def _step_of(rules: Array) -> Array:
    """Return the kilograms of a step."""
    return (rules[PAYLOAD] + rules[GRID] - 1) // rules[GRID]


step_of = compiled(_step_of)


def _begins_of(rules: Array, road: Road) -> Array:
    """Return where the steps begin, by gap and by lot loaded first since empty [kg]."""
    n, step = road.jobs.shape[0], step_of(rules)
    begins = np.zeros((n + 2, n + 2), dtype=np.int64)
    for i in range(n + 1):
        total = road.start[START_KG] if i == 0 else np.int64(0)
        if i > 0:
            total += road.jobs[i - 1, KG]
        for gap in range(i, n + 1):
            begins[gap, i] = total % step
            if gap < n:
                total += road.jobs[gap, KG]
    return begins


begins_of = compiled(_begins_of)


def _aboard(road: Road) -> tuple[Array, Array]:
    """Return kinds aboard, and litres and kilograms of the lightest lot, by gap and first lot."""
    n = road.jobs.shape[0]
    bits, light = np.zeros((n + 1, n + 1), np.int64), np.zeros((n + 1, n + 1, 2), np.int64)
    for gap in range(n + 1):
        kinds, litres, kg = np.int64(0), np.int64(0), np.int64(1)
        for i in range(gap, -1, -1):
            if i == 0:
                lot_kg, lot_l = road.start[START_KG], road.start[START_LITRES]
                kinds |= road.start[START_BITS]
            else:
                lot_kg, lot_l = road.jobs[i - 1, KG], road.jobs[i - 1, LITRES]
                kinds |= road.jobs[i - 1, BIT]
            if lot_kg > 0 and (kg == 1 or lot_l * kg < litres * lot_kg):
                litres, kg = lot_l, max(lot_kg, np.int64(2))
            bits[gap, i], light[gap, i, 0], light[gap, i, 1] = kinds, litres, kg
    return bits, light


aboard = compiled(_aboard)


def _step_at(kg: int, begin: int, step: int, last: int) -> Array:
    """Return the step of a load; the ``last`` one is also that of a vehicle that is overloaded."""
    return np.int64(0) if kg < begin else min(1 + (kg - begin) // step, last)


step_at = compiled(_step_at, inline=True)


def _least_at(number: int, begin: int, step: int) -> Array:
    """Return the least load of a step [kg]."""
    return np.int64(0) if number == 0 else begin + (number - 1) * step


least_at = compiled(_least_at, inline=True)


def _cost_of(costs: Array, rise: Array, kg: int, step: int) -> Array:
    """Return what it costs at least to drop so many kilograms, between whole steps too."""
    k = kg // step
    return costs[k] + rise[k] * (kg - k * step) // step


cost_of = compiled(_cost_of, inline=True)


def _least_of(road: Road, togo: ToGo) -> Array:
    """Return what the whole day costs at least."""
    first = step_at(road.start[START_KG], togo.begins[0, 0], togo.step, togo.cost.shape[3] - 1)
    return togo.cost[:, 0, 0, first].max() + road.late[0, 0]


least_of = compiled(_least_of)

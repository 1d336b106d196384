"""Of tip plans that cost the same, the one that empties the body as soon as it can."""

from __future__ import annotations

import dataclasses

from service.planning.arrays.inputs import KG, START_KG
from service.planning.arrays.tables import Tables
from service.planning.tip_plans.columns import Column, Tips, true_cost
from service.planning.tip_plans.kept_tips import stands
from service.planning.tip_plans.shortlists import NOWHERE


def emptied_at_once(tables: Tables, column: Column) -> Column:
    """Return the plan in which a destination takes at the first tip what it would at a later one.

    A rest that is carried on only to be tipped at the same place makes a mixture of whatever is
    loaded on it, and whoever tips has to leave just that much in the body. The plan is another one
    only where that is legal and costs no more.
    """
    tips = column.tips
    for first in range(len(tips)):
        for later in range(first + 1, len(tips)):
            tips = _with_more_at_once(tables, column, tips, first, later)
    return column if tips == column.tips else dataclasses.replace(column, tips=tips)


def _with_more_at_once(tables: Tables, column: Column, tips: Tips, first: int, later: int) -> Tips:
    (gap, number, kg), (late_gap, other, late_kg) = tips[first], tips[later]
    vehicle = tables.vehicles[column.vehicle]
    aboard_kg = int(vehicle.start[START_KG] + vehicle.jobs[:gap, KG].sum())
    aboard_kg -= sum(tipped_kg for _, _, tipped_kg in tips[: first + 1])
    if number != other or number == NOWHERE or not aboard_kg:
        return tips
    needed_kg = max(
        tables.problem.costs.minimum_tip_kg,
        int(vehicle.leasts_kg(tables.destinations)[number]),
    )
    # A later tip that still empties the body may be of any amount; another one is of the least.
    for left_kg in (1, needed_kg):
        more_kg = min(aboard_kg, late_kg - left_kg)
        if more_kg <= 0:
            continue
        found = list(tips)
        found[first], found[later] = (
            (gap, number, kg + more_kg),
            (late_gap, number, late_kg - more_kg),
        )
        moved = tuple(found)
        if stands(tables, vehicle, moved) and true_cost(tables, vehicle, moved) <= column.cost:
            return moved
    return tips

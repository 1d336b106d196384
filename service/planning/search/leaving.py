"""Who may leave material unplaced: those whose lots no bay takes, and who cannot place them at all.

Leaving has a price, and for these it is a choice like any other, in plans and in bounds. For all
others it is a last resort, dearer than any way to place the material.
"""

from __future__ import annotations

import dataclasses

import numpy as np

from service.planning.arrays.tables import UNITS_PER_CENT, Tables
from service.planning.search.construction import Fleet, take
from service.planning.tip_plans.columns import Column
from service.planning.tip_plans.shortlists import NOWHERE

# Dearer than what anybody pays to place a kilogram; common practice, no source.
LAST_RESORT_CENTS_PER_KG = 5_000
MOST_NAMES = 12  # in a sentence


def as_last_resort(tables: Tables) -> Tables:
    """Return the tables with leaving dearer than anything for those that may not."""
    return dataclasses.replace(tables, last_resort=LAST_RESORT_CENTS_PER_KG * UNITS_PER_CENT)


def leaves(column: Column) -> bool:
    """Tell whether a tip plan leaves material unplaced."""
    return any(number == NOWHERE for _, number, _ in column.tips)


def stranded(tables: Tables, plan: list[Column]) -> bool:
    """Tell whether a plan leaves material that may not be left."""
    return any(leaves(c) and not tables.vehicles[c.vehicle].may_leave for c in plan)


def all_placed(fleet: Fleet, plan: list[Column]) -> tuple[Fleet, list[Column], list[Column]]:
    """Return the plan with everything placed that can be.

    A vehicle that finds no such day in all the room there is may leave material from now on: the
    fleet returned says so. One that finds it only there needs others to make way: its day is
    returned besides.
    """
    tables, plan, apart = fleet.tables, list(plan), []
    room = tables.destinations.capacity_kg.copy()
    for column in plan:
        take(room, column)
    free = set()
    for number, column in enumerate(plan):
        if not leaves(column) or tables.vehicles[number].may_leave:
            continue
        take(room, column, -1)
        placed = fleet.placing(number, np.maximum(room, 0))
        if placed is not None:
            plan[number] = placed
        else:
            alone = fleet.placing(number, np.maximum(tables.destinations.capacity_kg, 0))
            if alone is None:
                free.add(number)
            else:
                apart.append(alone)
        take(room, plan[number])
    if free:
        vehicles = tuple(
            dataclasses.replace(v, may_leave=v.may_leave or number in free)
            for number, v in enumerate(tables.vehicles)
        )
        fleet = Fleet(tables=dataclasses.replace(tables, vehicles=vehicles), lists=fleet.lists)
        plan = [fleet.column(column.vehicle, column.tips) for column in plan]
    return fleet, plan, apart


def scope_of(tables: Tables) -> str:
    """Return of which plans a bound is."""
    tips = tables.problem.costs.tips_between_jobs
    given = f"given job order, at most {tips} tips between jobs, all destinations"
    free = [tables.problem.vehicles[v.index].id for v in tables.vehicles if v.may_leave]
    if not free:
        return f"{given}, plans that place everything"
    who = ", ".join(free) if len(free) <= MOST_NAMES else f"{len(free)} vehicles"
    return f"{given}, plans that place everything but what they leave of {who}"

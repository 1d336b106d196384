"""A first plan, vehicle by vehicle: each gets its cheapest legal day in the room that is left."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from service.core.errors import Refusal
from service.planning.columns import Column, best_columns, true_cost
from service.planning.lateness import Market, foreseen
from service.planning.shortlists import Shortlist, shortlist, with_nowhere
from service.planning.tables import UNITS_PER_CENT, Tables, Whole

WORTH_CENTS_PER_KG = (
    6  # what ordinary disposal costs, to rank candidates; common practice, no source
)


class LockNotPossible(Refusal):
    """The vehicle's locked tips leave it no legal day."""

    code = "lock_not_possible"
    sentence = "Vehicle {vehicle} cannot keep its locked tips; no legal plan does."


@dataclass(slots=True, kw_only=True)
class Fleet:
    """The tables of a day, and a shortlist for every vehicle."""

    tables: Tables
    lists: list[Shortlist]
    emergency: dict[int, Shortlist] = field(default_factory=dict)

    @classmethod
    def of(cls, tables: Tables, *, count: int) -> Fleet:
        """Return the fleet with shortlists at plain fees."""
        worth = WORTH_CENTS_PER_KG * UNITS_PER_CENT
        market = Market(prices=tables.destinations.fee, room=tables.destinations.capacity_kg)
        return cls(
            tables=tables,
            lists=[
                foreseen(
                    tables,
                    vehicle,
                    shortlist(tables, vehicle, market.prices, worth=worth, count=count),
                    market,
                )
                for vehicle in tables.vehicles
            ],
        )

    def fit(self, number: int, prices: Whole, room: Whole, *, quick: bool = False) -> Column:
        """Return the vehicle's cheapest legal day in this room; what fits nowhere is unplaced.

        Raises
        ------
        LockNotPossible
            If not even leaving material unplaced makes the locked tips possible.
        """
        vehicle = self.tables.vehicles[number]
        found = best_columns(
            self.tables, vehicle, self.lists[number], prices=prices, room=room, quick=quick
        )
        if not found:
            if number not in self.emergency:
                self.emergency[number] = with_nowhere(self.tables, self.lists[number])
            found = best_columns(
                self.tables, vehicle, self.emergency[number], prices=prices, room=room, quick=quick
            )
        if not found:
            raise LockNotPossible(vehicle=self.tables.problem.vehicles[number].id)
        return self.column(number, found[0][1])

    def column(self, number: int, tips: tuple[tuple[int, int, int], ...]) -> Column:
        """Return a tip plan with its exact cost."""
        cost = true_cost(self.tables, self.tables.vehicles[number], tips)
        return Column(vehicle=number, cost=cost, tips=tips)


def scarce_first(tables: Tables) -> list[int]:
    """Return the vehicles, those whose material has the fewest takers first."""
    takers = []
    for vehicle in tables.vehicles:
        kg_by_bit: dict[int, int] = {}
        for kg, _, bit, *_ in vehicle.jobs.tolist():
            kg_by_bit[bit] = kg_by_bit.get(bit, 0) + kg
        room = tables.destinations.capacity_kg
        scarcity = 0.0
        for bit, kg in kg_by_bit.items():
            open_kg = int(room[(vehicle.accepts & bit) != 0].sum()) if bit else 1
            scarcity += kg / max(1, open_kg)
        takers.append(scarcity)
    return sorted(range(len(takers)), key=lambda number: (-takers[number], number))


def greedy(fleet: Fleet, prices: Whole, order: list[int] | None = None) -> list[Column]:
    """Return a plan made vehicle by vehicle, at these prices per kg."""
    room = fleet.tables.destinations.capacity_kg.copy()
    plan: dict[int, Column] = {}
    for number in order or scarce_first(fleet.tables):
        plan[number] = fleet.fit(number, prices, np.maximum(room, 0), quick=True)
        take(room, plan[number])
    return [plan[number] for number in range(len(plan))]


def take(room: Whole, column: Column, sign: int = 1) -> None:
    """Take a column's kilograms from the room, or give them back (sign -1)."""
    for number, kg in column.use().items():
        room[number] -= sign * kg


def cost_of(tables: Tables, plan: list[Column]) -> int:
    """Return the cost of a whole plan in units, with overflow."""
    room = tables.destinations.capacity_kg.copy()
    for column in plan:
        take(room, column)
    return sum(column.cost for column in plan) + int(-np.minimum(room, 0).sum()) * tables.overflow


def improve(
    fleet: Fleet,
    plan: list[Column],
    *,
    rounds: int,
    who: list[int] | None = None,
    quick: bool = False,
) -> list[Column]:
    """Plan vehicles again one by one at true cost, each with its own use given back."""
    tables, fee = fleet.tables, fleet.tables.destinations.fee
    room = tables.destinations.capacity_kg.copy()
    for column in plan:
        take(room, column)
    best = list(plan)
    for _ in range(rounds):
        gained = False
        for number in range(len(plan)) if who is None else who:
            old = best[number]
            take(room, old, -1)
            new = fleet.fit(number, fee, np.maximum(room, 0), quick=quick)
            if _with_overflow(tables, new, room) < _with_overflow(tables, old, room):
                best[number], gained = new, True
            take(room, best[number])
        if not gained:
            break
    return best


def _with_overflow(tables: Tables, column: Column, room: Whole) -> int:
    """Return what a column costs if this is the room before it."""
    over = sum(max(0, kg - max(0, int(room[number]))) for number, kg in column.use().items())
    return column.cost + over * tables.overflow

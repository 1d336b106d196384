"""A first plan, vehicle by vehicle: each gets its cheapest legal day in the room that is left."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from service.core.errors import Refusal
from service.planning.arrays.inputs import KG, NEVER, START_KG
from service.planning.arrays.room import done_of, numbers_of, room_of
from service.planning.arrays.tables import UNITS_PER_CENT, Tables, Whole
from service.planning.search.lateness_prices import Market, foreseen
from service.planning.tip_plans.columns import Column, best_columns, leaving_price, true_cost
from service.planning.tip_plans.shortlists import (
    NOWHERE,
    Shortlist,
    of_rows,
    shortlist,
    with_nowhere,
)

WORTH_CENTS_PER_KG = (
    6  # what ordinary disposal costs, to rank candidates; common practice, no source
)
WORTH = WORTH_CENTS_PER_KG * UNITS_PER_CENT
WIDE = 30  # and where something must be found: so many, and so many that take everything
MOST_TAKERS = 10
NEAR = 6  # destinations looked at in a gap for a first plan, all with room
DEAR = 4  # times the usual price of disposal, before other destinations are thought of
AGAIN = 2  # and before a vehicle of a first plan is planned once more


class LockNotPossible(Refusal):
    """No legal day was found in which the vehicle keeps its locked tips."""

    code = "lock_not_possible"
    sentence = "Vehicle {vehicle} cannot keep its locked tips: no plan was found that does."


@dataclass(slots=True, kw_only=True)
class Fleet:
    """The tables of a day, and a shortlist for every vehicle."""

    tables: Tables
    lists: list[Shortlist]

    @classmethod
    def of(cls, tables: Tables, *, count: int) -> Fleet:
        """Return the fleet with shortlists at plain fees."""
        market = Market(prices=tables.destinations.fee, room=tables.destinations.capacity_kg)
        return cls(
            tables=tables,
            lists=[
                foreseen(
                    tables,
                    vehicle,
                    shortlist(tables, vehicle, market.prices, worth=WORTH, count=count),
                    market,
                )
                for vehicle in tables.vehicles
            ],
        )

    def fit(self, number: int, prices: Whole, room: Whole, *, quick: bool = False) -> Column:
        """Return the vehicle's cheapest legal day in this room; what fits nowhere is unplaced.

        A day dearer than usual says that the shortlist's destinations are full: then those that
        look best in this room are taken instead, and material may be left.

        Raises
        ------
        LockNotPossible
            If not even leaving material unplaced makes the locked tips possible.
        """
        found = best_columns(
            self.tables,
            self.tables.vehicles[number],
            self.lists[number],
            prices=prices,
            room=room,
            cutoff=self.usual(number, DEAR),
            quick=quick,
        )
        return self.column(number, found[0][1]) if found else self.near(number, prices, room)

    def near(self, number: int, prices: Whole, room: Whole, old: Column | None = None) -> Column:
        """Return a cheap legal day on the few destinations that look best in this room.

        It is the ``old`` one if nothing cheaper is found; what fits nowhere is unplaced.

        Raises
        ------
        LockNotPossible
            If not even leaving material unplaced makes the locked tips possible.
        """
        tables, vehicle = self.tables, self.tables.vehicles[number]
        left = self.all_left(number)
        limit = NEVER if len(vehicle.locks) else left.cost
        if old is not None:
            limit = min(limit, with_overflow(tables, old, room) - 1)
        market = Market(prices=prices, room=room)
        few = shortlist(tables, vehicle, prices, worth=WORTH, count=NEAR, room=room)
        listed, usual = foreseen(tables, vehicle, few, market), self.usual(number, DEAR)
        found = best_columns(
            tables,
            vehicle,
            listed,
            prices=prices,
            room=room,
            cutoff=min(usual, limit),
            quick=True,
        )
        if not found and limit > usual:
            found = best_columns(
                tables,
                vehicle,
                with_nowhere(tables, few, leaving_price(tables, vehicle)),
                prices=prices,
                room=room,
                cutoff=limit,
                quick=True,
            )
        if found:
            return self.column(number, found[0][1])
        if old is None and len(vehicle.locks):
            return self._with_locks(number, room)
        return old or left

    def _with_locks(self, number: int, room: Whole) -> Column:
        """Return a day that keeps the locked tips, looked for with patience."""
        tables, vehicle = self.tables, self.tables.vehicles[number]
        found = self.placing(number, room)
        if found is None:
            wide = self._wide(number, room)
            found = self._patient(
                number, with_nowhere(tables, wide, leaving_price(tables, vehicle)), room
            )
        if found is None:
            raise LockNotPossible(vehicle=tables.problem.vehicles[number].id)
        return found

    def placing(self, number: int, room: Whole) -> Column | None:
        """Return a legal day that places everything, looked for with patience; None if none is."""
        return self._patient(number, self._wide(number, room), room)

    def _patient(self, number: int, listed: Shortlist, room: Whole) -> Column | None:
        fees = self.tables.destinations.fee
        vehicle = self.tables.vehicles[number]
        found = best_columns(self.tables, vehicle, listed, prices=fees, room=room)
        return self.column(number, found[0][1]) if found else None

    def _wide(self, number: int, room: Whole) -> Shortlist:
        """Return a long shortlist with everything that takes all of a vehicle's lots."""
        tables, vehicle = self.tables, self.tables.vehicles[number]
        vehicle = dataclasses.replace(vehicle, may_leave=False)
        every = int(np.bitwise_or.reduce(vehicle.jobs[:, 2], initial=int(vehicle.start[3])))
        takers = np.flatnonzero((every & ~vehicle.accepts) == 0)
        takers = takers[np.argsort(-room[takers], kind="stable")[:MOST_TAKERS]]
        gaps = range(len(vehicle.points) - 1)
        must = [(gap, int(d)) for gap in gaps for d in takers]
        also = np.array(must, dtype=np.int64).reshape(len(must), 2)
        wide = dataclasses.replace(vehicle, kept=np.concatenate([vehicle.kept, also]))
        fees = tables.destinations.fee
        few = shortlist(tables, wide, fees, worth=WORTH, count=WIDE, room=room)
        rows = [few.in_gap(gap) for gap in gaps]
        return of_rows(tables, vehicle, rows, WIDE)

    def usual(self, number: int, times: int) -> int:
        """Return what a vehicle's day costs if its tips cost so many times the usual price."""
        vehicle = self.tables.vehicles[number]
        kg = int(vehicle.start[START_KG] + vehicle.jobs[:, KG].sum())
        return self.column(number, ()).cost + times * WORTH * kg

    def all_left(self, number: int) -> Column:
        """Return the tip plan that places nothing: no other is worth more than its cost."""
        vehicle = self.tables.vehicles[number]
        lots = [int(vehicle.start[START_KG]), *vehicle.jobs[:, KG].tolist()]
        return self.column(number, tuple((gap, NOWHERE, kg) for gap, kg in enumerate(lots) if kg))

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
    locked = np.zeros_like(room)
    for vehicle in fleet.tables.vehicles:
        np.add.at(locked, vehicle.locks[:, 1], vehicle.locks[:, 2])
    for number in order or scarce_first(fleet.tables):
        own = fleet.tables.vehicles[number].locks
        np.subtract.at(locked, own[:, 1], own[:, 2])
        plan[number] = fleet.near(number, prices, np.maximum(room - locked, 0))
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


def improve(fleet: Fleet, plan: list[Column], *, rounds: int, times: int = 0) -> list[Column]:
    """Plan vehicles again one by one at true cost, each with its own use given back.

    Only those are planned again whose tips cost more than so many times the usual price.
    """
    tables, fee = fleet.tables, fleet.tables.destinations.fee
    room = tables.destinations.capacity_kg.copy()
    for column in plan:
        take(room, column)
    best = list(plan)
    for _ in range(rounds):
        gained = False
        for number, old in enumerate(best):
            take(room, old, -1)
            cost = with_overflow(tables, old, room)
            if cost > fleet.usual(number, times):
                new = fleet.near(number, fee, np.maximum(room, 0), old)
                if with_overflow(tables, new, room) < cost:
                    best[number], gained = new, True
            take(room, best[number])
        if not gained:
            break
    return best


def with_overflow(tables: Tables, column: Column, room: Whole) -> int:
    """Return what a column costs if this is the room before it."""
    over = sum(max(0, kg - max(0, int(room[number]))) for number, kg in column.use().items())
    return column.cost + over * tables.overflow


def left_by(tables: Tables, columns: Iterable[Column]) -> Whole:
    """Return the room a plan leaves, below nothing where it overfills a destination."""
    problem = tables.problem
    left = room_of(problem) - done_of(problem, numbers_of(problem))
    for column in columns:
        take(left, column)
    return left

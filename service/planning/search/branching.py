"""A few vehicles together, exactly: branch and bound over who tips where. Bound and plans.

The linear program of a few vehicles leaves a gap, because it may mix tip plans. Here it is closed:
of the use that the mixture mixes most, a vehicle's largest tip at a destination, one node says that
it is at least so many kilograms, another that it is less, and both halves are bounded again. What
the vehicles share with others has a fixed price; what only they can use is shared between them in
the program.
"""

from __future__ import annotations

import dataclasses
import heapq
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from service.planning.arrays.tables import VehicleTables, Whole
from service.planning.search.bound_basis import BoundBasis
from service.planning.search.branching_demands import (
    NOISE,
    STRANDED,
    Demand,
    apart,
    demanded,
    halves_of,
    merged,
    obeys,
    room_at_most,
)
from service.planning.search.construction import Fleet
from service.planning.search.lateness_prices import Market
from service.planning.search.master import Master
from service.planning.search.vehicle_bounds import Case, labelled_least, widened
from service.planning.tip_plans.columns import Column, Tips, best_columns
from service.planning.tip_plans.shortlists import NOWHERE

ROUNDS = 8  # of pricing at a node
EFFORT = 30_000  # states that a bound of a vehicle looks at in a node


@dataclass(slots=True, kw_only=True)
class Cluster:
    """The vehicles that are planned together, at these prices and in this room."""

    fleet: Fleet
    prices: Whole  # units per kg: the fees
    room: Whole
    known: dict[int, BoundBasis]
    master: Master
    memory: dict[tuple[int, tuple[Demand, ...]], tuple[Whole, int, Tips]] = field(
        default_factory=dict
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Where branch and bound ended: no cheaper plan than ``bound``, the best one known."""

    bound: int
    cost: int
    plan: list[Column]
    nodes: int


@dataclass(frozen=True, slots=True, order=True)
class _Node:
    bound: int
    number: int
    demands: tuple[Demand, ...] = field(compare=False)


def cluster_of(
    fleet: Fleet, known: dict[int, BoundBasis], *, room: Whole, columns: list[Column]
) -> Cluster:
    """Return the cluster of these vehicles, with the tip plans known so far.

    Parameters
    ----------
    room
        Kilograms that these vehicles may use of each destination.
    """
    vehicles = sorted(known)
    master = Master(fleet.tables, room=room, vehicles=vehicles)
    for number in vehicles:  # so that the program always has an answer, at a price too high
        master.add(Column(vehicle=number, cost=STRANDED, tips=((0, NOWHERE, 0),)))
    for column in columns:
        if column.vehicle in known:
            master.add(column)
    fees = fleet.tables.destinations.fee
    return Cluster(fleet=fleet, prices=fees, room=room, known=known, master=master)


def closed_gap(
    cluster: Cluster,
    *,
    plan: list[Column],
    nodes: int,
    clock: Callable[[], bool],
) -> Found:
    """Return a bound on the cluster's cost at its prices, and the best plan found.

    Parameters
    ----------
    plan
        A plan of these vehicles in their room.
    nodes
        Nodes at most.
    """
    best = list(plan)
    cost = cluster.master.worth(best)
    waiting = [_Node(-STRANDED, 0, ())]
    made, looked, leaves = 1, 0, cost
    while waiting:
        floor = min(waiting[0].bound, leaves)
        if looked >= nodes or clock() or cost <= floor or leaves <= waiting[0].bound:
            break
        node = heapq.heappop(waiting)
        if node.bound >= cost:
            continue
        looked += 1
        relaxed = _relaxed(cluster, node, cost)
        bound = max(relaxed.bound, node.bound)
        if relaxed.whole is not None:
            worth = cluster.master.worth(relaxed.whole)
            if worth < cost:
                best, cost = relaxed.whole, worth
        if bound >= cost:
            continue
        if relaxed.halves is None:
            leaves = min(leaves, bound)
            continue
        for demand in relaxed.halves:
            heapq.heappush(waiting, _Node(bound, made, merged(node.demands, demand)))
            made += 1
    floor = min([*(node.bound for node in waiting), leaves, cost])
    return Found(bound=floor, cost=cost, plan=best, nodes=looked)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Relaxed:
    """What a node comes to: its bound, where to halve it, or the plan that its optimum is."""

    bound: int
    halves: tuple[Demand, Demand] | None = None
    whole: list[Column] | None = None


def _relaxed(cluster: Cluster, node: _Node, ceiling: int) -> _Relaxed:
    """Return a node's bound, and how to go on; nothing more to do if it is at the ceiling."""
    master, tables = cluster.master, cluster.fleet.tables
    shut = [p for p, column in enumerate(master.columns) if not obeys(column, node.demands)]
    master.close(shut)
    narrow = {n: demanded(k.narrow, n, node.demands) for n, k in cluster.known.items()}
    rooms = {n: room_at_most(cluster.room, n, node.demands) for n in cluster.known}
    best, weakest = -STRANDED, None
    solution = master.solve()
    for turn in range(ROUNDS):
        prices = cluster.prices + solution.prices
        known = master.cheapest(solution.prices, shut=shut)
        cheapest = {number: value for number, (value, _) in known.items()}
        new = 0
        for number, listed in narrow.items():
            for _, tips in best_columns(
                tables,
                tables.vehicles[number],
                listed,
                prices=prices,
                room=rooms[number],
                results=3,
                cutoff=cheapest[number] - 1,
                quick=True,
            ):
                new += master.add(cluster.fleet.column(number, tips))
        if new == 0 or turn == ROUNDS - 1:
            value, new, weakest = _bound(cluster, node, solution.prices, cheapest, rooms)
            best = max(best, value)
            if best >= ceiling or new == 0:
                break
        solution = master.solve()
    if len(solution.weights) < len(master.columns):
        solution = master.solve()
    master.reopen(shut)
    if best >= ceiling:
        return _Relaxed(bound=best)
    mixture = list(zip(master.columns, solution.weights.tolist(), strict=True))
    chosen = [column for column, weight in mixture if weight > 1 - NOISE]
    stranded = any(column.cost >= STRANDED for column in chosen)
    if len(chosen) < len(cluster.known) or stranded:
        return _Relaxed(bound=best, halves=halves_of(mixture))
    chosen.sort(key=lambda column: column.vehicle)
    return _Relaxed(bound=best, halves=apart(weakest, chosen), whole=chosen)


def _bound(
    cluster: Cluster,
    node: _Node,
    scarcity: Whole,
    cheapest: dict[int, int],
    rooms: dict[int, Whole],
) -> tuple[int, int, tuple[int, Tips] | None]:
    """Return the node's bound at these prices, how many cheaper tip plans came up, and the weakest.

    That is the vehicle whose relaxed plan is furthest below its best known one, with those tips.
    """
    tables, master = cluster.fleet.tables, cluster.master
    prices = cluster.prices + scarcity
    total, new = -int(np.dot(scarcity, np.maximum(cluster.room, 0))), 0
    weakest, furthest = None, 0
    for number in cluster.known:
        market = Market(prices=prices, room=rooms[number])
        least, relaxed = _least(cluster, number, node.demands, market, cheapest[number])
        total += least
        if cheapest[number] - least > furthest and relaxed:
            weakest, furthest = (number, relaxed), cheapest[number] - least
        if least < cheapest[number]:
            for _, tips in best_columns(
                tables,
                tables.vehicles[number],
                demanded(cluster.known[number].wide, number, node.demands),
                prices=prices,
                room=rooms[number],
                results=2,
                cutoff=cheapest[number] - 1,
                quick=True,
            ):
                column = cluster.fleet.column(number, tips)
                if obeys(column, node.demands):
                    new += master.add(column)
    return total, new, weakest


def _least(
    cluster: Cluster,
    number: int,
    demands: tuple[Demand, ...],
    market: Market,
    cheapest: int,
) -> tuple[int, Tips]:
    """Return the least reduced cost of a vehicle's plans that do as demanded, and its tips."""
    tables, known = cluster.fleet.tables, cluster.known[number]
    vehicle = tables.vehicles[number]
    mine = tuple(demand for demand in demands if demand[0][0] == number)
    outside = _outside(vehicle, known, market.prices, mine)
    if outside < cheapest < STRANDED // 2:
        known = cluster.known[number] = _rewidened(cluster, number, market.prices, cheapest)
        outside = _outside(vehicle, known, market.prices, mine)
    touched = known.wide.touched
    seen = np.concatenate([market.prices[touched], market.room[touched]])
    key = (number, mine)
    if key in cluster.memory and np.array_equal(cluster.memory[key][0], seen):
        _, least, tips = cluster.memory[key]
    else:
        wide = demanded(known.wide, number, demands)
        least, tips = labelled_least(tables, vehicle, wide, market, known=cheapest, effort=EFFORT)
        cluster.memory[key] = (seen, least, tips)
    return min(least, cheapest, outside), tips


def _rewidened(cluster: Cluster, number: int, prices: Whole, ceiling: int) -> BoundBasis:
    """Return what is known of a vehicle, with all destinations of plans below a ceiling.

    At the lowest prices met so far, so that it holds at those met before, too.
    """
    known, tables = cluster.known[number], cluster.fleet.tables
    lowest = np.minimum(known.prices, prices)
    market = Market(prices=lowest, room=cluster.room)
    case = Case(
        tables=tables,
        vehicle=tables.vehicles[number],
        listed=known.wide,
        market=market,
        column=known.column,
        known=ceiling,
    )
    wide, beyond = widened(case)
    return dataclasses.replace(known, wide=wide, prices=lowest, least=min(ceiling, beyond))


def _outside(
    vehicle: VehicleTables, known: BoundBasis, prices: Whole, demands: tuple[Demand, ...]
) -> int:
    """Return the least cost of a plan with a destination that is not on the wide list.

    At the prices of that list it is known. Where a price has fallen since, a plan may cost less by
    that much for all it carries; where one has risen, what is demanded there costs more.
    """
    fallen = np.maximum(known.prices - prices, 0)
    fallen[vehicle.accepts == 0] = 0
    kilograms = int(vehicle.jobs[:, 0].sum() + vehicle.start[1])
    risen = sum(
        low * max(0, int(prices[number] - known.prices[number])) for (_, number), low, _ in demands
    )
    return known.least + risen - int(fallen.max(initial=0)) * kilograms

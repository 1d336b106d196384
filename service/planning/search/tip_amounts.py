"""How much a vehicle tips at each stop, once it is known where it stops."""

from __future__ import annotations

import highspy
import numpy as np

from service.planning.arrays.inputs import KG, START_KG
from service.planning.arrays.tables import UNITS_PER_CENT, Tables, VehicleTables, Whole
from service.planning.search.lateness_prices import Market
from service.planning.search.linear_solver import LinearSolver
from service.planning.tip_plans.columns import Tips, true_cost
from service.planning.tip_plans.kept_tips import stands
from service.planning.tip_plans.shortlists import NOWHERE

NODES = 50  # of branch and bound; most need one
NONE, NO_FACTORS = np.array([], dtype=np.int32), np.array([])


def with_best_amounts(
    tables: Tables, vehicle: VehicleTables, tips: Tips, market: Market
) -> tuple[int, Tips] | None:
    """Return the cheapest legal plan with the stops of these tips, and its reduced cost [units].

    The labelling keeps one part open at a time; here all amounts are chosen together, by a small
    program of whole kilograms. Whether the mixture then fits the body shows only afterwards. None
    if that fails, if there is no room, if the program takes more than ``NODES``, or if there are
    locks, or material that nobody takes.

    Parameters
    ----------
    tips
        Gap, destination and kilograms; where these add up to all that was loaded, the body is
        emptied. The amounts need not be legal.
    market
        Units per kg, and kilograms of room; a destination with less than 0 is closed.
    """
    if not tips or len(vehicle.locks) or any(number == NOWHERE for _, number, _ in tips):
        return None
    solver = _program(vehicle, tips, market, least_kg=tables.problem.costs.minimum_tip_kg)
    for place, (_, number, _) in enumerate(tips):
        _charge(solver, place, number, market)
    every = np.arange(solver.getNumCol(), dtype=np.int32)
    kinds = np.full(len(every), int(highspy.HighsVarType.kInteger), dtype=np.uint8)
    solver.changeColsIntegrality(len(every), every, kinds)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_max_nodes", NODES)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    amounts = np.rint(solver.getSolution().col_value[: len(tips)]).astype(np.int64).tolist()
    found = tuple((gap, number, kg) for (gap, number, _), kg in zip(tips, amounts, strict=True))
    if not stands(tables, vehicle, found):
        return None
    return _reduced(tables, vehicle, found, market), found


def _program(vehicle: VehicleTables, tips: Tips, market: Market, *, least_kg: int) -> LinearSolver:
    """Return the program of the amounts: what is aboard, what may be, and room."""
    loaded = int(vehicle.start[START_KG]) + np.append(0, np.cumsum(vehicle.jobs[:, KG]))
    solver, room = LinearSolver(), market.room
    gaps, numbers = np.array([gap for gap, *_ in tips]), np.array([number for _, number, _ in tips])
    emptied = np.cumsum([kg for *_, kg in tips]) == loaded[gaps]
    for number, last in zip(numbers.tolist(), emptied.tolist(), strict=True):
        price, least = float(market.prices[number]) / UNITS_PER_CENT, 1 if last else least_kg
        solver.addCol(price, float(least), float(max(room[number], least)), 0, NONE, NO_FACTORS)
    for place, gap in enumerate(gaps.tolist()):
        most = int(loaded[gap]) - (0 if emptied[place] else 1)
        _sum(solver, np.arange(place + 1), low=most if emptied[place] else 0, high=most)
    for job in range(len(vehicle.jobs)):  # what must be gone before its load is taken on
        over = int(loaded[job + 1] - vehicle.limits[0])
        if over > 0:
            _sum(solver, np.flatnonzero(gaps <= job), low=over, high=int(loaded[-1]))
    for number in np.unique(numbers).tolist():
        _sum(solver, np.flatnonzero(numbers == number), low=0, high=max(int(room[number]), 0))
    return solver


def _sum(solver: LinearSolver, at: Whole, *, low: int, high: int) -> None:
    """Let the amounts at these places add up to so many kilograms."""
    solver.addRow(float(low), float(high), len(at), at.astype(np.int32), np.ones(len(at)))


def _charge(solver: LinearSolver, place: int, number: int, market: Market) -> None:
    """Charge the tolls on a tip, a step at a time."""
    if market.tolls is None:
        return
    paid, room = 0, int(market.room[number])
    steps = zip(market.tolls.kg[number].tolist(), market.tolls.cost[number].tolist(), strict=True)
    for from_kg, cost in steps:
        if from_kg > room:
            return
        column = solver.getNumCol()
        solver.addCol((cost - paid) / UNITS_PER_CENT, 0.0, 1.0, 0, NONE, NO_FACTORS)
        both, factors = np.array([place, column], np.int32), np.array([1.0, from_kg - room - 1.0])
        solver.addRow(-highspy.kHighsInf, from_kg - 1.0, 2, both, factors)
        paid = cost


def _reduced(tables: Tables, vehicle: VehicleTables, tips: Tips, market: Market) -> int:
    """Return the reduced cost of tips within the room there is [units]."""
    cost, tolls = true_cost(tables, vehicle, tips), market.tolls
    for _, number, kg in tips:
        cost += kg * int(market.prices[number] - tables.destinations.fee[number])
        cost += 0 if tolls is None else tolls.on(number, kg)
    return cost

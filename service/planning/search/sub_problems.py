"""Better plans from small sub-problems: a few vehicles are planned again, all others stay."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.tables import UNITS_PER_CENT, Whole
from service.planning.search.column_generation import Looks, generate
from service.planning.search.construction import Fleet, cost_of, take
from service.planning.search.master import Master, Solution
from service.planning.tip_plans.capacity_cuts import violated
from service.planning.tip_plans.columns import Column

NODES = 60  # branch-and-bound nodes of one sub-problem
ITERATIONS = 6
RESULTS = 8  # tip plans of a vehicle in an iteration: what is nearly best often fits better
CUTTINGS = 4
MEAGRE = UNITS_PER_CENT // 2  # a gain that is not worth a search [units]
BROKEN = 0.01
CHOICES = 20  # until one is found that was not tried yet
GROWTH = 5  # vehicles more, shared out over all, after each sub-problem that gained nothing


@dataclass(slots=True, kw_only=True)
class Search:
    """What the search for better plans knows."""

    fleet: Fleet
    pool: Master  # all tip plans known
    prices: Whole  # scarcity prices, without cuts: those know better who stands in whose way
    chance: random.Random
    sizes: tuple[int, ...] = (4, 6, 8)  # of the sub-problems, in turn: small ones are quick


def regrets(plan: list[Column], pool: Master, prices: Whole) -> list[int]:
    """Return by vehicle how much dearer, at these prices, its tip plan is than the best known."""
    least = pool.cheapest(prices)
    return [pool.reduced(column, prices) - least[column.vehicle][0] for column in plan]


def sub_problem(
    search: Search, plan: list[Column], vehicles: list[int], *, quick: bool = False
) -> tuple[list[Column], bool]:
    """Return a plan that is better in these vehicles, if one is found, and whether it is."""
    fleet, tables = search.fleet, search.fleet.tables
    room = tables.destinations.capacity_kg.copy()
    inside = set(vehicles)
    for column in plan:
        if column.vehicle not in inside:
            take(room, column)
    room = np.maximum(room, 0)
    master = Master(tables, room=room, vehicles=vehicles)
    own = (c for c in search.pool.columns if c.vehicle in inside and _fits(c, room))
    known = [plan[number] for number in vehicles]
    master.add_all([*known, *own])
    # what even a mixture of plans does not better, whole plans do not
    least = master.worth(known) - MEAGRE
    start = _with_cuts(master)
    found = generate(
        fleet,
        master,
        prices=search.prices,
        of_cuts=start.of_cuts,
        tolerance=1e-5,
        most=ITERATIONS,
        enough=least,
        smoothing=0.3,
        looks=Looks(
            results=RESULTS,
            quick=quick or len(plan) > min(search.sizes),
            thorough=not quick,
        ),
    )
    if max(found.estimate, _with_cuts(master).cents * UNITS_PER_CENT) > least:
        return plan, False
    chosen = master.whole(NODES, known)
    if chosen is None:
        return plan, False
    new = list(plan)
    for column in chosen:
        new[column.vehicle] = column
    if cost_of(tables, new) >= cost_of(tables, plan):
        return plan, False
    for column in chosen:
        search.pool.add(column)
    return new, True


def _with_cuts(master: Master) -> Solution:
    """Add cuts until the best mixture breaks none, or hardly; whole plans are found faster then."""
    solution = master.solve()
    for _ in range(CUTTINGS):
        cuts = violated(master.room, master.mixture(solution), set(master.cuts), most=BROKEN)
        if not cuts:
            break
        master.cut(cuts)
        solution = master.solve()
    return solution


def _fits(column: Column, room: Whole) -> bool:
    return all(kg <= room[d] for d, kg in column.use().items())


def choose(search: Search, plan: list[Column], size: int) -> list[int]:
    """Return the next sub-problem's vehicles: one with much to gain, and who shares with it."""
    tables = search.fleet.tables
    count = len(plan)
    if count <= size:
        return list(range(count))
    regret = regrets(plan, search.pool, search.prices)
    room = tables.destinations.capacity_kg.copy()
    for column in plan:
        take(room, column)
    weights = [1 + value for value in regret]
    first = search.chance.choices(range(count), weights)[0]
    least = search.pool.cheapest(search.prices)
    wanted = set(plan[first].use()) | set(least[first][1].use())
    scores = []
    for number in range(count):
        if number == first:
            continue
        uses = set(plan[number].use()) | set(least[number][1].use())
        shared = sum(1 + (search.prices[d] > 0) * 4 for d in uses & wanted)
        if shared:
            scores.append(
                (shared * (1 + regret[number] // 60_000) * search.chance.random(), number)
            )
    scores.sort(reverse=True)
    near = [number for _, number in scores[: size - 1]]
    while len(near) < size - 1:
        other = search.chance.randrange(count)
        if other != first and other not in near:
            near.append(other)
    return sorted([first, *near])


def better(
    search: Search,
    plan: list[Column],
    *,
    rounds: int,
    patience: int,
    good_enough: Callable[[int], bool],
    clock: Callable[[], bool],
) -> tuple[list[Column], int]:
    """Return the plan after at most so many sub-problems, and how many there were."""
    seen: set[tuple[bool, tuple[int, ...]]] = set()
    idle = 0
    for turn in range(rounds):
        if idle >= patience or clock() or good_enough(cost_of(search.fleet.tables, plan)):
            return plan, turn
        quick = idle < patience // 2  # quickly while that helps, then with more states
        size = search.sizes[turn % len(search.sizes)] + idle * GROWTH // len(plan)
        vehicles = _untried(search, plan, seen, size, quick=quick)
        if vehicles is None and quick:
            quick, idle = False, patience // 2
            vehicles = _untried(search, plan, seen, size, quick=quick)
        if vehicles is None:
            return plan, turn
        plan, gained = sub_problem(search, plan, vehicles, quick=quick)
        idle = 0 if gained else idle + 1
        if gained:
            seen.clear()
        seen.add((quick, tuple(vehicles)))
    return plan, rounds


def _untried(
    search: Search,
    plan: list[Column],
    seen: set[tuple[bool, tuple[int, ...]]],
    size: int,
    *,
    quick: bool,
) -> list[int] | None:
    """Return vehicles of a sub-problem that was not tried yet, None if hardly any is left."""
    for _ in range(CHOICES):
        vehicles = choose(search, plan, size)
        if (quick, tuple(vehicles)) not in seen:
            return vehicles
    return None

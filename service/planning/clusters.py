"""Vehicles that compete for the same room, and what the room is worth to others.

A mixture of tip plans leaves a gap where vehicles compete: this one or that one would fill a bed,
the linear program lets each do it by half. Vehicles that mix at the same destinations are put into
one cluster, which ``branching`` solves as a whole. A destination is owned by the cluster that uses
most of it; others see an outside price there, as low as it may be without any of them wanting to
come: so the owner's own scarcity is settled inside, where it can be settled exactly.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import highspy
import numpy as np

from service.planning.columns import Column, best_columns
from service.planning.greedy import Fleet
from service.planning.master import Master, Solution, quiet
from service.planning.tables import UNITS_PER_CENT, Real, Whole

SIZE = 7  # vehicles of a cluster at most
EVEN = 0.05  # how much vehicles that mix nothing count beside those that do
SHAPINGS = 6
RESULTS = 4
NONE = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Partition:
    """Clusters of vehicles, what each owns, and scarcity prices inside and outside.

    The prices are units per kg besides the fee.
    """

    clusters: tuple[tuple[int, ...], ...]
    home: Whole  # cluster of each vehicle
    owner: Whole  # cluster of each destination, NONE if its room is not scarce
    inside: Whole
    outside: Whole
    mixed: Real  # by cluster, how much its vehicles mix

    def scarcity(self, number: int) -> Whole:
        """Return the scarcity prices that a vehicle sees."""
        seen: Whole = np.where(self.owner == self.home[number], self.inside, self.outside)
        return seen


def together(fleet: Fleet, prices: Whole) -> Partition:
    """Return the partition in which all vehicles are one cluster that owns everything."""
    count = len(fleet.tables.vehicles)
    return Partition(
        clusters=(tuple(range(count)),),
        home=np.zeros(count, dtype=np.int64),
        owner=np.zeros(len(prices), dtype=np.int64),
        inside=prices,
        outside=np.zeros(len(prices), dtype=np.int64),
        mixed=np.ones(1),
    )


def partition(fleet: Fleet, master: Master, prices: Whole) -> Partition:
    """Return clusters of vehicles that mix at the same destinations, and outside prices.

    Parameters
    ----------
    prices
        Scarcity prices close to the master's duals [units per kg].
    """
    count = len(fleet.tables.vehicles)
    use, mix = _use(master, master.solve(), count, len(prices))
    clusters = _grouped(_affinity(use, mix, prices))
    home = np.zeros(count, dtype=np.int64)
    shares = np.zeros((len(clusters), len(prices)))
    for position, cluster in enumerate(clusters):
        home[list(cluster)] = position
        shares[position] = use[list(cluster)].sum(axis=0)
    owner = np.where(prices > 0, shares.argmax(axis=0), NONE)
    plain = Partition(
        clusters=clusters,
        home=home,
        owner=owner,
        inside=prices,
        outside=prices,
        mixed=np.array([mix[list(cluster)].sum() for cluster in clusters]),
    )
    return _shaped(fleet, master, plain)


def _use(master: Master, solution: Solution, count: int, total: int) -> tuple[Real, Real]:
    """Return mean kilograms by vehicle and destination, and how much each vehicle mixes."""
    use, mix = np.zeros((count, total)), np.zeros(count)
    for column, weight in zip(master.columns, solution.weights.tolist(), strict=True):
        if weight > 0:
            mix[column.vehicle] += weight * max(0.0, 1 - weight)
            for number, kg in column.use().items():
                use[column.vehicle, number] += weight * kg
    return use, mix


def _affinity(use: Real, mix: Real, prices: Whole) -> Real:
    """Return how much each two vehicles compete: scarce kilograms that both would take."""
    count = len(use)
    found = np.zeros((count, count))
    for number in np.flatnonzero(prices > 0):
        users = np.flatnonzero(use[:, number] > 0)
        shared = np.minimum.outer(use[users, number], use[users, number]) * float(prices[number])
        found[np.ix_(users, users)] += shared
    np.fill_diagonal(found, 0.0)
    weighed: Real = found * (EVEN + mix[:, None] + mix[None, :])
    return weighed


def _grouped(affinity: Real) -> tuple[tuple[int, ...], ...]:
    """Return groups of at most SIZE, joined two by two by the largest mean affinity."""
    joint = affinity.copy()
    sizes = np.ones(len(joint))
    groups = [[number] for number in range(len(joint))]
    while True:
        scale = np.sqrt(np.outer(sizes, sizes))
        allowed = (sizes[:, None] + sizes[None, :] <= SIZE) & (joint > 0)
        score = np.where(allowed, joint / scale, 0.0)
        first, second = sorted(np.unravel_index(int(score.argmax()), score.shape))
        if score[first, second] <= 0:
            return tuple(tuple(sorted(group)) for group in groups if group)
        joint[first] += joint[second]
        joint[:, first] += joint[:, second]
        joint[first, first] = 0.0
        joint[second] = joint[:, second] = 0.0
        groups[first] += groups[second]
        groups[second] = []
        sizes[first] += sizes[second]
        sizes[second] = SIZE


@dataclass(slots=True, kw_only=True)
class _Lowering:
    """The program that lowers outside prices: a variable a scarce destination, by how much."""

    master: Master
    plain: Partition
    position: dict[int, int]
    best: dict[int, int]
    program: highspy.Highs

    def limit(self, column: Column) -> None:
        """Keep a tip plan of a vehicle from elsewhere as dear as that vehicle's best one."""
        plain, room = self.plain, self.master.room
        away = [
            (self.position[number], float(min(kg, int(room[number]))))
            for number, kg in column.use().items()
            if number in self.position and plain.owner[number] != plain.home[column.vehicle]
        ]
        if away:
            spare = self.master.reduced(column, plain.inside) - self.best[column.vehicle]
            self.program.addRow(
                -highspy.kHighsInf,
                max(0.0, spare / UNITS_PER_CENT),
                len(away),
                np.array([row for row, _ in away], np.int32),
                np.array([kg for _, kg in away]),
            )

    def solved(self) -> Partition:
        """Return the partition at the lowest outside prices that the tip plans so far allow."""
        self.program.run()
        cut = np.array(self.program.getSolution().col_value) * UNITS_PER_CENT
        scarce, outside = list(self.position), self.plain.inside.copy()
        outside[scarce] = np.maximum(outside[scarce] - np.floor(cut).astype(np.int64), 0)
        return dataclasses.replace(self.plain, outside=outside)


def _shaped(fleet: Fleet, master: Master, plain: Partition) -> Partition:
    """Return the partition with outside prices as low as tip plans known or found allow.

    The prices are lowered, weighed by room, so far that no plan of a vehicle of another cluster
    becomes cheaper than that vehicle's best; plans that do are found by pricing.
    """
    tables, inside = fleet.tables, plain.inside
    lowering = _Lowering(
        master=master,
        plain=plain,
        position={int(number): row for row, number in enumerate(np.flatnonzero(inside > 0))},
        best={number: value for number, (value, _) in master.cheapest(inside).items()},
        program=quiet(),
    )
    for number in lowering.position:
        lowering.program.addVar(0.0, float(inside[number]) / UNITS_PER_CENT)
    for number, row in lowering.position.items():
        lowering.program.changeColCost(row, -float(master.room[number]))
    known = {(column.vehicle, column.tips) for column in master.columns}
    for column in master.columns:
        lowering.limit(column)
    shaped = plain
    for _ in range(SHAPINGS if lowering.position else 0):
        shaped = lowering.solved()
        new = 0
        for number, value in lowering.best.items():
            listed, seen = fleet.lists[number], shaped.scarcity(number)
            if (seen[listed.touched] == inside[listed.touched]).all():
                continue
            for _, tips in best_columns(
                tables,
                tables.vehicles[number],
                listed,
                prices=tables.destinations.fee + seen,
                room=master.room,
                results=RESULTS,
                cutoff=value - 1,
                quick=True,
            ):
                if (number, tips) not in known:
                    known.add((number, tips))
                    lowering.limit(fleet.column(number, tips))
                    new += 1
        if not new:
            break
    return shaped

"""Plan a few vehicles of a day again, in the room the others leave, or together with some of them.

Nothing here depends on the clock: the numbers of vehicles looked at are limited instead.
"""

from __future__ import annotations

import random
from collections.abc import Collection
from dataclasses import dataclass, field

import numpy as np

from service.planning.arrays.tables import Tables, VehicleTables, Whole
from service.planning.search.construction import (
    DEAR,
    WORTH,
    Fleet,
    LockNotPossible,
    cost_of,
    take,
    with_overflow,
)
from service.planning.search.master import Master
from service.planning.search.sub_problems import Search, sub_problem
from service.planning.tip_plans.columns import Column, leaving_price, price_shortlist
from service.planning.tip_plans.kept_tips import stands
from service.planning.tip_plans.shortlists import NOWHERE, Shortlist, rules, shortlist, with_nowhere

CANDIDATES = 8  # destinations looked at in a gap: fewer than in a solve, all with room
BEAM = 30  # labels looked at after a job; 150, among 10 a gap, save 0.3 % and take twice as long
GROUP = 5  # vehicles planned together, those displaced first
PROGRAM = 3  # of them planned by a small program besides
MOVERS = 12  # vehicles asked to leave an overfull destination, at most


def looking_best(tables: Tables, vehicle: VehicleTables, room_kg: Whole) -> Shortlist:
    """Return the destinations that look best to a vehicle if this is their room."""
    return shortlist(
        tables,
        vehicle,
        tables.destinations.fee,
        worth=WORTH,
        count=CANDIDATES,
        room=np.maximum(room_kg, 0),
    )


@dataclass(slots=True, kw_only=True)
class Local:
    """A day while some of its vehicles are planned again.

    Attributes
    ----------
    left_kg
        What the whole plan leaves at each destination; below nothing where it overflows.
    scarcity
        Scarcity prices of the last full solve [units per kg].
    causes
        Why vehicles were planned again, by their numbers.
    """

    fleet: Fleet
    columns: list[Column]
    left_kg: Whole
    scarcity: Whole
    causes: dict[int, str] = field(default_factory=dict)
    nodes: int = 0

    def look_again(self, number: int, room_kg: Whole) -> None:
        """Make a vehicle's shortlist anew for this room."""
        tables = self.fleet.tables
        self.fleet.lists[number] = looking_best(tables, tables.vehicles[number], room_kg)

    def fit(self, number: int, room_kg: Whole, old: Column | None) -> Column:
        """Return the vehicle's cheapest legal day found in this room; the old one on a tie.

        Raises
        ------
        LockNotPossible
            If there is no legal day with the locked tips.
        """
        fleet, room = self.fleet, np.maximum(room_kg, 0)
        tables = fleet.tables
        vehicle = tables.vehicles[number]
        left = fleet.all_left(number)
        best, limit = old, left.cost
        usual = fleet.usual(number, DEAR)
        if old is not None:
            limit = min(limit, with_overflow(self.fleet.tables, old, room))
        listed = fleet.lists[number]
        column = self._search(number, listed, room, min(limit, usual))
        if column is not None:
            best, limit = column, with_overflow(self.fleet.tables, column, room)
        if best is None or any(d == NOWHERE for _, d, _ in best.tips):
            way_out = with_nowhere(tables, listed, leaving_price(tables, vehicle))
            best = self._search(number, way_out, room, limit) or best
        best = best or left
        if len(vehicle.locks) and not stands(tables, vehicle, best.tips):
            best = fleet.fit(number, tables.destinations.fee, room)
            if not stands(tables, vehicle, best.tips):
                raise LockNotPossible(vehicle=tables.problem.vehicles[number].id)
        return best

    def _search(self, number: int, listed: Shortlist, room_kg: Whole, limit: int) -> Column | None:
        """Return the cheapest tip plan found below a limit; at a destination once at most."""
        tables = self.fleet.tables
        vehicle = tables.vehicles[number]
        rule = rules(tables, vehicle, results=1, elementary=True, cutoff=limit - 1, beam=BEAM)
        _, lengths, tips, _ = price_shortlist(
            tables, listed, rule, prices=tables.destinations.fee, room=room_kg
        )
        if not len(lengths):
            return None
        found = self.fleet.column(
            number, tuple((g, d, q) for g, d, q in tips[0, : lengths[0]].tolist())
        )
        return found if with_overflow(self.fleet.tables, found, room_kg) < limit else None

    def alone(self, number: int, *, cause: str) -> bool:
        """Plan one vehicle in the room the others leave; true if its tips change."""
        take(self.left_kg, self.columns[number], -1)
        self.causes.setdefault(number, cause)
        self.look_again(number, self.left_kg)
        old = self.columns[number]
        legal = self._legal(number)
        try:
            self.columns[number] = self.fit(number, self.left_kg, old if legal else None)
        finally:
            take(self.left_kg, self.columns[number])
        return self.columns[number].tips != old.tips

    def _legal(self, number: int) -> bool:
        tables, tips = self.fleet.tables, self.columns[number].tips
        full = any(
            kg > max(0, self.left_kg[d]) and not tables.destinations.may_overflow[d]
            for d, kg in self.columns[number].use().items()
        )
        return not full and stands(tables, tables.vehicles[number], tips)

    def users(self, number: int) -> list[int]:
        """Return the vehicles with a tip at a destination still to come."""
        return [
            column.vehicle for column in self.columns if any(d == number for _, d, _ in column.tips)
        ]

    def relieve(self, before_kg: Whole, cause: str) -> list[int]:
        """Let vehicles leave the destinations that are fuller than before and overfull.

        The last of the day to come is asked first, and who must go there by a lock last of all; it
        goes if that is cheaper than the overflow. Returns those that were asked.
        """
        asked: list[int] = []
        problem = self.fleet.tables.problem
        worse = np.flatnonzero((self.left_kg < 0) & (self.left_kg < before_kg))
        for number in worse.tolist():
            name = problem.destinations[number].id
            users = sorted(
                (
                    any(lock.destination == name for lock in problem.vehicles[v].locked),
                    -max(g for g, d, _ in self.columns[v].tips if d == number),
                    v,
                )
                for v in self.users(number)
            )
            for *_, vehicle in users[:MOVERS]:
                if self.left_kg[number] >= 0:
                    break
                asked.append(vehicle)
                self.alone(vehicle, cause=cause)
        return asked

    def together(
        self, displaced: list[int], cause: str, *, within: Collection[int] | None = None
    ) -> bool:
        """Plan those displaced again with those who hold what they want; true if it is cheaper.

        Only vehicles ``within`` are asked to make way, if it is given.
        """
        fleet = self.fleet
        hurt, near = self._holders(displaced[:GROUP])
        near = [number for number in near if within is None or number in within]
        near = near[: GROUP - len(hurt)]
        if not hurt or (not near and len(hurt) == 1):
            return False
        group = [*hurt, *near]
        room = self.left_kg.copy()
        for number in group:
            take(room, self.columns[number], -1)
        for number in group:
            self.look_again(number, room)
        old = list(self.columns)
        trial = self._one_after_the_other(group, room)
        best = trial if trial and cost_of(fleet.tables, trial) < cost_of(fleet.tables, old) else old
        pool = Master(fleet.tables, room=room, vehicles=group)
        for number in group:
            for column in (old[number], best[number], *([trial[number]] if trial else [])):
                pool.add(column)
        search = Search(
            fleet=fleet,
            pool=pool,
            prices=self.scarcity,
            chance=random.Random(0),  # noqa: S311 - not used for a sub-problem that is given
        )
        best, _ = sub_problem(search, best, group[:PROGRAM])
        self.nodes += 1
        for number in group:
            if best[number].tips != old[number].tips:
                take(self.left_kg, old[number], -1)
                take(self.left_kg, best[number])
                self.columns[number] = best[number]
                if number in near:
                    self.causes.setdefault(number, f"makes way: {cause}")
        return any(best[number].tips != old[number].tips for number in group)

    def _one_after_the_other(self, group: list[int], room_kg: Whole) -> list[Column] | None:
        """Return the day with the group planned in turn, then each once more; None if locks bar."""
        columns, room = list(self.columns), room_kg.copy()
        try:
            for number in group:
                columns[number] = self.fit(number, room, None)
                take(room, columns[number])
            for number in group:
                take(room, columns[number], -1)
                columns[number] = self.fit(number, room, columns[number])
                take(room, columns[number])
        except LockNotPossible:
            return None
        return columns

    def _holders(self, displaced: list[int]) -> tuple[list[int], list[int]]:
        """Return who would do better if all room were free, and who holds what they would take."""
        tables = self.fleet.tables
        everything = tables.destinations.capacity_kg
        wanted: dict[int, int] = {}
        hurt = []
        for number in displaced:
            now = self.columns[number]
            own = now.use()
            before = self.left_kg.copy()
            take(before, now, -1)
            limit = min(
                with_overflow(self.fleet.tables, now, before), self.fleet.usual(number, DEAR)
            )
            free = self._search(
                number, looking_best(tables, tables.vehicles[number], everything), everything, limit
            )
            if free is None:
                continue
            hurt.append(number)
            for d, kg in free.use().items():
                if kg > own.get(d, 0) + max(0, int(self.left_kg[d])):
                    wanted[d] = wanted.get(d, 0) + kg
        scores = [
            (-sum(min(kg, wanted.get(d, 0)) for d, kg in column.use().items()), column.vehicle)
            for column in self.columns
            if column.vehicle not in hurt
        ]
        return hurt, [number for score, number in sorted(scores) if score]

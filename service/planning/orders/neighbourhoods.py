"""Search one vehicle's day for a cheaper order of its jobs, judged by the tips it leads to.

Orders are found on ways, lateness, overtime and what it costs to keep unlike lots apart; the best
of them, and their neighbours, are judged by the vehicle's cheapest tip plan. Everything is counted,
see ``order_work``: same day, same order.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from service.planning.arrays.tables import Tables
from service.planning.orders.budget import VehicleWork

Order = tuple[int, ...]  # numbers of blocks

MOST_PERMUTED: Final = 6  # blocks of which every order is looked at
SEGMENT: Final = 3  # blocks moved together


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """What is left of one vehicle's day, as numbers: stop 0 is here, the last one the end.

    ``steps`` and ``seconds`` go from stop to stop; ``blocks`` lists the stops that stay together,
    ``ranks`` their earliest place in the day: blocks of a lower rank come before those of a higher.
    ``apart`` is what it costs that one lot is loaded right after another [units].
    """

    steps: list[list[int]]
    seconds: list[list[int]]
    first_s: list[int]
    last_s: list[int]
    service_s: list[int]
    loads: list[bool]
    apart: list[list[int]]
    blocks: tuple[tuple[int, ...], ...]
    ranks: tuple[int, ...]
    start_s: int
    shift_end_s: int
    drive: int
    late: int
    overtime: int

    def cost(self, order: Order) -> int:
        """Return driving, lateness, overtime and keeping lots apart, in units, without tips."""
        here, lot, clock, cost = 0, 0, self.start_s, 0
        for block in order:
            for stop in self.blocks[block]:
                cost += self.steps[here][stop] * self.drive
                clock += self.seconds[here][stop]
                cost += max(0, clock - self.last_s[stop]) * self.late
                clock = max(clock, self.first_s[stop]) + self.service_s[stop]
                here = stop
                if self.loads[stop]:
                    cost += self.apart[lot][stop]
                    lot = stop
        cost += self.steps[here][-1] * self.drive
        return cost + max(0, clock + self.seconds[here][-1] - self.shift_end_s) * self.overtime

    def is_allowed(self, order: Order) -> bool:
        """Tell whether no block stands behind one of a higher rank."""
        return all(self.ranks[a] <= self.ranks[b] for a, b in itertools.pairwise(order))


def stretch_of(
    tables: Tables, blocks: tuple[tuple[int, ...], ...], ranks: tuple[int, ...]
) -> Stretch:
    """Return the stretch of a day with one vehicle; blocks count its jobs ahead from 1."""
    (vehicle,) = tables.vehicles
    places = vehicle.points.tolist()
    ways = [[tables.map.way(a, b) for b in places] for a in places]
    jobs = vehicle.jobs.tolist()
    steps = [[pair[0] for pair in row] for row in ways]
    return Stretch(
        steps=steps,
        seconds=[[pair[1] for pair in row] for row in ways],
        first_s=[0, *(job[3] for job in jobs)],
        last_s=[0, *(job[4] for job in jobs)],
        service_s=[0, *(job[5] for job in jobs)],
        loads=[False, *(job[0] > 0 for job in jobs)],
        apart=_apart(tables, steps),
        blocks=blocks,
        ranks=ranks,
        start_s=int(vehicle.start[0]),
        shift_end_s=int(vehicle.limits[2]),
        drive=tables.drive,
        late=tables.late,
        overtime=tables.overtime,
    )


def _apart(tables: Tables, steps: list[list[int]]) -> list[list[int]]:
    """Return what it costs to load one lot right after another that other destinations take.

    Either the first is tipped before, or both go where both are taken: whichever is less.
    """
    (vehicle,) = tables.vehicles
    d = tables.destinations
    places = vehicle.points.tolist()
    jobs = vehicle.jobs.tolist()
    fees, stops = d.fee.tolist(), d.stop.tolist()
    takers = [{n for n, bits in enumerate(vehicle.accepts.tolist()) if bits & j[2]} for j in jobs]
    found = [[0] * (len(jobs) + 1) for _ in range(len(jobs) + 1)]
    out: dict[tuple[int, int], int] = {}
    for a, b in itertools.permutations(range(len(jobs)), 2):
        one, two = takers[a], takers[b]
        if jobs[a][2] == jobs[b][2] or not (jobs[a][0] and jobs[b][0] and one and two):
            continue
        for n, end in itertools.product(one, (a, b)):
            if (n, end) not in out:
                out[n, end] = tables.map.way(int(d.place[n]), places[end + 1])[0]
        detour = min(
            (out[n, a] + out[n, b] - steps[a + 1][b + 1]) * tables.drive + stops[n] for n in one
        )
        kg = jobs[a][0] + jobs[b][0]
        alone = min(fees[n] for n in one) * jobs[a][0] + min(fees[n] for n in two) * jobs[b][0]
        both = min((fees[n] * kg - alone for n in one & two), default=detour)
        found[a + 1][b + 1] = max(0, min(detour, both))
    return found


@dataclass(slots=True, kw_only=True)
class OrderSearch:
    """Looks for orders with ever cheaper tip plans, from the own one on.

    Attributes
    ----------
    judge
        Returns an order's cost in units if it is below the limit it is given, else None.
    steps
        The own order, and each that was cheaper than all before it; the best is last.
    value
        The cost of the best [units].
    work
        What may be spent on it.
    """

    stretch: Stretch
    judge: Callable[[Order, int], int | None]
    steps: list[Order]
    value: int
    work: VehicleWork
    seen: set[Order] = field(default_factory=set)

    def run(self) -> None:
        """Judge orders until no neighbour of the best is cheaper, or enough were judged."""
        own = self.steps[0]
        self.seen.add(own)
        for order in self._every(own) if len(own) <= MOST_PERMUTED else self._promising(own):
            self._look(order)
        while any(self._look(order) for order in self._near(self.steps[-1])):
            pass

    def _look(self, order: Order) -> bool:
        """Judge an order unless it was or enough were; tell whether it is the best so far."""
        if order in self.seen or not self.work.may_judge():
            return False
        self.seen.add(order)
        cost = self.judge(order, self.value)
        if cost is None:
            return False
        self.value = cost
        self.steps.append(order)
        return True

    def _every(self, own: Order) -> list[Order]:
        return self._cheapest_first(
            filter(self.stretch.is_allowed, itertools.permutations(sorted(own)))
        )

    def _promising(self, own: Order) -> list[Order]:
        """Return what construction and exchange find on ways alone."""
        starts = [own, nearest(self.stretch, own), inserted(self.stretch, own, self.work)]
        better = (improved(self.stretch, start, self.work) for start in starts)
        return self._cheapest_first({*starts, *better})

    def _near(self, order: Order) -> list[Order]:
        """Return all neighbours, as far as they may be counted.

        Even longer ways may lead to cheaper tips.
        """
        return self._cheapest_first(
            itertools.takewhile(
                lambda near: self.work.may_look_near(len(near)), neighbours(self.stretch, order)
            )
        )

    def _cheapest_first(self, orders: Iterable[Order]) -> list[Order]:
        return sorted(orders, key=lambda order: (self.stretch.cost(order), order))


def nearest(stretch: Stretch, own: Order) -> Order:
    """Return the order in which each next block is the nearest of the lowest rank."""
    left, order, here = list(own), [], 0
    while left:
        rank = min(stretch.ranks[block] for block in left)
        block = min(
            (block for block in left if stretch.ranks[block] == rank),
            key=lambda block: (stretch.seconds[here][stretch.blocks[block][0]], block),
        )
        left.remove(block)
        order.append(block)
        here = stretch.blocks[block][-1]
    return tuple(order)


def inserted(stretch: Stretch, own: Order, work: VehicleWork) -> Order:
    """Return the order built by putting each time the block in that costs least where it fits.

    Where the count ends it, what is left follows in its own order.
    """
    order: Order = ()
    left = set(own)
    while left:
        if not work.may_make(len(left) * (len(order) + 1) ** 2):
            rest = (*order, *(block for block in own if block in left))
            return tuple(sorted(rest, key=lambda block: stretch.ranks[block]))
        order = min(
            (
                tried
                for block in left
                for at in range(len(order) + 1)
                if stretch.is_allowed(tried := (*order[:at], block, *order[at:]))
            ),
            key=lambda tried: (stretch.cost(tried), tried),
        )
        left.difference_update(order)
    return order


def improved(stretch: Stretch, order: Order, work: VehicleWork) -> Order:
    """Return the order after turning and moving parts of it as long as that is cheaper.

    Or as long as the count lasts.
    """
    value = stretch.cost(order)
    while True:
        for near in neighbours(stretch, order):
            if not work.may_make(len(near)):
                return order
            cost = stretch.cost(near)
            if cost < value:
                order, value = near, cost
                break
        else:
            return order


def neighbours(stretch: Stretch, order: Order) -> Iterator[Order]:
    """Yield the allowed orders with one part turned round (2-opt) or moved elsewhere (or-opt)."""
    seen = {order}
    for near in itertools.chain(_turned(order), _moved(order)):
        if near not in seen and stretch.is_allowed(near):
            seen.add(near)
            yield near


def _turned(order: Order) -> Iterator[Order]:
    for a, b in itertools.combinations(range(len(order) + 1), 2):
        if b - a > 1:
            yield (*order[:a], *reversed(order[a:b]), *order[b:])


def _moved(order: Sequence[int]) -> Iterator[Order]:
    for size in range(1, min(SEGMENT, len(order) - 1) + 1):
        for a in range(len(order) - size + 1):
            part = order[a : a + size]
            rest = (*order[:a], *order[a + size :])
            for at in range(len(rest) + 1):
                yield (*rest[:at], *part, *rest[at:])

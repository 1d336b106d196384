"""Choose the order of one vehicle's jobs, with what the other vehicles tip taken as given."""

from __future__ import annotations

import dataclasses
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from service.planning.arrays.tables import UNITS_PER_CENT, Tables, tables_of
from service.planning.model.problem import Matrix, Problem, Vehicle
from service.planning.model.result import Plan, VehiclePlan
from service.planning.orders.budget import OrderWork
from service.planning.orders.neighbourhoods import MOST_PERMUTED, Order, OrderSearch, stretch_of
from service.planning.search.construction import Fleet, LockNotPossible, cost_of
from service.planning.tip_plans.columns import Column, arrivals, best_columns, leaving_price
from service.planning.tip_plans.kept_tips import stops_of
from service.planning.tip_plans.shortlists import CANDIDATES, NOWHERE, with_nowhere

FEW = 6  # destinations looked at in a gap, of many blocks; common practice, no source
FINALISTS = 2  # orders judged once more, with as many destinations as a plan looks at
Use = Counter[str]  # kilograms by destination


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Jobs that stay together in this order, and their part of the day: lower ranks come first."""

    jobs: tuple[str, ...]
    rank: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Freedom:
    """How far a vehicle's jobs still ahead may change places, and for what gain at least."""

    vehicle: str
    blocks: tuple[Block, ...]
    least_gain_cents: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundOrder:
    """The order found for a vehicle, judged with all others' tips as they are.

    Attributes
    ----------
    jobs
        The vehicle's whole list in the order found, done jobs first; its own if none is better.
    arrive_s
        When the vehicle would reach each job still ahead, in that order.
    gain_cents
        What it gains against its own order, planned the same way.
    reason
        Why the own order stays: nothing_to_order, own_is_best, lock_not_possible, not_looked_for;
        empty if not.
    """

    vehicle: str
    jobs: tuple[str, ...]
    arrive_s: tuple[int, ...] = ()
    gain_cents: int = 0
    reason: str = ""


def orders_found(
    problem: Problem,
    own: Plan,
    freedoms: Sequence[Freedom],
    *,
    previous: Plan | None = None,
    progress: Callable[[str], None] | None = None,
    work: OrderWork | None = None,
) -> tuple[FoundOrder, ...]:
    """Return for each vehicle named its best order in the room that the others' tips leave.

    Parameters
    ----------
    own
        A legal plan of the problem: what the others tip, and where.
    previous
        The plan before; tips it did not have cost ``change_cents_per_stop`` each.
    progress
        Called with a line for each vehicle: a search may take a second.
    work
        What may be spent, and afterwards what was; only counted, without a clock, if left out.
    """
    work = work or OrderWork.of(len(freedoms))
    say = progress or (lambda _: None)
    kept = None if previous is None else stops_of(previous)
    used = {answer.id: _use_of(answer) for answer in own.vehicles}
    vehicles = {vehicle.id: vehicle for vehicle in problem.vehicles}
    found = []
    for freedom in freedoms:
        others = Use()
        for name, use in used.items():
            if name != freedom.vehicle:
                others.update(use)
        chooser = _Chooser(
            problem, vehicles[freedom.vehicle], freedom, others, kept=kept, work=work
        )
        order, use = chooser.choose()
        found.append(order)
        say(f"order of {order.vehicle}: {order.reason or f'gains {order.gain_cents} cents'}")
        if not order.reason:
            used[freedom.vehicle] = use
    return tuple(found)


def _use_of(answer: VehiclePlan) -> Use:
    """Return kilograms by destination, of done and planned tips."""
    use = Use()
    for stop in answer.stops:
        if stop.destination is not None:
            use[stop.destination] += stop.mass_kg
    return use


def _on_its_places(problem: Problem) -> Problem:
    """Return the problem with only the places its vehicles can meet, so that tables are small."""
    met = {place for v in problem.vehicles for place in (v.start_place, v.end_place)}
    met.update(job.place for job in problem.jobs)
    met.update(d.place for d in problem.destinations)
    rows = [row for row, place in enumerate(problem.places) if place.id in met]
    matrix = problem.matrix
    return dataclasses.replace(
        problem,
        places=tuple(problem.places[row] for row in rows),
        matrix=None
        if matrix is None
        else Matrix(
            distance_m=tuple(tuple(matrix.distance_m[a][b] for b in rows) for a in rows),
            duration_s=tuple(tuple(matrix.duration_s[a][b] for b in rows) for a in rows),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Planned:
    """A vehicle's tip plan on one order, and its cost with overflow [units]."""

    jobs: tuple[str, ...]
    tables: Tables
    column: Column
    cost: int


class _Chooser:
    """Finds one vehicle's order, with what the other vehicles tip taken as given."""

    def __init__(
        self,
        problem: Problem,
        vehicle: Vehicle,
        freedom: Freedom,
        others: Use,
        *,
        kept: dict[str, set[tuple[str | None, str]]] | None,
        work: OrderWork,
    ) -> None:
        self.work = work
        self.vehicle, self.blocks, self.kept = vehicle, freedom.blocks, kept
        self.least_gain_cents = freedom.least_gain_cents
        self.quick = len(freedom.blocks) > MOST_PERMUTED
        self.leaves = False  # whether the own order leaves something no destination takes
        free = sum(len(block.jobs) for block in freedom.blocks)
        self.done = vehicle.jobs[: len(vehicle.jobs) - free]
        mine = set(vehicle.jobs) | {part.job for part in vehicle.aboard}
        self.problem = _on_its_places(
            dataclasses.replace(
                problem,
                jobs=tuple(job for job in problem.jobs if job.id in mine),
                destinations=tuple(
                    dataclasses.replace(d, capacity_kg=max(0, d.capacity_kg - others[d.id]))
                    for d in problem.destinations
                ),
                vehicles=(vehicle,),
            )
        )

    def choose(self) -> tuple[FoundOrder, Use]:
        """Return the order found, and what the vehicle then tips where, if it is a new one."""
        own = tuple(range(len(self.blocks)))
        if len(own) <= 1 or not self._covers():
            return self._stays("nothing_to_order"), Use()
        stretch = stretch_of(tables_of(self.problem), self._stops(), self._ranks())
        if not stretch.is_allowed(own):
            return self._stays("nothing_to_order"), Use()
        allowed = self.work.for_vehicle(len(own))
        if not allowed.may_judge():
            return self._stays("not_looked_for"), Use()
        known = self._plan(own)
        if known is None:
            return self._stays("lock_not_possible"), Use()
        self.leaves = any(number == NOWHERE for _, number, _ in known.column.tips)
        search = OrderSearch(
            stretch=stretch,
            judge=self._quick_cost,
            steps=[own],
            value=known.cost,
            work=allowed,
        )
        search.run()
        last = [self._plan(order) for order in search.steps[1:][-FINALISTS:]]
        best = min([known, *filter(None, last)], key=lambda plan: plan.cost)
        gain = (known.cost - best.cost) // UNITS_PER_CENT
        if gain < max(1, self.least_gain_cents):
            return self._stays("own_is_best"), Use()
        names = [d.id for d in self.problem.destinations]
        use = Use({names[number]: kg for number, kg in best.column.use().items()})
        for stop in self.vehicle.done:
            if stop.destination is not None:
                use[stop.destination] += stop.mass_kg
        (rows,) = best.tables.vehicles
        return (
            FoundOrder(
                vehicle=self.vehicle.id,
                jobs=best.jobs,
                arrive_s=tuple(arrivals(best.tables, rows, best.column.tips).tolist()[:-1]),
                gain_cents=gain,
            ),
            use,
        )

    def _covers(self) -> bool:
        """Tell whether the blocks are the jobs at the end of the list, in the own order."""
        return self._jobs(range(len(self.blocks))) == self.vehicle.jobs

    def _stays(self, reason: str) -> FoundOrder:
        return FoundOrder(vehicle=self.vehicle.id, jobs=self.vehicle.jobs, reason=reason)

    def _stops(self) -> tuple[tuple[int, ...], ...]:
        stops, at = [], 1
        for block in self.blocks:
            stops.append(tuple(range(at, at + len(block.jobs))))
            at += len(block.jobs)
        return tuple(stops)

    def _ranks(self) -> tuple[int, ...]:
        return tuple(block.rank for block in self.blocks)

    def _jobs(self, order: Sequence[int]) -> tuple[str, ...]:
        return (*self.done, *(name for number in order for name in self.blocks[number].jobs))

    def _quick_cost(self, order: Order, limit: int) -> int | None:
        """Return the cost of a good tip plan on this order if it is below the limit, else None."""
        fleet = self._fleet(order, count=FEW if self.quick else CANDIDATES)
        (rows,) = fleet.tables.vehicles
        d = fleet.tables.destinations
        lists = [fleet.lists[0]]
        if self.leaves:
            price = leaving_price(fleet.tables, rows)
            lists.append(with_nowhere(fleet.tables, fleet.lists[0], price))
        for listed in lists:
            plans = best_columns(
                fleet.tables,
                rows,
                listed,
                prices=d.fee,
                room=d.capacity_kg,
                cutoff=limit - 1,
                quick=self.quick,
            )
            if plans:
                cost = cost_of(fleet.tables, [fleet.column(0, plans[0][1])])
                return cost if cost < limit else None
        return None

    def _plan(self, order: Order) -> _Planned | None:
        """Return a good tip plan on this order; None if none keeps the locked tips."""
        fleet = self._fleet(order, count=CANDIDATES)
        d = fleet.tables.destinations
        try:
            column = fleet.fit(0, d.fee, d.capacity_kg, quick=self.quick)
        except LockNotPossible:
            return None
        return _Planned(
            jobs=self._jobs(order),
            tables=fleet.tables,
            column=column,
            cost=cost_of(fleet.tables, [column]),
        )

    def _fleet(self, order: Order, *, count: int) -> Fleet:
        vehicle = dataclasses.replace(self.vehicle, jobs=self._jobs(order))
        tables = tables_of(dataclasses.replace(self.problem, vehicles=(vehicle,)), self.kept)
        return Fleet.of(tables, count=count)

"""The plan before, in the names of the new problem: what still holds of it, and what leaving costs.

A load is kept as shares of lots. So it is tipped here as the same shares of what the lots weigh by
now, in whole kilograms of the new problem.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace
from uuid import UUID

from service.core.loads import Load
from service.planning.model.result import (
    CostCents,
    DestinationUse,
    Plan,
    PlanStop,
    VehiclePlan,
    Work,
)
from service.usecases.day.bodies.composition import NOTHING
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.facts import NOTHING_LEFT, DayFacts
from service.usecases.day.problem.build import DayProblem
from service.usecases.day.told_routing import ToldDay


def previous_of(facts: DayFacts, built: DayProblem) -> Plan | None:
    """Return the planned loads of the day as a plan of the new problem; None without any.

    A load whose destination takes nothing any more is left out: leaving it costs nothing. What it
    was to carry stays aboard, so that the planner sees who lost a tip; no other load is larger
    for it. Scarcity prices are those of the last search.
    """
    return plan_kept(facts, built) if facts.planned_loads else None


def plan_kept(facts: DayFacts, built: DayProblem) -> Plan:
    """Return the planned loads of the day as a plan of the new problem, also if there are none."""
    keys = {ready.id: key for key, ready in built.destinations.items()}
    loads: dict[UUID, list[Load]] = defaultdict(list)
    for load in sorted(facts.planned_loads, key=lambda load: load.sequence):
        loads[load.vehicle_id].append(load)
    vehicles = tuple(
        # What a vehicle that stands was to tip, it does not: others fetch it.
        VehiclePlan(id=key, stops=() if day.stands else _stops(day, loads[day.vehicle_id], keys))
        for key, day in built.vehicles.items()
    )
    used: Counter[str] = Counter()
    for vehicle in vehicles:
        for stop in vehicle.stops:
            if stop.destination is not None:
                used[stop.destination] += stop.mass_kg
    told = ToldDay.of(facts.previous)
    return Plan(
        problem=built.problem.name,
        status="ok",
        cost_cents=CostCents(total=0),
        disposal_cents=0,
        bound_cents=0,
        bound_proven=False,
        bound_scope="none",
        vehicles=vehicles,
        destinations=tuple(
            DestinationUse(
                id=key,
                used_kg=used[key],
                price_cents_per_t=told.scarcity_cents_per_t(ready.id),
                room_kg=destination.capacity_kg - used[key],
            )
            for (key, ready), destination in zip(
                built.destinations.items(), built.problem.destinations, strict=True
            )
        ),
        unplaced=(),
        work=Work(seed=0),
    )


def with_locked_amounts(built: DayProblem, previous: Plan | None) -> DayProblem:
    """Return the problem in which locked tips are of what they were, as far as there is room.

    A lock that names no kilograms would be kept by the least tip there is. Of several in less room
    than they had, the first get theirs.
    """
    if previous is None:
        return built
    room = {d.id: d.capacity_kg for d in built.problem.destinations}
    tips = {answer.id: _tipped(answer) for answer in previous.vehicles}
    vehicles = []
    for vehicle in built.problem.vehicles:
        locked = []
        for lock in vehicle.locked:
            # What a lock says itself is newer than what was tipped at its place before.
            had = lock.mass_kg or tips.get(vehicle.id, {}).get((lock.after_job, lock.destination))
            had = had or 0
            mass_kg = min(had, room[lock.destination])
            room[lock.destination] -= mass_kg
            locked.append(replace(lock, mass_kg=mass_kg or None))
        vehicles.append(replace(vehicle, locked=tuple(locked)) if locked else vehicle)
    return replace(built, problem=replace(built.problem, vehicles=tuple(vehicles)))


def _tipped(answer: VehiclePlan) -> dict[tuple[str | None, str], int]:
    """Return the kilograms of each tip of a vehicle, by the job before and the destination."""
    tipped: dict[tuple[str | None, str], int] = {}
    after = None
    for stop in answer.stops:
        if stop.job is not None:
            after = stop.job
        elif stop.destination is not None:
            key = (after, stop.destination)
            tipped[key] = max(tipped.get(key, 0), stop.mass_kg)
    return tipped


def _stops(day: VehicleDay, loads: list[Load], keys: dict[UUID, str]) -> tuple[PlanStop, ...]:
    ahead = {piece.job_id for piece in day.ahead}
    by_part: dict[tuple[UUID | None, int], list[Load]] = defaultdict(list)
    for load in loads:
        # A tip after a job that is done by now comes before the first job ahead.
        part = load.explanation.get("after_part")
        if load.after_job_id in ahead and isinstance(part, int):
            by_part[load.after_job_id, part].append(load)
        else:
            by_part[None, 0].append(load)
    body = _Body(day.aboard)
    brought: dict[UUID, float] = defaultdict(float)
    for load in loads:
        for part in load.parts:
            brought[part.lot_id] += part.share
    stops = _tips(by_part[None, 0], body, keys)
    fetched: Counter[UUID] = Counter()
    for piece in day.ahead:
        stops.append(PlanStop(arrive_s=0, job=piece.key))
        # What no load brings of a lot was to stay on its lawn.
        in_one = piece.share > 1.0 - NOTHING_LEFT
        body.fetch(piece, min(1.0, brought[piece.lot_id]) if in_one else 1.0)
        fetched[piece.job_id] += 1
        stops += _tips(by_part[piece.job_id, fetched[piece.job_id]], body, keys)
    return tuple(stops)


def _tips(loads: list[Load], body: _Body, keys: dict[UUID, str]) -> list[PlanStop]:
    """Return the tips of some loads, those whose destinations still take something."""
    weighed = [(load, body.tip(load)) for load in loads]
    return [
        PlanStop(arrive_s=0, destination=keys[load.destination_id], mass_kg=mass_kg, volume_l=1)
        for load, mass_kg in weighed
        if load.destination_id in keys
    ]


class _Body:
    """What is aboard while the loads of a vehicle are tipped one after the other."""

    def __init__(self, aboard: tuple[LotPiece, ...]) -> None:
        """Take what is aboard at first."""
        self._kg = 0
        self._shares: dict[UUID, float] = defaultdict(float)
        for piece in aboard:
            self.fetch(piece)

    def fetch(self, piece: LotPiece, bagged: float = 1.0) -> None:
        """Load a piece of a lot, or a share of it."""
        if piece.mass_kg:
            self._kg += round(piece.mass_kg * bagged)
            for job_id, share in piece.shares:
                self._shares[job_id] += share * bagged

    def tip(self, load: Load) -> int:
        """Take a load off and return its kilograms: 0 if none of its lots is aboard any more."""
        fraction = max(
            (
                part.share / self._shares[part.lot_id]
                for part in load.parts
                if self._shares.get(part.lot_id, 0.0) > NOTHING
            ),
            default=0.0,
        )
        everything = fraction > 1.0 - NOTHING_LEFT
        mass_kg = self._kg if everything else round(self._kg * fraction)
        self._kg -= mass_kg
        for job_id in self._shares:
            self._shares[job_id] *= 0.0 if everything else 1.0 - fraction
        return mass_kg

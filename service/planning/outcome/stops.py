"""The stops of one vehicle in the answer: arrivals, litres, statuses, and what they cost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from service.planning.arrays.tables import UNITS_PER_CENT, UNITS_PER_CENT_PER_T, Tables
from service.planning.model.problem import Destination, DoneStop, Job, Vehicle
from service.planning.model.result import CostCents, PlanStop, Unplaced, VehiclePlan
from service.planning.tip_plans.columns import Column
from service.planning.tip_plans.shortlists import NOWHERE

Parts = dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """The answer for one vehicle, and what it comes to in units, without overflow.

    ``spent`` is what the done stops have cost, ``bare`` what the jobs would cost with no tips.
    """

    plan: VehiclePlan
    unplaced: tuple[Unplaced, ...]
    parts: Parts
    spent: int
    bare: int


def write_vehicle(tables: Tables, column: Column) -> Written:
    """Return the answer for one vehicle with this tip plan."""
    vehicle = tables.problem.vehicles[column.vehicle]
    parts: Parts = dict.fromkeys(CostCents.__slots__, 0)
    writer = _Writer(tables, vehicle, column, parts)
    stops = tuple(writer.write())
    return Written(
        plan=VehiclePlan(id=vehicle.id, stops=stops),
        unplaced=tuple(writer.unplaced),
        parts=parts,
        spent=writer.spent,
        bare=bare_day(tables, vehicle),
    )


def told_done(stop: DoneStop) -> PlanStop:
    """Return a stop that is done as the answer tells it."""
    return PlanStop(
        arrive_s=stop.arrive_s,
        job=stop.job,
        destination=stop.destination,
        mass_kg=stop.mass_kg,
        volume_l=stop.volume_l,
        statuses=stop.statuses,
        reason=stop.reason,
        done=True,
        leave_s=stop.leave_s,
    )


@dataclass(slots=True, kw_only=True)
class _Walk:
    """A vehicle on its way through the day."""

    place: int
    clock: int
    jobs: int = 0  # that are behind it
    kg: int = 0
    litres: int = 0
    statuses: set[str] = field(default_factory=set)


def cents(units: int) -> int:
    """Return whole cents, half a cent upwards."""
    return (2 * units + UNITS_PER_CENT) // (2 * UNITS_PER_CENT)


def bare_day(tables: Tables, vehicle: Vehicle) -> int:
    """Return the cost in units of a vehicle's whole job list with no tips at all."""
    jobs = [tables.jobs[name] for name in vehicle.jobs]
    return tipless(tables, vehicle, jobs, vehicle.start_place, vehicle.shift_start_s)


def tipless(tables: Tables, vehicle: Vehicle, jobs: Iterable[Job], start: str, clock: int) -> int:
    """Return the cost in units of these jobs from a place and a time to the end, with no tips."""
    place, units = tables.rows[start], 0
    for job in jobs:
        metres, seconds = tables.roads.way(place, tables.rows[job.place])
        place, clock = tables.rows[job.place], clock + seconds
        units += metres * tables.metre + seconds * tables.crew
        units += max(0, clock - job.window_s[1]) * tables.late
        units += max(0, job.window_s[0] - clock) * tables.crew
        clock = max(clock, job.window_s[0]) + job.service_s
    metres, seconds = tables.roads.way(place, tables.rows[vehicle.end_place])
    late = max(0, clock + seconds - vehicle.shift_end_s)
    return units + metres * tables.metre + seconds * tables.crew + late * tables.overtime


class _Writer:
    """Writes the stops of one vehicle and adds its costs to the parts."""

    def __init__(self, tables: Tables, vehicle: Vehicle, column: Column, parts: Parts) -> None:
        self.tables, self.vehicle, self.column, self.parts = tables, vehicle, column, parts
        self.stops: list[PlanStop] = []
        self.unplaced: list[Unplaced] = []
        self.spent = 0
        self.walk = _Walk(place=tables.rows[vehicle.start_place], clock=vehicle.shift_start_s)

    def write(self) -> list[PlanStop]:
        self.done()
        tables, walk, vehicle = self.tables, self.walk, self.vehicle
        walk.kg = sum(part.mass_kg for part in vehicle.aboard)
        walk.litres = sum(part.volume_l for part in vehicle.aboard)
        walk.statuses = {part.status for part in vehicle.mixture}
        arrays = tables.vehicles[self.column.vehicle]
        kept = {(int(gap), int(number)) for gap, number in arrays.kept}
        left = vehicle.jobs[arrays.first_job :]
        for gap in range(len(left) + 1):
            before = arrays.first_job + gap
            after = vehicle.jobs[before - 1] if before else None
            for at, number, kg in self.column.tips:
                if at != gap:
                    continue
                if number == NOWHERE:
                    self.leave(kg, after)
                else:
                    self.parts["changes"] += 0 if (gap, number) in kept else tables.change
                    self.tip(number, kg)
            if gap < len(left):
                self.job(left[gap])
        self.drive(tables.rows[vehicle.end_place])
        self.parts["overtime"] += max(0, walk.clock - vehicle.shift_end_s) * tables.overtime
        return self.stops

    def done(self) -> None:
        """Walk through what is done, at the times it was done."""
        tables, walk = self.tables, self.walk
        for stop in self.vehicle.done:
            if stop.job is not None:
                job = tables.jobs[stop.job]
                self.drive(tables.rows[job.place])
                self.parts["late"] += max(0, stop.arrive_s - job.window_s[1]) * tables.late
                walk.clock = self.mown(stop.arrive_s, job)
            else:
                destination = tables.named[str(stop.destination)]
                self.drive(tables.rows[destination.place])
                self.pay(destination, stop.mass_kg)
                walk.clock = self.tipped(stop.arrive_s, destination)
            if stop.leave_s is not None:
                walk.clock = stop.leave_s
            self.stops.append(told_done(stop))
        self.spent = sum(self.parts.values())

    def drive(self, place: int) -> None:
        metres, seconds = self.tables.roads.way(self.walk.place, place)
        self.parts["drive"] += metres * self.tables.metre
        self.parts["crew"] += seconds * self.tables.crew
        self.walk.place = place
        self.walk.clock += seconds

    def mown(self, arrive_s: int, job: Job) -> int:
        """Return when a job is done; the crew is paid while it waits for it."""
        self.walk.jobs += 1
        self.parts["crew"] += max(0, job.window_s[0] - arrive_s) * self.tables.crew
        return max(arrive_s, job.window_s[0]) + job.service_s

    def tipped(self, arrive_s: int, destination: Destination) -> int:
        """Return when a tip is done; the crew is paid while it waits, if a job waits for it."""
        if self.walk.jobs < len(self.vehicle.jobs):
            self.parts["crew"] += (destination.begins_s(arrive_s) - arrive_s) * self.tables.crew
        return destination.begins_s(arrive_s) + destination.tip_s

    def job(self, name: str) -> None:
        job, walk = self.tables.jobs[name], self.walk
        self.drive(self.tables.rows[job.place])
        self.stops.append(PlanStop(arrive_s=walk.clock, job=name))
        self.parts["late"] += max(0, walk.clock - job.window_s[1]) * self.tables.late
        walk.clock = self.mown(walk.clock, job)
        walk.kg += job.mass_kg
        walk.litres += job.volume_l
        if job.mass_kg:
            walk.statuses.add(job.status)

    def tip(self, number: int, kg: int) -> None:
        walk, destination = self.walk, self.tables.problem.destinations[number]
        self.drive(self.tables.rows[destination.place])
        litres, statuses = self.take_off(kg)
        self.stops.append(
            PlanStop(
                arrive_s=walk.clock,
                destination=destination.id,
                mass_kg=kg,
                volume_l=litres,
                statuses=statuses,
            )
        )
        self.pay(destination, kg)
        walk.clock = self.tipped(walk.clock, destination)

    def pay(self, destination: Destination, kg: int) -> None:
        units = UNITS_PER_CENT_PER_T * kg
        self.parts["stops"] += destination.stop_cents * UNITS_PER_CENT
        self.parts["crew"] += destination.tip_s * self.tables.crew
        self.parts["fees"] += destination.fee_cents_per_t * units
        self.parts["burden"] += destination.burden_cents_per_t * units

    def leave(self, kg: int, after: str | None) -> None:
        litres, statuses = self.take_off(kg)
        self.parts["unplaced"] += kg * self.tables.unplaced
        self.unplaced.append(
            Unplaced(
                vehicle=self.vehicle.id,
                mass_kg=kg,
                volume_l=litres,
                after_job=after,
                reasons=(f"nothing was found that places {', '.join(statuses)} for less",),
            )
        )

    def take_off(self, kg: int) -> tuple[int, tuple[str, ...]]:
        """Take kilograms off the body; return their litres, and the statuses aboard before."""
        walk = self.walk
        order = self.tables.problem.statuses
        statuses = tuple(status for status in order if status in walk.statuses)
        litres = (2 * walk.litres * kg + walk.kg) // (2 * walk.kg)
        walk.kg -= kg
        walk.litres -= litres
        if walk.kg == 0:
            walk.litres = 0
            walk.statuses.clear()
        return litres, statuses

"""The problem as whole-number arrays: what the labelling and the master read.

Money is counted in units of 1/60,000 cent, so that every price of the format (cents per km, per
minute, per tonne, per kilogram) times its quantity is a whole number: no sum is ever rounded.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from service.planning.arrays.lot_bits import ALWAYS, LotBits
from service.planning.arrays.place_map import Map, map_of
from service.planning.arrays.priced_ways import priced
from service.planning.arrays.travel import MATRIX_MODE
from service.planning.model.problem import Destination, Job, Problem, Vehicle

Whole = npt.NDArray[np.int64]

UNITS_PER_CENT = 60_000
UNITS_PER_CENT_PER_KM = 60  # per metre
UNITS_PER_CENT_PER_MIN = 1_000  # per second
UNITS_PER_CENT_PER_T = 60  # per kilogram
HOLD = "hold"  # the kind of destination that keeps what finds no other place
NO_METRIC = 4_000_000_000_000_000_000  # any amount, as far as its stop and its time allow
KeptStops = dict[str, set[tuple[str | None, str]]]  # job before and destination, by vehicle


@dataclass(frozen=True, slots=True, kw_only=True)
class DestinationTables:
    """One row a destination, in the order of the problem."""

    place: Whole
    capacity_kg: Whole  # less what done tips took
    fee: Whole  # units per kg, with the fairness price
    stop: Whole  # units per stop, with the crew's time there
    tip_s: Whole
    open_s: Whole
    close_s: Whole
    pause_from_s: Whole
    pause_until_s: Whole
    may_overflow: Whole
    least_kg: Whole  # of a tip, see ``leasts_kg``


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleTables:
    """What is left of one vehicle's day."""

    index: int
    first_job: int  # position of the first job that is not done
    limits: Whole  # payload, body, shift end, tips already made in the first gap
    start: Whole  # clock, kg, litres, bits aboard
    jobs: Whole  # a row a job: kg, litres, bit, window start, window end, service
    points: Whole  # places: here, jobs, end
    accepts: Whole  # a row a destination: the bits it takes
    until: Whole  # the last second a tip may begin, by bit: a row for destinations alike
    until_row: Whole  # a row a destination: its row there, -1 if it takes all while it is open
    least_permille: int  # of the least of a destination: what a tip of this vehicle must be
    kept: Whole  # a row a stop of the previous plan: gap, destination
    locks: Whole  # a row a lock: gap, destination, kg
    merged_bits: bool  # more kinds of lots than bits: some share one, the bound is no proof
    may_leave: bool  # material may be left at its price: no bay takes all of it

    def leasts_kg(self, destinations: DestinationTables) -> Whole:
        """Return the least that it may tip at each destination."""
        return -(-destinations.least_kg * self.least_permille // 1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables:
    """The whole problem as arrays."""

    problem: Problem
    roads: Map  # metres and seconds
    map: Map  # steps of price and seconds, see ``priced_ways``; the same while no crew is paid
    destinations: DestinationTables
    vehicles: tuple[VehicleTables, ...]
    drive: int  # units per step of the map
    metre: int  # units
    crew: int  # units per second on the way, at tips and waiting
    wait_in_bounds: int  # units per second of waiting that a bound counts, see ``metric_closure``
    idle_in_bounds: int  # and of waiting before the first lot, besides
    late: int  # units per second
    overtime: int
    overflow: int  # units per kg
    unplaced: int  # units per kg
    astray: int  # units and seconds that a tip may shorten a way by, stop and tip not counted
    last_resort: int  # units per kg more, of material left by vehicles that may not leave any
    change: int  # units per stop
    rows: dict[str, int]  # place numbers by id
    jobs: dict[str, Job]
    named: dict[str, Destination]


def tables_of(problem: Problem, kept: KeptStops | None = None) -> Tables:
    """Return the arrays of a problem.

    Parameters
    ----------
    problem
        The day.
    kept
        The stops of the previous plan: by vehicle, pairs of job before it (None: start) and
        destination. None if there was no plan; then no change is priced.
    """
    costs = problem.costs
    done_kg: dict[str, int] = {}
    for vehicle in problem.vehicles:
        for stop in vehicle.done:
            if stop.destination is not None:
                done_kg[stop.destination] = done_kg.get(stop.destination, 0) + stop.mass_kg
    rows = {place.id: row for row, place in enumerate(problem.places)}
    jobs = {job.id: job for job in problem.jobs}
    reader = _Reader(problem, kept or {}, rows=rows, jobs=jobs)
    every = problem.destinations
    crew = costs.crew_cents_per_min * UNITS_PER_CENT_PER_MIN
    entries = [destination_entries(d, rows, done_kg.get(d.id, 0), crew) for d in every]
    return Tables(
        problem=problem,
        **ways_of(problem),
        destinations=DestinationTables(
            **{
                name: _whole([entry[name] for entry in entries])
                for name in DestinationTables.__slots__
            }
        ),
        vehicles=tuple(
            reader.vehicle(index, vehicle) for index, vehicle in enumerate(problem.vehicles)
        ),
        crew=crew,
        wait_in_bounds=0,
        idle_in_bounds=0,
        late=costs.late_cents_per_min * UNITS_PER_CENT_PER_MIN,
        overtime=costs.overtime_cents_per_min * UNITS_PER_CENT_PER_MIN,
        overflow=costs.overflow_cents_per_kg * UNITS_PER_CENT,
        unplaced=costs.unplaced_cents_per_kg * UNITS_PER_CENT,
        last_resort=0,
        rows=rows,
        jobs=jobs,
        named={d.id: d for d in every},
        change=0 if kept is None else costs.change_cents_per_stop * UNITS_PER_CENT,
    )


def ways_of(problem: Problem) -> dict[str, Any]:
    """Return the fields of the tables that say what ways are and cost."""
    costs = problem.costs
    metre = costs.drive_cents_per_km * UNITS_PER_CENT_PER_KM
    roads = map_of(problem)
    steps, drive = priced(roads, metre, costs.crew_cents_per_min * UNITS_PER_CENT_PER_MIN)
    astray = NO_METRIC if steps.mode == MATRIX_MODE else 0
    return {"roads": roads, "map": steps, "drive": drive, "metre": metre, "astray": astray}


def destination_entries(
    d: Destination, rows: dict[str, int], done_kg: int, crew: int
) -> dict[str, int]:
    """Return what the arrays hold of one destination, in which done tips took so much.

    ``crew`` is what a second at a tip costs [units].
    """
    return {
        "place": rows[d.place],
        "capacity_kg": max(0, d.capacity_kg - done_kg),
        "fee": (d.fee_cents_per_t + d.burden_cents_per_t) * UNITS_PER_CENT_PER_T,
        "stop": d.stop_cents * UNITS_PER_CENT + d.tip_s * crew,
        "tip_s": d.tip_s,
        "open_s": d.open_s,
        "close_s": d.close_s,
        "pause_from_s": d.pause_from_s,
        "pause_until_s": d.pause_until_s,
        "may_overflow": int(d.may_overflow),
        "least_kg": d.least_kg,
    }


class _Reader:
    """Reads vehicles, with everything looked up by id once."""

    def __init__(
        self, problem: Problem, kept: KeptStops, *, rows: dict[str, int], jobs: dict[str, Job]
    ) -> None:
        self.problem, self.kept, self.rows, self.jobs = problem, kept, rows, jobs
        self.at = {d.id: number for number, d in enumerate(problem.destinations)}
        self._takers: dict[tuple[str, tuple[tuple[str, str], ...]], npt.NDArray[np.bool_]] = {}
        self._until: dict[str, Whole] = {}
        self._accepts = [frozenset(d.accepts) for d in problem.destinations]

    def takers(self, status: str, refused: tuple[tuple[str, str], ...]) -> npt.NDArray[np.bool_]:
        """Return which destinations take a lot of this status that these refuse."""
        key = (status, refused)
        if key not in self._takers:
            if refused:
                takers = self.takers(status, ()).copy()
                takers[[self.at[name] for name, _ in refused]] = False
            else:
                takers = np.array([status in accepts for accepts in self._accepts], bool)
            self._takers[key] = takers
        return self._takers[key]

    def until(self, status: str) -> Whole:
        """Return until when each destination takes a status; ``ALWAYS`` if while it is open."""
        if not self._until:
            every = self.problem.destinations
            for status_of in self.problem.statuses:
                self._until[status_of] = np.full(len(every), ALWAYS, dtype=np.int64)
            for number, d in enumerate(every):
                for status_of, last_s in d.accepts_until_s:
                    if last_s < d.close_s:
                        self._until[status_of][number] = last_s
        return self._until[status]

    def vehicle(self, index: int, vehicle: Vehicle) -> VehicleTables:
        """Return the arrays of one vehicle."""
        first = sum(1 for stop in vehicle.done if stop.job is not None)
        left = [self.jobs[name] for name in vehicle.jobs[first:]]
        here, clock, tips = self._where(vehicle)
        bits = LotBits()
        aboard = 0
        for part in vehicle.mixture:
            refused = () if part.job is None else self.jobs[part.job].refused_destinations
            aboard |= bits.of(self.takers(part.status, refused), self.until(part.status))
        lots = [
            (
                job.mass_kg,
                job.volume_l,
                bits.of(self.takers(job.status, job.refused_destinations), self.until(job.status))
                if job.mass_kg
                else 0,
                job.window_s[0],
                job.window_s[1],
                job.service_s,
            )
            for job in left
        ]
        gap_after: dict[str | None, int] = {job.id: gap + 1 for gap, job in enumerate(left)}
        gap_after[vehicle.jobs[first - 1] if first else None] = 0
        kept = sorted(
            (gap_after[after], self.at[name])
            for after, name in self.kept.get(vehicle.id, set())
            if after in gap_after and name in self.at
        )
        locks = [
            (gap_after[k.after_job], self.at[k.destination], k.mass_kg or 1) for k in vehicle.locked
        ]
        until, until_row = bits.until(len(self.at))
        return VehicleTables(
            index=index,
            first_job=first,
            limits=_whole([vehicle.payload_kg, vehicle.body_l, vehicle.shift_end_s, tips]),
            start=_whole(
                [
                    clock,
                    sum(part.mass_kg for part in vehicle.aboard),
                    sum(part.volume_l for part in vehicle.aboard),
                    aboard,
                ]
            ),
            jobs=_whole(lots).reshape(len(lots), 6),
            points=_whole(
                [here, *(self.rows[job.place] for job in left), self.rows[vehicle.end_place]]
            ),
            accepts=bits.accepted(len(self.at)),
            until=until,
            until_row=until_row,
            least_permille=vehicle.least_permille,
            kept=_whole(kept).reshape(len(kept), 2),
            locks=_whole(locks).reshape(len(locks), 3),
            merged_bits=bits.merged,
            may_leave=not self._bay_takes(bits),
        )

    def _bay_takes(self, bits: LotBits) -> bool:
        """Tell whether a hold bay takes all lots of a vehicle."""
        masks, every = bits.accepted(len(self.at)), (1 << len(bits.known)) - 1
        _, until_row = bits.until(len(self.at))
        return every == 0 or any(
            d.kind == HOLD
            and (d.capacity_kg > 0 or d.may_overflow)
            and every & ~int(mask) == 0
            and until < 0
            for d, mask, until in zip(self.problem.destinations, masks, until_row, strict=True)
        )

    def _where(self, vehicle: Vehicle) -> tuple[int, int, int]:
        """Return place, clock and tips made since the last job, after the last done stop."""
        place, clock, tips = self.rows[vehicle.start_place], vehicle.shift_start_s, 0
        for stop in vehicle.done:
            if stop.job is not None:
                job = self.jobs[stop.job]
                place, tips = self.rows[job.place], 0
                leave = max(stop.arrive_s, job.window_s[0]) + job.service_s
            else:
                destination = self.problem.destinations[self.at[str(stop.destination)]]
                place, tips = self.rows[destination.place], tips + 1
                leave = destination.begins_s(stop.arrive_s) + destination.tip_s
            clock = leave if stop.leave_s is None else stop.leave_s
        return place, clock, tips


def _whole(values: list[Any]) -> Whole:
    return np.array(values, dtype=np.int64)

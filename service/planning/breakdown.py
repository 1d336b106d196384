"""Who takes over when a vehicle is out for the day: its jobs, and the load it stands there with."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection

from service.planning.amended import Event
from service.planning.events import EventNotPossible, load_jobs, load_name, out_for_the_day
from service.planning.problem import Aboard, Job, Vehicle
from service.planning.standing import Standing
from service.planning.tables import Tables
from service.planning.ways import way

# From one body into another, a load that a crew forks over; common practice, no source.
RELOAD_S = 900


def broken_down(day: Standing, vehicle: str, *, out: Collection[str] = ()) -> Event:
    """Return the event that a vehicle does nothing more after what is done or under way.

    Each of its jobs, and each lot aboard as a job of its own, goes to the vehicle and the point of
    its list where it costs least in driving, lateness and overtime, without regard to tips: these
    are planned when the event is answered. Lots aboard too large for any other vehicle are split.

    Parameters
    ----------
    day
        The standing day, frozen at the time of the breakdown.
    out
        Vehicles that broke down before: they take nothing over.

    Raises
    ------
    EventNotPossible
        If there is no such vehicle, or no other vehicle that could carry its jobs.
    """
    problem = day.problem
    number = next((n for n, v in enumerate(problem.vehicles) if v.id == vehicle), None)
    if number is None:
        raise EventNotPossible(detail=f"there is no vehicle {vehicle}.")
    broken = problem.vehicles[number]
    others = [n for n, v in enumerate(problem.vehicles) if n != number and v.id not in out]
    loads = _loads(day.fleet.tables, broken, [problem.vehicles[n] for n in others])
    passed = sum(1 for stop in broken.done if stop.job is not None)
    jobs = {job.id: job for job in problem.jobs} | {load.id: load for load in loads}
    lists = {n: list(problem.vehicles[n].jobs) for n in others}
    search = _Search(day.fleet.tables, jobs)
    taking: set[int] = set()
    for name in (*broken.jobs[passed:], *(load.id for load in loads)):
        found = min(
            (
                (*best, n)
                for n in others
                if (best := search.place(problem.vehicles[n], lists[n], jobs[name])) is not None
            ),
            default=None,
        )
        if found is None:
            raise EventNotPossible(detail=f"no other vehicle can carry {name}.")
        _, at, taker = found
        lists[taker].insert(at, name)
        taking.add(taker)
    takers = {problem.vehicles[n].id: tuple(lists[n]) for n in sorted(taking)}
    return out_for_the_day(problem, vehicle, takers, loads)


def _loads(tables: Tables, broken: Vehicle, others: list[Vehicle]) -> tuple[Job, ...]:
    """Return what is aboard as jobs at the place where the vehicle stands."""
    if not broken.aboard or not others:
        return ()
    jobs, place = tables.jobs, standing_place(tables, broken)
    payload = max(vehicle.payload_kg for vehicle in others)
    body = max(vehicle.body_l for vehicle in others if vehicle.payload_kg == payload)
    parts: list[Aboard] = []
    for part in broken.aboard:
        if not part.mass_kg:  # litres that rounding left of a lot that is gone
            continue
        pieces = max(-(-part.mass_kg // payload), -(-part.volume_l // body))
        for piece in range(pieces):
            low, high = part.mass_kg * piece // pieces, part.mass_kg * (piece + 1) // pieces
            low_l, high_l = part.volume_l * piece // pieces, part.volume_l * (piece + 1) // pieces
            parts.append(dataclasses.replace(part, mass_kg=high - low, volume_l=high_l - low_l))
    made = load_jobs(
        broken,
        place,
        tuple(parts),
        first=1 + sum(1 for name in jobs if name.startswith(load_name(broken, ""))),
        service_s=RELOAD_S,
        window_s=max(v.shift_end_s for v in others),
    )
    return tuple(
        job
        if part.job is None
        else dataclasses.replace(job, refused_destinations=jobs[part.job].refused_destinations)
        for job, part in zip(made, parts, strict=True)
    )


class _Search:
    """Finds the point of a job list where one more job costs least."""

    def __init__(self, tables: Tables, jobs: dict[str, Job]) -> None:
        self.tables, self.jobs = tables, jobs

    def place(self, vehicle: Vehicle, order: list[str], job: Job) -> tuple[int, int] | None:
        """Return the extra cost in units and the position, None if the vehicle cannot carry it."""
        if job.mass_kg > vehicle.payload_kg or job.volume_l > vehicle.body_l:
            return None
        first = sum(1 for stop in vehicle.done if stop.job is not None)
        left = [self.jobs[name] for name in order[first:]]
        without = self._cost(vehicle, left)
        return min(
            (self._cost(vehicle, [*left[:gap], job, *left[gap:]]) - without, first + gap)
            for gap in range(len(left) + 1)
        )

    def _cost(self, vehicle: Vehicle, left: list[Job]) -> int:
        """Return what the rest of a day costs without tips: driving, lateness, overtime."""
        tables = self.tables
        ways, rows = tables.map.arguments(), tables.rows
        place, clock, units = rows[vehicle.start_place], vehicle.shift_start_s, 0
        if vehicle.done:
            last = vehicle.done[-1]
            clock = last.arrive_s if last.leave_s is None else last.leave_s
            place = rows[standing_place(tables, vehicle)]
        for job in left:
            metres, seconds = way(*ways, place, rows[job.place])
            place, clock = rows[job.place], clock + int(seconds)
            units += int(metres) * tables.drive + max(0, clock - job.window_s[1]) * tables.late
            clock = max(clock, job.window_s[0]) + job.service_s
        metres, seconds = way(*ways, place, rows[vehicle.end_place])
        late = max(0, clock + int(seconds) - vehicle.shift_end_s)
        return units + int(metres) * tables.drive + late * tables.overtime


def standing_place(tables: Tables, vehicle: Vehicle) -> str:
    """Return the place where a vehicle is after what is done or under way."""
    if not vehicle.done:
        return vehicle.start_place
    last = vehicle.done[-1]
    if last.job is not None:
        return tables.jobs[last.job].place
    return tables.named[str(last.destination)].place

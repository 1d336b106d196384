"""An event: the records it changes, and the arrays of a day after it."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from service.planning.arrays.place_map import map_of
from service.planning.arrays.tables import (
    DestinationTables,
    Tables,
    Whole,
    destination_entries,
    ways_of,
)
from service.planning.model.problem import Destination, Job, Matrix, Place, Problem, Vehicle


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that happened, as the records that are different after it.

    Attributes
    ----------
    why
        What happened, in words; told as the cause of every change.
    vehicles, jobs, destinations
        Whole records; they take the place of those with the same id. Jobs may be new ones, vehicles
        and destinations may not.
    places
        New places, in order after the known ones.
    matrix
        The road matrix with the new places; only where the problem has one.
    dropped_jobs
        Ids of jobs that no vehicle carries any more.
    """

    why: str
    vehicles: tuple[Vehicle, ...] = ()
    jobs: tuple[Job, ...] = ()
    destinations: tuple[Destination, ...] = ()
    places: tuple[Place, ...] = ()
    matrix: Matrix | None = None
    dropped_jobs: tuple[str, ...] = ()


def amended_problem(problem: Problem, event: Event) -> Problem:
    """Return the day after an event."""
    vehicles = {vehicle.id: vehicle for vehicle in event.vehicles}
    jobs = {job.id: job for job in event.jobs}
    destinations = {d.id: d for d in event.destinations}
    gone = set(event.dropped_jobs)
    kept_jobs = problem.jobs
    if jobs or gone:
        known = problem.jobs
        if gone or not jobs.keys().isdisjoint(job.id for job in known):
            known = tuple(jobs.pop(job.id, job) for job in known if job.id not in gone)
        kept_jobs = (*known, *jobs.values())
    return dataclasses.replace(
        problem,
        vehicles=tuple(vehicles.get(v.id, v) for v in problem.vehicles)
        if vehicles
        else problem.vehicles,
        jobs=kept_jobs,
        destinations=tuple(destinations.get(d.id, d) for d in problem.destinations)
        if destinations
        else problem.destinations,
        places=(*problem.places, *event.places),
        matrix=problem.matrix if event.matrix is None else event.matrix,
    )


def amended_tables(tables: Tables, event: Event, done_kg: Whole) -> Tables:
    """Return the arrays after an event; those of vehicles stay and are to be made anew.

    Parameters
    ----------
    done_kg
        What done tips took, by destination number.
    """
    problem = amended_problem(tables.problem, event)
    changes: dict[str, object] = {"problem": problem}
    if event.matrix is not None or (event.places and tables.crew):
        changes |= ways_of(problem)
    elif event.places:
        new = map_of(dataclasses.replace(problem, places=event.places, matrix=None))
        points = np.concatenate([tables.map.points, new.points])
        changes["map"] = changes["roads"] = dataclasses.replace(tables.map, points=points)
    if event.places:
        first = len(tables.problem.places)
        changes["rows"] = tables.rows | {p.id: first + n for n, p in enumerate(event.places)}
    if event.jobs or event.dropped_jobs:
        changes["jobs"] = {
            name: job
            for name, job in (tables.jobs | {job.id: job for job in event.jobs}).items()
            if name not in event.dropped_jobs
        }
    if event.destinations:
        changes["named"] = tables.named | {d.id: d for d in event.destinations}
        rows = tables.rows | changes.get("rows", {})  # type: ignore[operator] # only dicts are put
        changes["destinations"] = _amended_rows(tables, event, done_kg, rows)
    return dataclasses.replace(tables, **changes)  # type: ignore[arg-type] # by name


def _amended_rows(
    tables: Tables, event: Event, done_kg: Whole, rows: dict[str, int]
) -> DestinationTables:
    old = tables.destinations
    new = {name: getattr(old, name).copy() for name in DestinationTables.__slots__}
    numbers = {d.id: number for number, d in enumerate(tables.problem.destinations)}
    for d in event.destinations:
        at = numbers[d.id]
        for name, entry in destination_entries(d, rows, int(done_kg[at]), tables.crew).items():
            new[name][at] = entry
    return DestinationTables(**new)

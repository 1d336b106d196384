"""Lots that are still to be fetched, as the planner sees them: where, how long and when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from uuid import UUID

from service.core.jobs import Job
from service.core.places import Point
from service.planning.model.problem import Job as PlannerJob
from service.usecases.base.ports.travel import TravelMatrix
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.facts import DayFacts
from service.usecases.day.lawn_hours import mowing_window_s


def ahead_of(  # noqa: PLR0917 - a day, and all that names and places it
    day: VehicleDay,
    facts: DayFacts,
    jobs: Mapping[UUID, Job],
    names: Mapping[Point, str],
    travel: TravelMatrix,
    statuses: Mapping[str, str],
) -> Iterator[PlannerJob]:
    """Yield a vehicle's jobs, each with the earliest that its crew may be there: without tips."""
    rows = {name: row for row, name in enumerate(names.values())}
    there, at_s = names[day.start_point], day.start_s
    for piece in day.ahead:
        job = jobs[piece.job_id]
        goes_to = names[piece.stands_at or facts.properties[job.property_id].point]
        at_s += int(travel.duration_s[rows[there]][rows[goes_to]])
        made = planner_job(
            piece, job, facts, places=names, status=statuses[piece.key], there_s=at_s
        )
        there, at_s = goes_to, max(at_s, made.window_s[0]) + made.service_s
        yield made


def planner_job(
    piece: LotPiece,
    job: Job,
    facts: DayFacts,
    *,
    places: Mapping[Point, str],
    status: str,
    there_s: int = 0,
) -> PlannerJob:
    """Return a piece of a lot as a job of the planner: at its lawn, or where it stands."""
    minutes_s = round(job.minutes_on_site * 60 * (piece.share or 1.0))
    begun = None if piece.goes_on or piece.stands_at is not None else job
    return PlannerJob(
        id=piece.key,
        place=places[piece.stands_at or facts.properties[job.property_id].point],
        mass_kg=piece.mass_kg,
        volume_l=piece.volume_l,
        status=status,
        service_s=minutes_s if piece.stands_at is None else piece.loading_s,
        window_s=mowing_window_s(facts, begun, there_s=there_s),
    )

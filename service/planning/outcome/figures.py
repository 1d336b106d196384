"""What each vehicle's day costs and how far it goes, read off a plan stop by stop."""

from __future__ import annotations

from dataclasses import dataclass

from service.planning.arrays.tables import UNITS_PER_CENT, UNITS_PER_CENT_PER_T, Tables, tables_of
from service.planning.model.problem import Problem, Vehicle
from service.planning.model.result import Plan, VehiclePlan
from service.planning.outcome.assembly import cents
from service.planning.tip_plans.kept_tips import stops_of


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFigures:
    """One vehicle's day. ``cost_cents`` is without overflow, which vehicles share."""

    cost_cents: int
    distance_m: int
    late_s: int
    overtime_s: int


def figures_of(problem: Problem, plan: Plan, previous: Plan | None = None) -> dict[str, DayFigures]:
    """Return the figures of every vehicle of a legal plan, by its id."""
    kept = None if previous is None else stops_of(previous)
    tables = tables_of(problem, kept)
    left: dict[str, int] = {}
    for part in plan.unplaced:
        left[part.vehicle] = left.get(part.vehicle, 0) + part.mass_kg
    return {
        vehicle.id: _figures(
            tables,
            vehicle,
            answer,
            unplaced_kg=left.get(vehicle.id, 0),
            kept=(kept or {}).get(vehicle.id, set()),
        )
        for vehicle, answer in zip(problem.vehicles, plan.vehicles, strict=True)
    }


def _figures(
    tables: Tables,
    vehicle: Vehicle,
    answer: VehiclePlan,
    *,
    unplaced_kg: int,
    kept: set[tuple[str | None, str]],
) -> DayFigures:
    here, clock, after = tables.rows[vehicle.start_place], vehicle.shift_start_s, None
    metres, crew_s, late_s = 0, 0, 0
    units = unplaced_kg * tables.unplaced
    last = max((at for at, stop in enumerate(answer.stops) if stop.job is not None), default=-1)
    for at, stop in enumerate(answer.stops):
        if stop.job is not None:
            job = tables.jobs[stop.job]
            place, after = tables.rows[job.place], stop.job
            late_s += max(0, stop.arrive_s - job.window_s[1])
            begun_s, at_work_s = max(stop.arrive_s, job.window_s[0]), job.service_s
        else:
            d = tables.named[str(stop.destination)]
            place = tables.rows[d.place]
            units += d.stop_cents * UNITS_PER_CENT
            units += (
                (d.fee_cents_per_t + d.burden_cents_per_t) * UNITS_PER_CENT_PER_T * stop.mass_kg
            )
            units += 0 if stop.done or (after, d.id) in kept else tables.change
            begun_s, at_work_s = d.begins_s(stop.arrive_s), d.tip_s
            crew_s += d.tip_s
        crew_s += begun_s - stop.arrive_s if at <= last else 0
        clock = begun_s + at_work_s if stop.leave_s is None else stop.leave_s
        way_m, way_s = tables.roads.way(here, place)
        metres, crew_s, here = metres + way_m, crew_s + way_s, place
    home_m, home_s = tables.roads.way(here, tables.rows[vehicle.end_place])
    metres, crew_s = metres + home_m, crew_s + home_s
    overtime_s = max(0, clock + home_s - vehicle.shift_end_s)
    units += metres * tables.metre + crew_s * tables.crew
    units += late_s * tables.late + overtime_s * tables.overtime
    return DayFigures(
        cost_cents=cents(units), distance_m=metres, late_s=late_s, overtime_s=overtime_s
    )

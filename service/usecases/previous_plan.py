"""The plan before, in the names of the new problem: what leaving it costs."""

from __future__ import annotations

from collections import Counter, defaultdict
from uuid import UUID

from service.core.loads import Load
from service.planning.result import CostCents, Plan, PlanStop, VehiclePlan, Work
from service.usecases.day_facts import DayFacts
from service.usecases.day_problem import DayProblem
from service.usecases.vehicle_days import VehicleDay


def previous_of(facts: DayFacts, built: DayProblem) -> Plan | None:
    """Return the planned loads of the day as a plan of the new problem; None without any.

    A load whose destination takes nothing any more is left out: leaving it costs nothing.
    Only the stops mean anything here; the planner compares tips after the same job.
    """
    if not facts.planned_loads:
        return None
    keys = {ready.id: key for key, ready in built.destinations.items()}
    loads: dict[UUID, list[Load]] = defaultdict(list)
    for load in sorted(facts.planned_loads, key=lambda load: load.sequence):
        if load.destination_id in keys:
            loads[load.vehicle_id].append(load)
    return Plan(
        problem=built.problem.name,
        status="ok",
        cost_cents=CostCents(total=0),
        disposal_cents=0,
        bound_cents=0,
        bound_proven=False,
        bound_scope="none",
        vehicles=tuple(
            VehiclePlan(id=key, stops=_stops(day, loads[day.vehicle_id], keys))
            for key, day in built.vehicles.items()
        ),
        destinations=(),
        unplaced=(),
        work=Work(seed=0),
    )


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
    stops = [_tip(load, keys) for load in by_part[None, 0]]
    fetched: Counter[UUID] = Counter()
    for piece in day.ahead:
        stops.append(PlanStop(arrive_s=0, job=piece.key))
        fetched[piece.job_id] += 1
        stops += [_tip(load, keys) for load in by_part[piece.job_id, fetched[piece.job_id]]]
    return tuple(stops)


def _tip(load: Load, keys: dict[UUID, str]) -> PlanStop:
    return PlanStop(arrive_s=0, destination=keys[load.destination_id], mass_kg=1, volume_l=1)

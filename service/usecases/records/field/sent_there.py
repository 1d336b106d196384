"""Whether a crew tipped where its own screen had sent it, though no load is to go there now."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any
from uuid import UUID

from service.core.loads import Load
from service.core.reports import Report
from service.usecases.base.ports.unit_of_work import UnitOfWork


def was_planned(unit: UnitOfWork, load: Load, report: Report) -> bool:
    """Return whether the load that a report names was to go there: a plan since says otherwise."""
    named = None if report.load_id is None else unit.loads.get(load.firm_id, report.load_id)
    return named is not None and named.destination_id == load.destination_id


def was_told(unit: UnitOfWork, load: Load) -> bool:
    """Return whether the newest plan of its day tells its vehicle that it may go there as well."""
    plan = unit.day_plans.latest(load.firm_id, load.depot_id, load.working_day)
    if plan is None:
        return False
    return str(load.destination_id) in set(_elsewhere(plan.routing, load.vehicle_id))


def _elsewhere(routing: Mapping[str, Any], vehicle_id: UUID) -> Iterator[str]:
    """Yield the places that a vehicle's screen names beside those of its stops."""
    for warning in routing.get("warnings", ()):
        if warning.get("vehicle_id") == str(vehicle_id) and warning.get("elsewhere"):
            yield warning["elsewhere"]["destination_id"]
    for vehicle in routing.get("vehicles", ()):
        for stop in vehicle["stops"] if vehicle["vehicle_id"] == str(vehicle_id) else ():
            runner_up = (stop.get("explanation") or {}).get("runner_up") or {}
            yield from (one["destination_id"] for one in runner_up.get("destinations", ()))

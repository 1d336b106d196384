"""What would change where loads go: worked out when somebody asks, of the newest plan.

It takes three times as long as to answer an event, and of a hundred plans hardly one is asked
about: so it is no part of a plan.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from service.core.callers.access import Caller
from service.core.loads import Load
from service.core.plans import DayPlan
from service.planning.model.result import VehiclePlan
from service.usecases.base.calendar import find_depot
from service.usecases.day.loads import LoadStamp, loads_of
from service.usecases.day.planned_day import PlannedDay
from service.usecases.day.reading.read_day import read_day, routed_on
from service.usecases.planning.current_routing import ReadRouting
from service.usecases.planning.dependencies import DayPlanning
from service.usecases.telling.reasons.estimates import find_job
from service.usecases.telling.routing.hints import HintTeller
from service.usecases.telling.told.forms import plain

Told = list[dict[str, object]]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """What would change loads, by their ids; and parts left over, by vehicle and kilograms."""

    loads: Mapping[UUID, tuple[Load, Told]]
    unplaced: Mapping[tuple[str, int], Told]


@dataclass(frozen=True, kw_only=True, eq=False)
class TellWhatWouldChange(DayPlanning):
    """Tell what would change a day's routing, or where one job's clippings go."""

    read_routing: ReadRouting

    def of_day(self, caller: Caller, plan: DayPlan) -> DayPlan:
        """Return the newest plan of a day with what would change each drop still to come.

        What is done by now is left as it is, and so is a plan that a later one superseded: nothing
        is said of those.
        """
        found = self._found(caller, plan, about=None)
        return plan if found is None else replace(plan, routing=_filled(plan.routing, found))

    def of_job(self, caller: Caller, job_id: UUID) -> dict[str, object]:
        """Return what would change where a job's clippings go, JSON-ready.

        Raises
        ------
        RecordMissing, NotPlannedYet, PlanOvertaken
        """
        with self.open_unit_of_work() as unit:
            job = find_job(unit, caller, job_id)
            depot = find_depot(unit, caller.firm_id, job.depot_id)
            day = routed_on(unit, depot, job, now=self.clock.now())
        plan = self.read_routing(caller, job.depot_id, day)
        found = self._found(caller, plan, about=job_id) or _Found(loads={}, unplaced={})
        return {
            "job_id": str(job.id),
            "lot_code": job.lot_code,
            "day": plan.day.isoformat(),
            "day_plan_id": str(plan.id),
            "loads": [
                {
                    "load_id": str(load.id),
                    "destination_kind": load.destination_kind.value,
                    "destination_id": str(load.destination_id),
                    "name": _names(plan.routing)[str(load.destination_id)],
                    "what_would_change": told,
                }
                for load, told in found.loads.values()
                if any(part.job_id == job_id for part in load.parts)
            ],
            "unplaced": [
                {"vehicle_id": vehicle_id, "mass_high_kg": mass_kg, "what_would_change": told}
                for (vehicle_id, mass_kg), told in found.unplaced.items()
            ],
        }

    def _found(self, caller: Caller, plan: DayPlan, *, about: UUID | None) -> _Found | None:
        """Return what would change a plan; None if it is not the newest, or cannot be told."""
        with self.open_unit_of_work() as unit:
            facts = read_day(
                unit,
                firm_id=caller.firm_id,
                depot_id=plan.depot_id,
                day=plan.day,
                now=plan.planned_at,
            )
        if facts.previous is None or facts.previous.id != plan.id:
            return None
        jobs = None if about is None else frozenset({about})
        made = self._make_day.as_planned(facts, about=jobs)
        if made is None:
            return None
        stamp = LoadStamp(plan_id=plan.id, firm_id=caller.firm_id, facts=facts)
        planned = loads_of(stamp, made.built, made.plan, made.asked, self.identifiers)
        teller = HintTeller(
            PlannedDay(
                facts=facts,
                asked=made.asked,
                built=made.built,
                plan=made.plan,
                planned=planned.loads,
                advice=made.advice,
            )
        )
        asked = made.built.vehicles if jobs is None else made.built.vehicles_with(jobs)
        vehicles = made.built.vehicles
        loads: dict[UUID, tuple[Load, Told]] = {}
        for answer in made.plan.vehicles:
            if answer.id in asked:
                own = [x for x in planned.loads if x.vehicle_id == vehicles[answer.id].vehicle_id]
                loads |= _of_vehicle(teller, answer, own)
        return _Found(
            loads=loads,
            unplaced={
                (str(vehicles[part.vehicle].vehicle_id), part.mass_kg): plain(
                    teller.told_unplaced(part)
                )
                for part in made.plan.unplaced
                if part.mass_kg > 0 and part.vehicle in asked
            },
        )


def _of_vehicle(
    teller: HintTeller, answer: VehiclePlan, loads: list[Load]
) -> dict[UUID, tuple[Load, Told]]:
    drops = [stop for stop in answer.stops if stop.destination is not None and not stop.done]
    in_order = sorted(loads, key=lambda load: load.sequence)
    return {
        load.id: (load, plain(teller.told_changes(stop, load)))
        for stop, load in zip((stop for stop in drops if stop.mass_kg > 0), in_order, strict=True)
    }


def _names(routing: Mapping[str, Any]) -> dict[str, str]:
    return {told["destination_id"]: told["name"] for told in routing["destinations"]}


def _filled(routing: Mapping[str, Any], found: _Found) -> dict[str, object]:
    """Return a routing with what was found put in its places."""

    def stop_with(told: dict[str, Any]) -> dict[str, Any]:
        changes = found.loads.get(UUID(told["load_id"])) if told["kind"] == "drop" else None
        if changes is None or told["explanation"] is None:
            return told
        return {**told, "explanation": {**told["explanation"], "what_would_change": changes[1]}}

    def part_with(told: dict[str, Any]) -> dict[str, Any]:
        changes = found.unplaced.get((told["vehicle_id"], told["mass_high_kg"]))
        return told if changes is None else {**told, "what_would_change": changes}

    vehicles = [
        {**told, "stops": [stop_with(stop) for stop in told["stops"]]}
        for told in routing["vehicles"]
    ]
    unplaced = [part_with(told) for told in routing["unplaced"]]
    return {**routing, "vehicles": vehicles, "unplaced": unplaced}

"""The day's routing as a dispatcher reads it: vehicles, lots and why, destinations, costs."""

from __future__ import annotations

from collections.abc import Iterator
from uuid import UUID

from service.core.loads import Load
from service.rules.lookup import Rulebook
from service.usecases.day.planned_day import PlannedDay, named
from service.usecases.day.replanning.outages import OutageTeller
from service.usecases.telling.held.queue import QueueTeller
from service.usecases.telling.routing.fairness import FairnessTeller
from service.usecases.telling.routing.hints import HintTeller
from service.usecases.telling.routing.lots import told_lots
from service.usecases.telling.routing.overflow import DayOverflow, day_overflow
from service.usecases.telling.routing.vehicles import VehicleTeller
from service.usecases.telling.told.explanations import UnplacedTold
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.places import DestinationTold, FairnessTold
from service.usecases.telling.told.plans import PlannedAgain, PlanningTold
from service.usecases.telling.unplaced.left_material import LeftTeller
from service.usecases.telling.unplaced.reasons import reasons_of
from service.usecases.telling.warnings.overloads import without_twice
from service.usecases.telling.warnings.subjects import MARK, Subjects
from service.usecases.telling.warnings.told import told_warnings

NOT_SEARCHED = (
    "A plan of the whole day may cost less: how much less nobody knows until the whole day is "
    "searched again."
)
SOME_VEHICLES = (
    "Since the plan before, only the vehicles named here were planned again; all others keep their "
    f"loads. {NOT_SEARCHED}"
)
NO_VEHICLE = (
    "What happened since the plan before changes nothing for any vehicle: all keep their loads. "
    f"{NOT_SEARCHED}"
)


def told_routing(made: PlannedDay, *, rulebook: Rulebook) -> dict[str, object]:
    """Return the day's routing, JSON-ready."""
    plan, built, hints = made.plan, made.built, HintTeller(made)
    outages, fairness, left = (
        OutageTeller(made),
        FairnessTeller(made),
        LeftTeller(made, rulebook=rulebook),
    )
    overflow, subjects = day_overflow(made, rulebook=rulebook), Subjects(made.facts)
    queue = QueueTeller(
        made.facts, made.asked, made.planned, rulebook=rulebook, stays=made.held_stays
    )
    return {
        "vehicles": [
            plain(
                VehicleTeller(
                    made,
                    built.vehicles[vehicle.id],
                    vehicle.stops,
                    rulebook=rulebook,
                    hints=hints,
                    fairness=fairness,
                    left=left,
                ).told(
                    out=outages.of_vehicle(built.vehicles[vehicle.id].vehicle_id),
                    chances=overflow.of_vehicle(vehicle.id),
                )
            )
            for vehicle in plan.vehicles
        ],
        "lots": plain([*told_lots(made, outages, left)]),
        "held": plain(queue.entries()),
        "destinations": plain([*told_destinations(made, overflow)]),
        "unplaced": plain([*told_unplaced(made, outages)]),
        "warnings": [
            {**warning, "subject": MARK.join(subjects.of_warning(warning)) or None}
            for warning in (
                *outages.warnings(rulebook=rulebook),
                *left.warnings(),
                *queue.warnings(),
                *without_twice(told_warnings(made, rulebook=rulebook), overflow.warnings()),
            )
        ],
        "overflow": overflow.meaning(),
        "cost_cents": plan.to_json()["cost_cents"],
        "disposal_cents": plan.disposal_cents,
        "planning": plain(told_planning(made)),
        "gap_permille": plan.gap_permille if plan.bound_proven else None,
        "bound_scope": plan.bound_scope,
        "crew_minute": built.crew_minute.to_json(),
        "distances": {"basis": built.travel.basis, "sources": list(built.travel.sources)},
    }


def told_planning(made: PlannedDay) -> PlanningTold:
    """Return how the plan was found: by a search of the whole day, or for some vehicles only."""
    local = made.local
    note = NOT_SEARCHED if made.plan.work.ended_by == "first" else made.plan.bound_note
    if local is not None:
        note = SOME_VEHICLES if local.causes else NO_VEHICLE
    return PlanningTold(
        scope="whole_day" if local is None else "local",
        ended_by=made.plan.work.ended_by,
        note=note,
        local_answers=0 if local is None else local.in_a_row,
        vehicles=tuple(
            PlannedAgain(vehicle_id=made.built.vehicles[key].vehicle_id, why=why)
            for key, why in ({} if local is None else local.causes).items()
        ),
    )


def told_unplaced(made: PlannedDay, outages: OutageTeller) -> Iterator[UnplacedTold]:
    """Yield what has no place, and what nobody takes over."""
    for item in made.plan.unplaced:
        if item.mass_kg > 0:
            yield UnplacedTold(
                vehicle_id=made.built.vehicles[item.vehicle].vehicle_id,
                mass_high_kg=item.mass_kg,
                reasons=tuple(reasons_of(made, item)),
                what_would_change=None,
            )
    for vehicle_id, mass_kg, why in outages.unplaced():
        yield UnplacedTold(
            vehicle_id=vehicle_id, mass_high_kg=mass_kg, reasons=(why,), what_would_change=()
        )


def told_destinations(made: PlannedDay, overflow: DayOverflow) -> Iterator[DestinationTold]:
    """Yield the destinations that are used or could be, with their room."""
    use = {item.id: item for item in made.plan.destinations}
    span = made.facts.span
    problems = {item.id: item for item in made.built.problem.destinations}
    loads: dict[UUID, list[Load]] = {}
    for load in made.loads:
        loads.setdefault(load.destination_id, []).append(load)
    for key, ready in made.built.destinations.items():
        own = loads.get(ready.id, [])
        item = use.get(key)
        problem = problems[key]
        yield DestinationTold(
            **named(ready),
            longitude=ready.point.longitude,
            latitude=ready.point.latitude,
            room_high_kg=problem.capacity_kg,
            planned_high_kg=item.used_kg if item else 0,
            last_arrival_at=span.at_second(problem.close_s).astimezone(span.zone),
            overflow_chance=overflow.of_destination(key),
            scarcity_cents_per_t=item.price_cents_per_t if item else 0,
            fairness=None if ready.fairness is None else FairnessTold(**ready.fairness.facts),
            likely_kg=round(sum(load.mass_kg.likely for load in own)),
            loads=tuple(load.id for load in own),
        )

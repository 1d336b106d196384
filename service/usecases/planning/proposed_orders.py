"""Tell the orders proposed: vehicle by vehicle, with the planned times that would make them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast
from uuid import UUID

from service.core.materials import worst_status
from service.planning.model.result import PlanStop
from service.planning.orders.budget import OrderWork
from service.planning.orders.choice import FoundOrder
from service.planning.outcome.figures import DayFigures
from service.usecases.day.bodies.composition import carried_in
from service.usecases.day.facts import DayFacts
from service.usecases.day.problem.order_freedoms import has_no_order, jobs_ahead
from service.usecases.planning.planner import UnstoredPlan
from service.usecases.telling.told.forms import plain
from service.usecases.telling.told.orders import (
    REASONS,
    ComparedAmounts,
    ComparedCents,
    OrderedJobTold,
    OrderedVehicleTold,
    OrderSearchTold,
    OrdersTold,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DayOnOrders:
    """A day planned on some order of its jobs, and each vehicle's figures."""

    facts: DayFacts
    made: UnstoredPlan
    figures: dict[str, DayFigures]


def told_proposal(
    own: DayOnOrders,
    proposed: DayOnOrders,
    *,
    found: Sequence[FoundOrder],
    taken: Collection[str],
    routing: dict[str, Any] | None,
    work: OrderWork,
) -> dict[str, object]:
    """Return the proposal, JSON-ready.

    Parameters
    ----------
    own, proposed
        The day as it is and as it would be; the same one if nothing is proposed.
    found
        The orders of the vehicles that were looked at.
    taken
        The vehicles whose order is proposed.
    routing
        The day as it would be, told as a routing; None if nothing is proposed.
    work
        What was spent on looking for orders.
    """
    before, after = own.made.plan.cost_cents.total, proposed.made.plan.cost_cents.total
    both = (own, proposed)
    told = OrdersTold(
        day=own.facts.span.day,
        depot_id=own.facts.depot.id,
        proposed=bool(taken),
        gain_cents=before - after,
        cost_cents=ComparedCents.of(before, after),
        distance_m=ComparedAmounts.of(
            *(sum(row.distance_m for row in day.figures.values()) for day in both)
        ),
        overtime_s=ComparedAmounts.of(
            *(sum(row.overtime_s for row in day.figures.values()) for day in both)
        ),
        tips=ComparedAmounts.of(
            *(sum(_tips(day, order.vehicle) for order in found) for day in both)
        ),
        mixed_with_worse_kg=ComparedAmounts.of(
            *(round(sum(_mixed_kg(day, order.vehicle) for order in found), 1) for day in both)
        ),
        vehicles=tuple(
            _told_vehicle(own, proposed, order, is_taken=order.vehicle in taken) for order in found
        ),
        search=OrderSearchTold(orders=work.judged, ended_by=work.ended_by),
        routing=routing,
    )
    return cast("dict[str, object]", plain(told))


def _told_vehicle(
    own: DayOnOrders, proposed: DayOnOrders, order: FoundOrder, *, is_taken: bool
) -> OrderedVehicleTold:
    key = order.vehicle
    day = own.made.built.vehicles[key]
    vehicle = own.facts.vehicles[day.vehicle_id]
    before, after = own.figures[key], proposed.figures[key]
    code = None if is_taken else order.reason or "dearer_together"
    return OrderedVehicleTold(
        vehicle_id=vehicle.id,
        registration=vehicle.registration,
        crew_ids=tuple(sorted({job.crew_id for job in jobs_ahead(own.facts, day)})),
        has_order=not has_no_order(own.facts, day),
        proposed=is_taken,
        code=code,
        why=None if code is None else REASONS[code],
        gain_cents=before.cost_cents - after.cost_cents,
        cost_cents=ComparedCents.of(before.cost_cents, after.cost_cents),
        distance_m=ComparedAmounts.of(before.distance_m, after.distance_m),
        overtime_s=ComparedAmounts.of(before.overtime_s, after.overtime_s),
        tips=ComparedAmounts.of(_tips(own, key), _tips(proposed, key)),
        mixed_with_worse_kg=ComparedAmounts.of(
            round(_mixed_kg(own, key), 1), round(_mixed_kg(proposed, key), 1)
        ),
        jobs=tuple(_told_jobs(own, proposed, key)),
    )


def _told_jobs(own: DayOnOrders, proposed: DayOnOrders, key: str) -> Iterator[OrderedJobTold]:
    """Return the jobs ahead in the order proposed, with what to amend them to."""
    positions = {
        job.id: (number, job)
        for number, job in enumerate(jobs_ahead(own.facts, own.made.built.vehicles[key]), start=1)
    }
    reached, zone = _arrivals(proposed, key), own.facts.span.zone
    for ahead in jobs_ahead(proposed.facts, proposed.made.built.vehicles[key]):
        number, job = positions[ahead.id]
        lot = own.made.asked.lots.get(job.id)
        yield OrderedJobTold(
            job_id=job.id,
            version=job.version,
            lot_code=job.lot_code,
            status=None if lot is None else lot.status,
            property_id=job.property_id,
            property=own.facts.properties[job.property_id].name,
            own_position=number,
            at=reached[job.id].astimezone(zone),
            planned_at=ahead.at.astimezone(zone),
            amend=ahead.at != job.at,
        )


def _ahead(day: DayOnOrders, key: str) -> list[PlanStop]:
    (answer,) = (vehicle for vehicle in day.made.plan.vehicles if vehicle.id == key)
    return [stop for stop in answer.stops if not stop.done]


def _tips(day: DayOnOrders, key: str) -> int:
    return sum(stop.destination is not None for stop in _ahead(day, key))


def _mixed_kg(day: DayOnOrders, key: str) -> float:
    """Return what comes to lie in one body with a worse lot, and counts as that [kg, likely]."""
    made = day.made
    (answer,) = (vehicle for vehicle in made.plan.vehicles if vehicle.id == key)
    mixed_kg = 0.0
    for drop in carried_in(made.plan, answer, made.built.vehicles[key]).drops:
        lots = [(made.asked.lots[lot_id], share) for lot_id, share in drop.shares]
        worst = worst_status(lot.status for lot, _ in lots)
        mixed_kg += sum(
            lot.mass_kg.likely * share for lot, share in lots if lot.status is not worst
        )
    return mixed_kg


def _arrivals(day: DayOnOrders, key: str) -> dict[UUID, datetime]:
    """Return when a vehicle reaches each job ahead: its first part, where a lot is cut in some."""
    reached: dict[UUID, datetime] = {}
    for stop in _ahead(day, key):
        if stop.job is not None:
            piece = day.made.built.pieces[stop.job]
            reached.setdefault(piece.job_id, day.facts.span.at_second(stop.arrive_s))
    return reached

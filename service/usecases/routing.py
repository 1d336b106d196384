"""The day's routing as a dispatcher reads it: vehicles, lots and why, destinations, costs."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from service.core.estimates import Estimate
from service.core.jobs import Job, JobState
from service.core.loads import DestinationKind, Load, LoadState
from service.core.materials import ClippingsHandling
from service.core.plans import Verdict
from service.destinations.lawn import LawnAdvice
from service.planning.result import Plan, PlanStop
from service.usecases.day_destinations import Asked, ReadyDestination
from service.usecases.day_facts import DayFacts
from service.usecases.day_problem import DayProblem, VehicleDay

NEAREST_REFUSALS_TOLD = 6
COLLECTABLE = frozenset({DestinationKind.BED, DestinationKind.COMPOST_SITE})


@dataclass(frozen=True, slots=True, kw_only=True)
class Routing:
    """A plan and everything it was made from, ready to be told."""

    facts: DayFacts
    asked: Asked
    built: DayProblem
    plan: Plan
    planned: Sequence[Load]
    advice: Mapping[UUID, LawnAdvice]

    def to_json(self) -> dict[str, object]:
        """Return the routing, JSON-ready."""
        loads = [*self.facts.fixed_loads, *self.planned]
        plan, built = self.plan, self.built
        return {
            "vehicles": [
                _Vehicle(self, built.vehicles[vehicle.id], vehicle.stops).to_json()
                for vehicle in plan.vehicles
            ],
            "lots": _lots(self, loads),
            "destinations": _destinations(self, loads),
            "unplaced": [
                {
                    "vehicle_id": str(built.vehicles[item.vehicle].vehicle_id),
                    "mass_high_kg": item.mass_kg,
                    "reasons": list(item.reasons),
                }
                for item in plan.unplaced
                if item.mass_kg > 0
            ],
            "warnings": [
                {"vehicle_id": str(day.vehicle_id), **warning}
                for day in built.vehicles.values()
                for warning in day.warnings
            ],
            "cost_cents": plan.to_json()["cost_cents"],
            "disposal_cents": plan.disposal_cents,
            "gap_permille": plan.gap_permille,
            "bound_scope": plan.bound_scope,
            "distances": {"basis": built.travel.basis, "sources": list(built.travel.sources)},
        }


def range_of(estimate: Estimate, *, digits: int = 0) -> dict[str, float]:
    """Return an estimate's three ends, rounded."""
    return {
        "low": round(estimate.low, digits),
        "likely": round(estimate.likely, digits),
        "high": round(estimate.high, digits),
    }


# -- vehicles ---------------------------------------------------------------------------


class _Vehicle:
    """One vehicle's day in the answer: what is done first, then what is ahead."""

    def __init__(self, routing: Routing, day: VehicleDay, stops: Sequence[PlanStop]) -> None:
        self._routing = routing
        self._day = day
        self._stops = stops
        self._facts = routing.facts

    def to_json(self) -> dict[str, object]:
        vehicle = self._facts.vehicles[self._day.vehicle_id]
        mass_kg = sum(piece.mass_kg for piece in self._day.aboard)
        volume_l = sum(piece.volume_l for piece in self._day.aboard)
        return {
            "vehicle_id": str(vehicle.id),
            "registration": vehicle.registration,
            "crew_ids": sorted(
                {str(job.crew_id) for job in self._facts.jobs if job.vehicle_id == vehicle.id}
            ),
            "payload_kg": vehicle.payload_kg,
            "body_volume_m3": vehicle.body_volume_m3,
            "aboard_now": {
                "mass_high_kg": mass_kg,
                "volume_high_l": volume_l,
                "room_left_kg": max(0, int(vehicle.payload_kg) - mass_kg),
                "room_left_l": max(0, int(vehicle.body_volume_m3 * 1000) - volume_l),
            },
            "stops": [*self._done(), *self._ahead()],
        }

    def _done(self) -> list[dict[str, object]]:
        entries = [(job.at, self._job(job, job.at, done=True)) for job in self._day.done_jobs]
        entries += [
            (load.done_at or load.arrive_at, self._drop(load)) for load in self._day.done_loads
        ]
        return [entry for _, entry in sorted(entries, key=lambda pair: pair[0])]

    def _ahead(self) -> list[dict[str, object]]:
        jobs = {job.id: job for job in self._facts.jobs}
        drops = iter(
            sorted(
                (load for load in self._routing.planned if load.vehicle_id == self._day.vehicle_id),
                key=lambda load: load.sequence,
            )
        )
        entries = []
        told: set[UUID] = set()
        for stop in self._stops:
            if stop.job is not None:
                job = jobs[self._routing.built.pieces[stop.job].job_id]
                if job.id not in told:
                    told.add(job.id)
                    at = self._facts.span.at_second(stop.arrive_s)
                    entries.append(self._job(job, at, done=False))
            elif stop.mass_kg > 0:
                entries.append(self._drop(next(drops)))
        return entries

    def _told(self, at: datetime) -> str:
        """Return a moment as the depot's clock shows it, with its offset."""
        return at.astimezone(self._facts.span.zone).isoformat()

    def _job(self, job: Job, at: datetime, *, done: bool) -> dict[str, object]:
        place = self._facts.properties[job.property_id]
        return {
            "kind": "job",
            "job_id": str(job.id),
            "lot_code": job.lot_code,
            "property_id": str(job.property_id),
            "property": place.name,
            "at": self._told(at),
            "done": done,
            "longitude": place.point.longitude,
            "latitude": place.point.latitude,
        }

    def _drop(self, load: Load) -> dict[str, object]:
        ready = _ready(self._routing, load)
        point = ready.point if ready else self._facts.depot.point
        return {
            "kind": "drop",
            "load_id": str(load.id),
            "destination_kind": load.destination_kind.value,
            "destination_id": str(load.destination_id),
            "destination": ready.name if ready else None,
            "at": self._told(load.done_at or load.arrive_at),
            "state": load.state.value,
            "done": load.state is not LoadState.PLANNED,
            "locked": load.locked,
            "status": load.status.value,
            "lot_codes": [part.lot_code for part in load.parts],
            "mass_kg": range_of(load.mass_kg),
            "volume_l": range_of(load.volume_m3.scaled(1000.0, unit="L")),
            "fee_cents": load.fee_cents,
            "longitude": point.longitude,
            "latitude": point.latitude,
        }


def _ready(routing: Routing, load: Load) -> ReadyDestination | None:
    return next(
        (ready for ready in routing.asked.destinations if ready.id == load.destination_id), None
    )


# -- lots -------------------------------------------------------------------------------


def _lots(routing: Routing, loads: Sequence[Load]) -> list[dict[str, object]]:
    by_job: dict[UUID, list[tuple[Load, float]]] = defaultdict(list)
    for load in loads:
        for part in load.parts:
            by_job[part.job_id].append((load, part.share))
    return [_lot(routing, job, by_job[job.id]) for job in routing.facts.jobs]


def _lot(routing: Routing, job: Job, carried: list[tuple[Load, float]]) -> dict[str, object]:
    lot = routing.asked.lots.get(job.id)
    advice = routing.advice.get(job.id)
    estimate = job.estimate
    return {
        "job_id": str(job.id),
        "lot_code": job.lot_code,
        "lawn_id": str(job.lawn_id) if job.lawn_id else None,
        "state": job.state.value,
        "status": (lot.status if lot else job.status).value,
        "findings": [
            {"status": finding.status.value, "code": finding.code, "facts": finding.facts}
            for finding in (lot.findings if lot else job.findings)
        ],
        "mass_kg": range_of(estimate.mass_kg) if estimate else None,
        "outcome": _outcome(job, carried, advice),
        "advice": None
        if advice is None
        else {
            "must": advice.must,
            "code": advice.code,
            "sentence": advice.sentence,
            "rule_class": advice.rule_class.value,
            "facts": advice.facts,
            "sources": list(advice.sources),
        },
        "goes_to": [_chosen(routing, load, share) for load, share in carried],
        "elsewhere": _elsewhere(routing, job),
    }


def _outcome(job: Job, carried: list[tuple[Load, float]], advice: LawnAdvice | None) -> str:
    """Return one word for what becomes of a lot."""
    if job.clippings is ClippingsHandling.LEFT:
        return "left_on_lawn"
    if not carried and advice is not None and advice.better and job.state is JobState.PLANNED:
        return "leave_on_lawn"
    if not carried:
        return "unplaced"
    if all(load.destination_kind is DestinationKind.HOLD_BAY for load, _ in carried):
        return "hold"
    return "routed"


def _chosen(routing: Routing, load: Load, share: float) -> dict[str, object]:
    ready = _ready(routing, load)
    keys = load.explanation.get("runner_up_keys")
    names = [
        {"destination_id": str(other.id), "kind": other.kind.value, "name": other.name}
        for key in (keys if isinstance(keys, list) else [])
        if (other := routing.built.destinations.get(str(key))) is not None
    ]
    return {
        "load_id": str(load.id),
        "destination_kind": load.destination_kind.value,
        "destination_id": str(load.destination_id),
        "name": ready.name if ready else None,
        "share": round(share, 4),
        "why": load.explanation.get("chosen"),
        "runner_up": {
            "destinations": names,
            "extra_cents": load.explanation.get("runner_up_extra_cents"),
        },
    }


def _elsewhere(routing: Routing, job: Job) -> dict[str, object]:
    """Return what the other destinations said: the nearest refusals with numbers, all by code."""
    verdicts = routing.asked.verdicts.get(job.id)
    if verdicts is None:
        return {"willing": 0, "refused_by_code": {}, "nearest_refusals": []}
    here = routing.facts.properties[job.property_id].point
    refusals = [
        (_rough_distance(here.latitude, here.longitude, ready), ready, verdict)
        for ready, verdict in zip(routing.asked.destinations, verdicts, strict=True)
        if verdict.refused
    ]
    refusals.sort(key=lambda item: (item[0], str(item[1].id)))
    return {
        "willing": sum(
            1
            for verdict in verdicts
            if not verdict.refused and verdict.destination_kind in COLLECTABLE
        ),
        "refused_by_code": dict(
            sorted(Counter(verdict.code for _, _, verdict in refusals).items())
        ),
        "nearest_refusals": [
            told_verdict(verdict, name=ready.name)
            for _, ready, verdict in refusals[:NEAREST_REFUSALS_TOLD]
        ],
    }


def _rough_distance(latitude: float, longitude: float, ready: ReadyDestination) -> float:
    """Return a number that grows with distance, for sorting within a firm's area."""
    return (ready.point.latitude - latitude) ** 2 + (ready.point.longitude - longitude) ** 2


def told_verdict(verdict: Verdict, *, name: str) -> dict[str, object]:
    """Return a verdict, JSON-ready."""
    return {
        "destination_kind": verdict.destination_kind.value,
        "destination_id": str(verdict.destination_id),
        "name": name,
        "accepted_kg": round(verdict.accepted_kg),
        "code": verdict.code,
        "sentence": verdict.sentence,
        "rule_class": verdict.rule_class.value,
        "facts": verdict.facts,
        "sources": list(verdict.sources),
    }


# -- destinations -----------------------------------------------------------------------


def _destinations(routing: Routing, loads: Sequence[Load]) -> list[dict[str, object]]:
    """Return the destinations that are used or could be, with their room."""
    use = {item.id: item for item in routing.plan.destinations}
    rows: list[dict[str, object]] = []
    for key, ready in routing.built.destinations.items():
        own = [load for load in loads if load.destination_id == ready.id]
        item = use.get(key)
        problem = next(d for d in routing.built.problem.destinations if d.id == key)
        rows.append(
            {
                "destination_kind": ready.kind.value,
                "destination_id": str(ready.id),
                "name": ready.name,
                "longitude": ready.point.longitude,
                "latitude": ready.point.latitude,
                "room_high_kg": problem.capacity_kg,
                "planned_high_kg": item.used_kg if item else 0,
                "scarcity_cents_per_t": item.price_cents_per_t if item else 0,
                "likely_kg": round(sum(load.mass_kg.likely for load in own)),
                "loads": [str(load.id) for load in own],
                "used_before_high_kg": round(ready.used_kg),
            }
        )
    return rows

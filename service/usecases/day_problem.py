"""Turn a day's facts into the planner's whole numbers, and remember what they stood for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from uuid import UUID

from service.core.crews import Vehicle as RecordedVehicle
from service.core.jobs import Job, JobState
from service.core.loads import FIXED_LOAD_STATES, DestinationKind, Load
from service.core.places import FeeBasis, Point
from service.planning.problem import (
    Aboard,
    Costs,
    Destination,
    Locked,
    Matrix,
    Place,
    Problem,
    Vehicle,
)
from service.planning.problem import Job as PlannerJob
from service.usecases.day_destinations import KILOGRAMS_PER_TONNE, Asked, ReadyDestination
from service.usecases.day_facts import DayFacts
from service.usecases.ports import Distances, TravelMatrix

# The firm's prices of a plan; common practice, no source. Whole hundredths of its currency.
COSTS = Costs(
    drive_cents_per_km=120,
    late_cents_per_min=150,
    overtime_cents_per_min=100,
    overflow_cents_per_kg=200,
    speed_m_per_min=500,  # not used: the service always hands in a matrix
    detour_permille=1000,  # nor this
    minimum_tip_kg=30,
    tips_between_jobs=2,
    unplaced_cents_per_kg=400,
)
BED_STOP_CENTS = 300
SITE_STOP_CENTS = 500
HOLD_STOP_CENTS = 200
HOLD_PENALTY_CENTS_PER_T = 25_000
STOP_CENTS = {
    DestinationKind.BED: BED_STOP_CENTS,
    DestinationKind.COMPOST_SITE: SITE_STOP_CENTS,
    DestinationKind.HOLD_BAY: HOLD_STOP_CENTS,
}
NOTHING_LOADED = "nothing"
PLANNER_KINDS = {
    DestinationKind.BED: "bed",
    DestinationKind.COMPOST_SITE: "site",
    DestinationKind.HOLD_BAY: "hold",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LotPiece:
    """A part of one job's lot, as the planner sees one job or one item aboard.

    ``mass_kg`` and ``volume_l`` are the high end, rounded up: what limits are kept with.
    """

    key: str
    job_id: UUID
    share: float
    mass_kg: int
    volume_l: int

    @classmethod
    def of_visit(cls, job_id: UUID, *, key: str) -> LotPiece:
        """Return the piece of a job whose clippings stay on the lawn."""
        return cls(key=key, job_id=job_id, share=0.0, mass_kg=0, volume_l=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleDay:
    """One vehicle's day: what is done, what is aboard now, what is ahead."""

    vehicle_id: UUID
    done_jobs: tuple[Job, ...]
    done_loads: tuple[Load, ...]
    aboard: tuple[LotPiece, ...]
    ahead: tuple[LotPiece, ...]
    start_point: Point
    start_s: int
    warnings: tuple[dict[str, object], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayProblem:
    """The planner's problem and what its names stand for."""

    problem: Problem
    vehicles: dict[str, VehicleDay]
    destinations: dict[str, ReadyDestination]
    pieces: dict[str, LotPiece]
    places: dict[Point, str]
    travel: TravelMatrix
    place_index: dict[Point, int]


def build_problem(
    facts: DayFacts, asked: Asked, routed: Sequence[Job], *, distances: Distances
) -> DayProblem:
    """Return the planner's problem of what is still ahead on the day.

    What is done or under way is not in it: it has set where each vehicle is, what is
    aboard and what is left of each destination's room. Names in the problem come from
    the order of the day, never from ids, so that the order of posting changes nothing.

    Parameters
    ----------
    routed
        The jobs whose clippings go on a vehicle, by time.
    """
    vehicle_days = _vehicle_days(facts, asked, routed)
    usable = [
        ready
        for position, ready in enumerate(asked.destinations)
        if any(not asked.verdicts[job.id][position].refused for job in routed)
    ]
    usable.sort(key=lambda ready: (_KIND_ORDER[ready.kind], ready.name, str(ready.id)))
    points = _points(facts, vehicle_days, usable)
    index = {point: number for number, point in enumerate(points)}
    names = {point: f"P{number}" for point, number in index.items()}
    travel = distances.matrix(points)
    signatures = {
        piece.job_id: NOTHING_LOADED for day in vehicle_days for piece in day.ahead
    } | _signatures(asked, routed, usable)
    fee_scale = _likely_per_high(asked, routed)
    destinations = {f"D{number}": ready for number, ready in enumerate(usable)}
    pieces = {piece.key: piece for day in vehicle_days for piece in (*day.aboard, *day.ahead)}
    positions = {ready.id: number for number, ready in enumerate(asked.destinations)}
    jobs_by_id = {job.id: job for job in facts.jobs}
    named_days = {f"V{number}": day for number, day in enumerate(vehicle_days)}
    problem = Problem(
        name=f"{facts.depot.name} {facts.span.day.isoformat()}",
        costs=COSTS,
        statuses=tuple(sorted({NOTHING_LOADED, *signatures.values()})),
        places=tuple(Place(id=names[point]) for point in points),
        vehicles=tuple(
            _vehicle(
                key,
                day,
                facts=facts,
                signatures=signatures,
                names=names,
                locked=_locked(day, facts, destinations),
            )
            for key, day in named_days.items()
        ),
        jobs=tuple(
            PlannerJob(
                id=piece.key,
                place=names[facts.properties[jobs_by_id[piece.job_id].property_id].point],
                mass_kg=piece.mass_kg,
                volume_l=piece.volume_l,
                status=signatures[piece.job_id],
                service_s=round(
                    jobs_by_id[piece.job_id].minutes_on_site * 60 * (piece.share or 1.0)
                ),
                window_s=(0, facts.span.second(facts.span.end)),
            )
            for day in vehicle_days
            for piece in day.ahead
        ),
        destinations=tuple(
            _destination(
                key,
                ready,
                asked=asked,
                routed=routed,
                signatures=signatures,
                fee_scale=fee_scale,
                position=positions[ready.id],
                place=names[ready.point],
            )
            for key, ready in destinations.items()
        ),
        matrix=Matrix(
            distance_m=tuple(tuple(row) for row in travel.distance_m.tolist()),
            duration_s=tuple(tuple(row) for row in travel.duration_s.tolist()),
        ),
    )
    return DayProblem(
        problem=problem,
        vehicles=named_days,
        destinations=destinations,
        pieces=pieces,
        places=names,
        travel=travel,
        place_index=index,
    )


_KIND_ORDER = {
    DestinationKind.BED: 0,
    DestinationKind.COMPOST_SITE: 1,
    DestinationKind.HOLD_BAY: 2,
}


def _points(
    facts: DayFacts, vehicle_days: Sequence[VehicleDay], usable: Sequence[ReadyDestination]
) -> list[Point]:
    points = [facts.depot.point]
    points += [day.start_point for day in vehicle_days]
    points += [facts.properties[job.property_id].point for job in facts.jobs]
    points += [ready.point for ready in usable]
    return list(dict.fromkeys(points))


# -- vehicles -----------------------------------------------------------------------------


def _vehicle_days(facts: DayFacts, asked: Asked, routed: Sequence[Job]) -> list[VehicleDay]:
    """Return the days of vehicles with anything to do, by registration."""
    routed_ids = {job.id for job in routed}
    working = sorted(
        {job.vehicle_id for job in facts.jobs} | {load.vehicle_id for load in facts.fixed_loads},
        key=lambda vehicle_id: (facts.vehicles[vehicle_id].registration, str(vehicle_id)),
    )
    return [
        _vehicle_day(facts, asked, routed_ids, vehicle_id, number)
        for number, vehicle_id in enumerate(working)
    ]


def _vehicle_day(
    facts: DayFacts, asked: Asked, routed_ids: set[UUID], vehicle_id: UUID, number: int
) -> VehicleDay:
    vehicle = facts.vehicles[vehicle_id]
    jobs = [job for job in facts.jobs if job.vehicle_id == vehicle_id]
    mown = [job for job in jobs if job.state is JobState.MOWN]
    planned = [job for job in jobs if job.state is JobState.PLANNED]
    loads = sorted(
        (load for load in facts.fixed_loads if load.vehicle_id == vehicle_id),
        key=lambda load: (load.done_at or load.arrive_at, load.sequence),
    )
    aboard = []
    for count, job in enumerate(mown):
        share = facts.share_left(job)
        if job.id in routed_ids and share > 0:
            aboard.append(_piece(asked, job, key=f"V{number}A{count}", share=share))
    ahead: list[LotPiece] = []
    warnings: list[dict[str, object]] = []
    for count, job in enumerate(planned):
        if job.id not in routed_ids:
            # The lawn is mown and its clippings stay: a stop that loads nothing.
            ahead.append(LotPiece.of_visit(job.id, key=f"V{number}J{count}"))
            continue
        pieces = _pieces(asked, job, key=f"V{number}J{count}", vehicle=vehicle)
        if len(pieces) > 1:
            warnings.append(
                {
                    "code": "job_exceeds_vehicle",
                    "job_id": str(job.id),
                    "loads_needed": len(pieces),
                    "mass_high_kg": round(asked.lots[job.id].mass_kg.high),
                    "payload_kg": vehicle.payload_kg,
                }
            )
        ahead += pieces
    aboard_kg = sum(piece.mass_kg for piece in aboard)
    aboard_l = sum(piece.volume_l for piece in aboard)
    if aboard_kg > vehicle.payload_kg or aboard_l > vehicle.body_volume_m3 * 1000.0:
        warnings.append(
            {
                "code": "vehicle_may_be_overloaded",
                "mass_high_kg": aboard_kg,
                "payload_kg": vehicle.payload_kg,
                "volume_high_l": aboard_l,
                "body_l": round(vehicle.body_volume_m3 * 1000.0),
            }
        )
    start_point, start_s = _start(facts, mown, loads)
    return VehicleDay(
        vehicle_id=vehicle_id,
        done_jobs=tuple(mown),
        done_loads=tuple(loads),
        aboard=tuple(aboard),
        ahead=tuple(ahead),
        start_point=start_point,
        start_s=start_s,
        warnings=tuple(warnings),
    )


def _piece(asked: Asked, job: Job, *, key: str, share: float) -> LotPiece:
    lot = asked.lots[job.id]
    return LotPiece(
        key=key,
        job_id=job.id,
        share=share,
        mass_kg=max(1, ceil(lot.mass_kg.high * share - 1e-9)),
        volume_l=max(1, ceil(lot.volume_m3.high * 1000.0 * share - 1e-9)),
    )


def _pieces(asked: Asked, job: Job, *, key: str, vehicle: RecordedVehicle) -> list[LotPiece]:
    """Return the job whole, or cut into loads its vehicle can carry at the wet end."""
    lot = asked.lots[job.id]
    needed = max(
        1,
        ceil(lot.mass_kg.high / max(1.0, floor(vehicle.payload_kg))),
        ceil(lot.volume_m3.high / vehicle.body_volume_m3),
    )
    return [
        _piece(asked, job, key=key if needed == 1 else f"{key}.{part}", share=1.0 / needed)
        for part in range(needed)
    ]


def _start(facts: DayFacts, mown: Sequence[Job], loads: Sequence[Load]) -> tuple[Point, int]:
    """Return where a vehicle is and from when it can go on."""
    start_s = facts.span.second(facts.span.at_clock(facts.depot.shift_starts))
    point = facts.depot.point
    last = None
    for job in mown:
        if last is None or job.at >= last:
            last, point = job.at, facts.properties[job.property_id].point
    for load in loads:
        at = load.done_at or load.arrive_at
        if load.state in FIXED_LOAD_STATES and (last is None or at >= last):
            last, point = at, _destination_point(facts, load)
    if last is not None:
        start_s = max(start_s, facts.span.second(last))
    if facts.span.start <= facts.now < facts.span.end:
        start_s = max(start_s, facts.span.second(facts.now))
    return point, start_s


def _destination_point(facts: DayFacts, load: Load) -> Point:
    if load.destination_kind is DestinationKind.BED:
        return facts.bed_points.get(load.destination_id, facts.depot.point)
    for site in facts.sites:
        if site.id == load.destination_id:
            return site.point
    return facts.depot.point


def _vehicle(
    key: str,
    day: VehicleDay,
    *,
    facts: DayFacts,
    signatures: dict[UUID, str],
    names: dict[Point, str],
    locked: tuple[Locked, ...],
) -> Vehicle:
    vehicle = facts.vehicles[day.vehicle_id]
    shift_end_s = facts.span.second(facts.span.at_clock(facts.depot.shift_ends))
    aboard_kg = sum(piece.mass_kg for piece in day.aboard)
    aboard_l = sum(piece.volume_l for piece in day.aboard)
    return Vehicle(
        id=key,
        start_place=names[day.start_point],
        end_place=names[facts.depot.point],
        shift_start_s=day.start_s,
        shift_end_s=max(shift_end_s, day.start_s),
        # What is aboard is aboard: an overloaded vehicle is warned of, and then unloaded.
        payload_kg=max(floor(vehicle.payload_kg), aboard_kg),
        body_l=max(floor(vehicle.body_volume_m3 * 1000.0), aboard_l),
        jobs=tuple(piece.key for piece in day.ahead),
        aboard=tuple(
            Aboard(
                mass_kg=piece.mass_kg,
                volume_l=piece.volume_l,
                status=signatures[piece.job_id],
            )
            for piece in day.aboard
        ),
        locked=locked,
    )


def _locked(
    day: VehicleDay, facts: DayFacts, destinations: dict[str, ReadyDestination]
) -> tuple[Locked, ...]:
    """Return the locked tips that are still possible: their job is still ahead."""
    keys = {ready.id: key for key, ready in destinations.items()}
    last_piece = {piece.job_id: piece.key for piece in day.ahead}
    found = []
    for load in facts.planned_loads:
        if not load.locked or load.vehicle_id != day.vehicle_id:
            continue
        if load.destination_id not in keys:
            continue
        if load.after_job_id is not None and load.after_job_id not in last_piece:
            after = None
        else:
            after = last_piece.get(load.after_job_id) if load.after_job_id else None
        found.append(Locked(destination=keys[load.destination_id], after_job=after))
    return tuple(found)


# -- destinations -------------------------------------------------------------------------


def _signatures(
    asked: Asked, routed: Sequence[Job], usable: Sequence[ReadyDestination]
) -> dict[UUID, str]:
    """Return a name for each lot's pattern of acceptances: what the planner calls a status.

    Two lots with the same pattern may go to exactly the same destinations, so to the
    planner they are the same kind of thing; it need not know why.
    """
    position = {ready.id: number for number, ready in enumerate(asked.destinations)}
    columns = [position[ready.id] for ready in usable]
    patterns = {
        job.id: tuple(not asked.verdicts[job.id][column].refused for column in columns)
        for job in routed
    }
    names = {pattern: f"S{number}" for number, pattern in enumerate(sorted(set(patterns.values())))}
    return {job_id: names[pattern] for job_id, pattern in patterns.items()}


def _likely_per_high(asked: Asked, routed: Sequence[Job]) -> float:
    """Return likely over high mass of the day: limits are kept at the high end, costs are not."""
    high = sum(asked.lots[job.id].mass_kg.high for job in routed)
    return sum(asked.lots[job.id].mass_kg.likely for job in routed) / high if high > 0 else 1.0


def _destination(
    key: str,
    ready: ReadyDestination,
    *,
    asked: Asked,
    routed: Sequence[Job],
    signatures: dict[UUID, str],
    fee_scale: float,
    position: int,
    place: str,
) -> Destination:
    taken = {
        job.id: verdict.accepted_kg
        for job in routed
        if not (verdict := asked.verdicts[job.id][position]).refused
    }
    # One room is shared by lots of different density: the tightest lot's figure is safe for all.
    room_kg = max(0, floor(min(taken.values()) - ready.used_kg)) if taken else 0
    volume_per_kg = [
        asked.lots[job_id].volume_m3.likely / asked.lots[job_id].mass_kg.likely for job_id in taken
    ]
    stop_cents = STOP_CENTS[ready.kind]
    fee_cents_per_t = 0.0
    if ready.kind is DestinationKind.HOLD_BAY:
        fee_cents_per_t = HOLD_PENALTY_CENTS_PER_T
    elif ready.fee is not None:
        if ready.fee.basis is FeeBasis.PER_TONNE:
            fee_cents_per_t = ready.fee.amount_cents
        elif ready.fee.basis is FeeBasis.PER_M3:
            fee_cents_per_t = (
                ready.fee.amount_cents
                * KILOGRAMS_PER_TONNE
                * sum(volume_per_kg)
                / max(1, len(volume_per_kg))
            )
        else:
            stop_cents += ready.fee.amount_cents
    return Destination(
        id=key,
        kind=PLANNER_KINDS[ready.kind],
        place=place,
        capacity_kg=room_kg,
        fee_cents_per_t=round(fee_cents_per_t * fee_scale),
        accepts=tuple(sorted({NOTHING_LOADED, *(signatures[job_id] for job_id in taken)})),
        tip_s=ready.tip_s,
        stop_cents=stop_cents,
        open_s=ready.open_s,
        close_s=ready.close_s,
        may_overflow=False,
    )

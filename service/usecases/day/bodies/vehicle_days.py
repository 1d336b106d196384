"""Each vehicle's day: what is done, what is aboard now, what is ahead."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import ceil, floor
from uuid import UUID

from service.core.crews import Vehicle
from service.core.jobs import Job, JobState
from service.core.loads import FIXED_LOAD_STATES, Load
from service.core.measures.units import LITRES_PER_M3
from service.core.places import Point
from service.destinations.verdicts import Lot, kg_at_most
from service.usecases.base.lots.held_grass import HeldGrass
from service.usecases.day.bodies.overload import doubted_of, overloaded
from service.usecases.day.bodies.pieces import LotPiece, held_pieces
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts

# A lot in more parts than this is no mowing job but a mistake; it is told as a warning.
MOST_PARTS = 500
# Common practice, no source: nobody fetches one lawn in more trips than this.
MOST_BODIES = 12
# Once somebody said that it is so: a search placed 26 in seconds. Common practice, no source.
MOST_CONFIRMED_BODIES = 40
# So long before midnight a vehicle may have been left for the night. Common practice, no source.
PARKED_FOR = timedelta(hours=12)
# Shares of lots in loads are rounded to nine digits: no kilogram more for that.
ROUNDED = 1e-4


@dataclass(frozen=True, slots=True, kw_only=True)
class VehicleDay:
    """One vehicle's day: what is done, what is aboard now, what is ahead.

    Attributes
    ----------
    stands
        Whether it is out and does nothing more; then ``standing`` is what it has aboard.
    out_s
        The second from which on it is out, if that is still ahead.
    given
        Jobs that it does not do: others do, or nobody.
    left
        What nobody takes over.
    lay_with
        Jobs whose clippings lay in one body with ``standing``, but are elsewhere by now.
    on_its_way
        What it set off with and has not tipped: in its body till then, and no more to be planned.
    left_out_kg, left_out_l
        What is aboard by the book and in no plan: it is too large to be routed.
    """

    vehicle_id: UUID
    done_jobs: tuple[Job, ...]
    done_loads: tuple[Load, ...]
    aboard: tuple[LotPiece, ...]
    ahead: tuple[LotPiece, ...]
    start_point: Point
    start_s: int
    warnings: tuple[dict[str, object], ...]
    stands: bool = False
    out_s: int | None = None
    standing: tuple[LotPiece, ...] = ()
    given: frozenset[UUID] = frozenset()
    left: tuple[LotPiece, ...] = ()
    lay_with: tuple[UUID, ...] = ()
    on_its_way: tuple[Load, ...] = ()
    left_out_kg: int = 0
    left_out_l: int = 0

    @property
    def on_it(self) -> tuple[LotPiece, ...]:
        """Return what lies in its body now and is to be planned, whoever tips it."""
        return (*self.aboard, *self.standing)

    @property
    def mass_aboard_kg(self) -> int:
        """Return the high end of all that lies in its body now, on its way as well."""
        on_its_way = sum(load.mass_kg.high for load in self.on_its_way)
        pieces_kg = sum(piece.mass_kg for piece in self.on_it)
        return pieces_kg + self.left_out_kg + ceil(on_its_way - ROUNDED)

    @property
    def volume_aboard_l(self) -> int:
        """Return the same in litres."""
        on_its_way = sum(load.volume_m3.high * LITRES_PER_M3 for load in self.on_its_way)
        pieces_l = sum(piece.volume_l for piece in self.on_it)
        return pieces_l + self.left_out_l + ceil(on_its_way - ROUNDED)

    @property
    def taken_over(self) -> tuple[LotPiece, ...]:
        """Return what it does for vehicles that are out."""
        return tuple(piece for piece in self.ahead if piece.taken_from is not None)

    @property
    def brings_held(self) -> bool:
        """Return whether it brings on something that lies in a bay."""
        return any(piece.lies_in_bay for piece in self.ahead)


def vehicle_days_of(facts: DayFacts, asked: Asked, routed: Sequence[Job]) -> list[VehicleDay]:
    """Return the days of vehicles with anything to do, by registration."""
    routed_ids = {job.id for job in routed}
    working = sorted(
        {job.vehicle_id for job in facts.jobs}
        | {load.vehicle_id for load in facts.fixed_loads}
        | {vehicle_id for vehicle_id in facts.vehicles if facts.on_its_way(vehicle_id)}
        | {grass.vehicle_id for grass in facts.loaded if grass.vehicle_id is not None},
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
    jobs = facts.jobs_of(vehicle_id)
    mown = [job for job in jobs if job.state is JobState.MOWN]
    mown_today = [job for job in mown if facts.is_today(job)]
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
    loaded = [grass for grass in facts.loaded if grass.vehicle_id == vehicle_id]
    for count, grass in enumerate(loaded):
        aboard += held_pieces(grass, asked, key=f"V{number}H{count}")
    ahead: list[LotPiece] = []
    warnings: list[dict[str, object]] = []
    for count, job in enumerate(planned):
        if job.id not in routed_ids:
            # The lawn is mown and its clippings stay: a stop that loads nothing.
            ahead.append(LotPiece.of_visit(job.id, key=f"V{number}J{count}"))
            continue
        pieces = pieces_of(asked, job, key=f"V{number}J{count}", vehicle=vehicle)
        if len(pieces) > 1:
            warnings.append(exceeds(asked, job.id, vehicle, loads=len(pieces)))
        ahead += pieces
    # What is left out for its size is in the body all the same, and in every mixture.
    left_out = [
        _piece(asked, job, key="", share=facts.share_left(job))
        for job in mown
        if job.id in asked.lots and too_large(facts, asked.lots[job.id], vehicle)
    ]
    beside = tuple((piece.job_id, 0.0) for piece in left_out)
    aboard = [piece.lying_with(beside) for piece in aboard]
    ahead = [piece.lying_with(beside) for piece in ahead]
    outage = facts.out(vehicle_id)
    stands = facts.stands(vehicle_id)
    night = [job for job in mown if not facts.is_today(job) and facts.is_of_the_night(job.at)]
    start_point, start_s = _start(facts, vehicle_id, mown_today, loads, loaded, night=night)
    found = VehicleDay(
        vehicle_id=vehicle_id,
        done_jobs=tuple(mown_today),
        done_loads=tuple(loads),
        aboard=tuple(aboard),
        ahead=tuple(ahead),
        start_point=start_point,
        start_s=start_s,
        warnings=tuple(warnings),
        stands=stands,
        out_s=None if outage is None or stands else facts.span.second(outage.out_since),
        on_its_way=facts.on_its_way(vehicle_id),
        left_out_kg=sum(piece.mass_kg for piece in left_out),
        left_out_l=sum(piece.volume_l for piece in left_out),
    )
    doubted = doubted_of((*aboard, *left_out), facts, asked, vehicle)
    heavy = overloaded(found.mass_aboard_kg, found.volume_aboard_l, vehicle, doubted)
    return replace(found, warnings=(*warnings, *heavy))


def exceeds(asked: Asked, job_id: UUID, vehicle: Vehicle, *, loads: int) -> dict[str, object]:
    """Return the warning that a vehicle fetches a lot in several loads."""
    mass_kg = kg_at_most(asked.lots[job_id].mass_kg.high)
    return {
        "code": "job_exceeds_vehicle",
        "job_id": str(job_id),
        "loads_needed": loads,
        "mass_high_kg": mass_kg,
        "payload_kg": vehicle.payload_kg,
        "why": (
            f"Up to {mass_kg} kg are more than the vehicle takes at once: it is fetched in "
            f"{loads} loads. Check area and height, or send a larger vehicle."
        ),
    }


def too_large(facts: DayFacts, lot: Lot, vehicle: Vehicle) -> bool:
    """Return whether a lot would fill its vehicle so often that it must be a mistake.

    It is told and left out of the routing until somebody corrects the job, or says that it is so.
    """
    share = facts.share_of(lot.job_id)
    bodies = bodies_of(lot.mass_kg.high * share, lot.volume_m3.high * share, vehicle)
    return bodies > MOST_BODIES and bodies > most_bodies(facts.known_jobs.get(lot.job_id))


def most_bodies(job: Job | None) -> int:
    """Return in how many loads a cut is believed, or can be planned once it is said to be so."""
    return MOST_BODIES if job is None or job.size_confirmed is None else MOST_CONFIRMED_BODIES


def bodies_of(mass_kg: float, volume_m3: float, vehicle: Vehicle) -> int:
    """Return how many times a vehicle goes for so much, at least once."""
    return max(1, ceil(mass_kg / vehicle.payload_kg), ceil(volume_m3 / vehicle.body_volume_m3))


def _piece(asked: Asked, job: Job, *, key: str, share: float) -> LotPiece:
    lot = asked.lots[job.id]
    return LotPiece(
        key=key,
        job_id=job.id,
        share=share,
        mass_kg=max(1, ceil(lot.mass_kg.high * share - 1e-9)),
        volume_l=max(1, ceil(lot.volume_m3.high * 1000.0 * share - 1e-9)),
    )


def pieces_of(asked: Asked, job: Job, *, key: str, vehicle: Vehicle) -> list[LotPiece]:
    """Return the job whole, or cut into loads its vehicle can carry at the wet end."""
    lot = asked.lots[job.id]
    payload_kg, body_l = payload_and_body(vehicle)
    needed = max(
        1,
        ceil(lot.mass_kg.high / max(1, payload_kg)),
        ceil(lot.volume_m3.high * 1000.0 / max(1, body_l)),
    )
    while True:
        pieces = [
            replace(
                _piece(asked, job, key=key if needed == 1 else f"{key}.{part}", share=1.0 / needed),
                goes_on=part > 0,
            )
            for part in range(needed)
        ]
        # Counted in the planner's whole numbers, which are rounded up: one part more may be due.
        fits = pieces[0].mass_kg <= payload_kg and pieces[0].volume_l <= body_l
        if fits or needed >= MOST_PARTS:
            return pieces
        needed += 1


def payload_and_body(vehicle: Vehicle) -> tuple[int, int]:
    """Return what a vehicle may carry in whole kilograms, and hold in whole litres."""
    return floor(vehicle.payload_kg), floor(vehicle.body_volume_m3 * 1000.0)


def _left_at(facts: DayFacts, vehicle_id: UUID) -> Iterator[tuple[datetime, Point]]:
    """Yield where somebody said that a vehicle was left, or broke down, and when."""
    vehicle, lately = facts.vehicles[vehicle_id], facts.span.start - PARKED_FOR
    at = vehicle.parked_at
    if vehicle.parked_point is not None and at is not None and lately <= at <= facts.now:
        yield at, vehicle.parked_point
    for one in facts.outages:
        if one.vehicle_id == vehicle_id and one.point is not None and one.out_since <= facts.now:
            yield max(one.out_since, lately), one.point


def _start(
    facts: DayFacts,
    vehicle_id: UUID,
    mown: Sequence[Job],
    loads: Sequence[Load],
    loaded: Sequence[HeldGrass],
    *,
    night: Sequence[Job],
) -> tuple[Point, int]:
    """Return where a vehicle is and from when it can go on: of a night shift before the next."""
    start_s = 0 if night else facts.span.second(facts.span.at_clock(facts.depot.shift_starts))
    point = facts.depot.point
    seen = [
        *((job.at, facts.properties[job.property_id].point) for job in (*night, *mown)),
        *(
            (load.done_at or load.arrive_at, facts.points.get(load.destination_id, point))
            for load in loads
            if load.state in FIXED_LOAD_STATES
        ),
        *(
            (one.at, point)
            for grass in loaded
            for one in grass.entry.loadings or ()
            if one.vehicle_id == vehicle_id
            and one.from_vehicle_id is None
            and one.at >= facts.span.start
        ),
    ]
    seen = [*_left_at(facts, vehicle_id), *seen]
    last: datetime | None = None
    for at, there in seen:
        # Of what is of one moment the later word: jobs, then loads.
        if last is None or at >= last:
            last, point = at, there
    if last is not None:
        start_s = max(start_s, facts.span.second(last))
    if facts.span.start <= facts.now < facts.span.end:
        start_s = max(start_s, facts.span.second(facts.now))
    outage, back_at = facts.out(vehicle_id), facts.waits_until(vehicle_id)
    if back_at is not None:
        start_s = max(start_s, facts.span.second(back_at))
    if outage is not None and outage.point is not None and facts.stands(vehicle_id):
        point = outage.point
    return point, start_s

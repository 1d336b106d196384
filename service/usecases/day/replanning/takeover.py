"""Who does what a vehicle that is out leaves: its jobs, and the load it stands there with.

This is the plan's proposal. The records of jobs stay as the crews have them until somebody amends
their vehicle and crew; where nobody takes a job over, it is left with the vehicle and told.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import groupby
from math import ceil
from uuid import UUID

from service.core.jobs import Job
from service.planning.arrays.tables import tables_of
from service.planning.events.takeover import Block, Parcel, TakenOver, Taker, take_over
from service.planning.model.problem import Job as PlannerJob
from service.planning.model.problem import Vehicle as PlannerVehicle
from service.usecases.day.bodies.composition import have_a_taker
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.bodies.vehicle_days import (
    MOST_BODIES,
    VehicleDay,
    exceeds,
    payload_and_body,
    pieces_of,
    too_large,
)
from service.usecases.day.destinations import Asked
from service.usecases.day.facts import DayFacts
from service.usecases.day.held.parcels import HeldParcel
from service.usecases.day.problem.build import DayProblem
from service.usecases.day.problem.destinations import NOTHING_LOADED
from service.usecases.day.problem.jobs import planner_job
from service.usecases.day.problem.order_freedoms import jobs_ahead, under_way
from service.usecases.day.told_routing import ToldDay

# From one body into another, a load that a crew forks over [s]; common practice, no source.
RELOAD_S = 900


def days_taken_over(
    facts: DayFacts, asked: Asked, built: DayProblem, held: Sequence[HeldParcel] = ()
) -> list[VehicleDay] | None:
    """Return the vehicles' days with what others take over; None if there is nothing to.

    Other vehicles of the day take over, those that are not out themselves: a vehicle that has
    nothing to do has nobody who drives it.

    Parameters
    ----------
    built
        The day as if every vehicle did its own jobs.
    held
        What lies in the depot's bays and may leave: whoever passes there takes it up.
    """
    if not held and not any(facts.out(day.vehicle_id) for day in built.vehicles.values()):
        return None
    return _Handing(facts, asked, built, held).days()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Given:
    """A job, the load of a vehicle that stands, or what is held: what others fetch as a whole.

    ``giver`` is the vehicle that is out; None of what lies in a bay.
    """

    name: str
    giver: str | None
    job: Job | None
    pieces: tuple[LotPiece, ...]
    lay_with: tuple[UUID, ...] = ()
    held: HeldParcel | None = None


class _Handing:
    """Hands the work of vehicles that are out to others."""

    def __init__(
        self, facts: DayFacts, asked: Asked, built: DayProblem, held: Sequence[HeldParcel]
    ) -> None:
        self.facts, self.asked, self.built, self.held = facts, asked, built, held
        self.jobs = facts.known_jobs
        self.told = ToldDay.of(facts.previous)
        self.new: dict[str, tuple[LotPiece, ...]] = {}

    def days(self) -> list[VehicleDay]:
        given = [
            one
            for key, day in self.built.vehicles.items()
            if self.facts.out(day.vehicle_id)
            for one in self._given(key, day)
        ]
        given += [
            _Given(name=parcel.name, giver=None, job=None, pieces=parcel.pieces, held=parcel)
            for parcel in self.held
        ]
        keys = {day.vehicle_id: key for key, day in self.built.vehicles.items()}
        told = {
            name: keys[vehicle_id]
            for name, vehicle_id in self.told.takers().items()
            if vehicle_id in keys
        }
        taken = take_over(
            tables_of(self.built.problem),
            [Parcel(name=one.name, cut=partial(self._cut, one)) for one in given],
            [
                self._taker(vehicle, self.built.vehicles[vehicle.id])
                for vehicle in self.built.problem.vehicles
                if self._may_take(self.built.vehicles[vehicle.id])
            ],
            before=told,
        )
        return [
            self._giver(key, day, given, taken)
            if self.facts.out(day.vehicle_id)
            else self._with_taken(key, day, taken)
            for key, day in self.built.vehicles.items()
        ]

    def _may_take(self, day: VehicleDay) -> bool:
        """Return whether a vehicle works, and nothing is aboard that would spoil what it loads."""
        return self.facts.out(day.vehicle_id) is None and (
            not day.aboard or have_a_taker(day.aboard, self.asked)
        )

    def _given(self, key: str, day: VehicleDay) -> list[_Given]:
        found = []
        for job_id, pieces in groupby(day.ahead, key=lambda piece: piece.job_id):
            job = self.jobs[job_id]
            if day.out_s is None or self.facts.span.second(job.at) >= day.out_s:
                found.append(_Given(name=str(job_id), giver=key, job=job, pieces=tuple(pieces)))
        if day.stands and day.aboard:
            name = ToldDay.load_name(day.vehicle_id)
            found.append(
                _Given(
                    name=name,
                    giver=key,
                    job=None,
                    pieces=day.aboard,
                    lay_with=self._lay_with(day),
                )
            )
        return found

    def _lay_with(self, day: VehicleDay) -> tuple[UUID, ...]:
        """Return the jobs of which no clippings stand there now, but traces in what does.

        People amend one job after the other when they have forked a mixed load over, and what is
        left must not count as clean between two of them.
        """
        lay = self.told.lay_in(day.vehicle_id)
        outage = self.facts.out(day.vehicle_id)
        return tuple(
            job.id
            for job in self.facts.jobs
            if job.id in lay
            and job.vehicle_id != day.vehicle_id
            and job.id in self.asked.lots
            and (outage is None or job.at <= outage.out_since)  # else it was told there by mistake
        )

    def _taker(self, vehicle: PlannerVehicle, day: VehicleDay) -> Taker:
        """Return a vehicle that may take something: after the job its crew is at, if it is."""
        at_work = under_way(self.facts, jobs_ahead(self.facts, day)) is not None
        blocks: tuple[Block, ...] = tuple(
            tuple(piece.key for piece in pieces)
            for _, pieces in groupby(day.ahead, key=lambda piece: piece.job_id)
        )
        return Taker(vehicle=vehicle, blocks=blocks, first=int(at_work))

    def _cut(self, one: _Given, vehicle: PlannerVehicle) -> tuple[PlannerJob, ...]:
        """Return how a vehicle would do it, and remember it in the pieces of lots."""
        taker = self.built.vehicles[vehicle.id]
        pieces = self._trips(one, taker) if one.job is None else self._loads(one, one.job, taker)
        if one.giver is not None:
            giver = self.built.vehicles[one.giver]
            pieces = tuple(replace(piece, taken_from=giver.vehicle_id) for piece in pieces)
        self.new[f"{vehicle.id} {one.name}"] = pieces
        return tuple(
            planner_job(
                piece,
                self.jobs[piece.job_id],
                self.facts,
                places=self.built.places,
                status=NOTHING_LOADED,
            )
            for piece in pieces
        )

    def _loads(self, one: _Given, job: Job, taker: VehicleDay) -> tuple[LotPiece, ...]:
        """Return a job in the loads that the taker needs; nothing if it is too large for it."""
        if not one.pieces[0].mass_kg:
            return one.pieces
        vehicle = self.facts.vehicles[taker.vehicle_id]
        if too_large(self.facts, self.asked.lots[job.id], vehicle):
            return ()
        key = one.pieces[0].key.partition(".")[0]
        return tuple(pieces_of(self.asked, job, key=key, vehicle=vehicle))

    def _trips(self, one: _Given, taker: VehicleDay) -> tuple[LotPiece, ...]:
        """Return what stands in a vehicle, or lies in a bay, in as many parts as there are trips.

        What lies in one body, or on one heap, is mixed: every part has its share of every lot.
        """
        payload_kg, body_l = payload_and_body(self.facts.vehicles[taker.vehicle_id])
        mass_kg = sum(piece.mass_kg for piece in one.pieces)
        volume_l = sum(piece.volume_l for piece in one.pieces)
        trips = max(ceil(mass_kg / max(1, payload_kg)), ceil(volume_l / max(1, body_l)))
        if trips > MOST_BODIES:
            return ()
        first, *others = one.pieces
        point, key = self.facts.depot.point, first.key.partition(".")[0]
        if one.giver is not None:
            point, key = self.built.vehicles[one.giver].start_point, one.giver
        volumes_l = [
            volume_l * (trip + 1) // trips - volume_l * trip // trips for trip in range(trips)
        ]
        return tuple(
            LotPiece(
                key=f"{key}L{trip}",
                job_id=first.job_id,
                share=first.share / trips,
                mass_kg=mass_kg * (trip + 1) // trips - mass_kg * trip // trips,
                volume_l=volumes_l[trip],
                stands_at=point,
                loading_s=RELOAD_S if one.held is None else one.held.loading_s(volumes_l[trip]),
                hold_entry_id=first.hold_entry_id,
                mixed=(
                    *((piece.lot_id, piece.share / trips) for piece in others),
                    *((job_id, 0.0) for job_id in one.lay_with),
                    *dict.fromkeys(trace for piece in one.pieces for trace in piece.mixed),
                ),
            )
            for trip in range(trips)
        )

    def _giver(
        self, key: str, day: VehicleDay, given: Sequence[_Given], taken: TakenOver
    ) -> VehicleDay:
        own = [one for one in given if one.giver == key]
        jobs = frozenset(one.job.id for one in own if one.job is not None)
        return replace(
            day,
            aboard=() if day.stands else day.aboard,
            standing=day.aboard if day.stands else (),
            lay_with=tuple(job_id for one in own for job_id in one.lay_with),
            ahead=tuple(piece for piece in day.ahead if piece.job_id not in jobs),
            given=jobs,
            left=tuple(piece for one in own if one.name in taken.left for piece in one.pieces),
            warnings=tuple(w for w in day.warnings if not _is_about(w, jobs)),
        )

    def _with_taken(self, key: str, day: VehicleDay, taken: TakenOver) -> VehicleDay:
        if key not in taken.blocks:
            return day
        names = [name for name, taker in taken.takers.items() if taker == key]
        new = [self.new[f"{key} {name}"] for name in names]
        pieces = {piece.key: piece for piece in day.ahead}
        pieces |= {piece.key: piece for some in new for piece in some}
        vehicle = self.facts.vehicles[day.vehicle_id]
        return replace(
            day,
            ahead=tuple(pieces[name] for block in taken.blocks[key] for name in block),
            warnings=(
                *day.warnings,
                *(
                    exceeds(self.asked, some[0].job_id, vehicle, loads=len(some))
                    for some in new
                    if len(some) > 1 and some[0].stands_at is None
                ),
            ),
        )


def _is_about(warning: Mapping[str, object], jobs: frozenset[UUID]) -> bool:
    return warning["code"] == "job_exceeds_vehicle" and warning["job_id"] in {
        str(job_id) for job_id in jobs
    }

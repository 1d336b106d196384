"""One vehicle's day in the answer: what is done first, then what is ahead."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import cached_property
from math import ceil
from uuid import UUID

from service.core.crews import VehicleOutage
from service.core.jobs import Job, JobState
from service.core.loads import OPEN_LOAD_STATES, Load, LoadState
from service.core.places import Point
from service.destinations.heaps import hottest_of_last
from service.planning.model.result import PlanStop
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import DaySpan
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.held.entries import keeps_until
from service.usecases.day.lawn_hours import hours_of
from service.usecases.day.planned_day import PlannedDay, range_of
from service.usecases.day.replanning.outages import CAUTION
from service.usecases.telling.routing.cautions import (
    DISPATCHERS_LANGUAGE,
    fraction_on_its_way,
    told_cautions,
    told_part,
)
from service.usecases.telling.routing.fairness import FairnessTeller
from service.usecases.telling.routing.hints import HintTeller
from service.usecases.telling.told.explanations import ExplanationTold
from service.usecases.telling.told.forms import Range
from service.usecases.telling.told.plans import AboardNow, OutTold, VehicleTold
from service.usecases.telling.told.stops import DropStop, JobStop, LoadHeldStop, PickUpStop, Stop
from service.usecases.telling.unplaced.left_material import LeftTeller

LOADING_CAUTION = (
    "Held clippings may be hot inside and slippery: look and feel before forking, do not work "
    "alone, lift little at a time, and leave a heap that smokes or smells of burning to the fire "
    "service. Local rules go first."
)


class VehicleTeller:
    """One vehicle's day in the answer: what is done first, then what is ahead."""

    def __init__(
        self,
        made: PlannedDay,
        day: VehicleDay,
        stops: Sequence[PlanStop],
        *,
        rulebook: Rulebook,
        hints: HintTeller,
        fairness: FairnessTeller,
        left: LeftTeller,
    ) -> None:
        """Take the plan, the vehicle's day and its planned stops."""
        self._made = made
        self._hints = hints
        self._fairness = fairness
        self._left = left
        self._rulebook = rulebook
        self._day = day
        self._stops = stops
        self._facts = made.facts

    def told(self, *, out: VehicleOutage | None, chances: Mapping[str, float]) -> VehicleTold:
        """Return the vehicle with its stops.

        Parameters
        ----------
        out
            What is on record of its outage.
        chances
            That its payload and its body do not hold what the plan has it carry, by member.
        """
        vehicle = self._facts.vehicles[self._day.vehicle_id]
        mass_kg, volume_l = self._day.mass_aboard_kg, self._day.volume_aboard_l
        return VehicleTold(
            vehicle_id=vehicle.id,
            registration=vehicle.registration,
            crew_ids=self._crew_ids,
            payload_kg=vehicle.payload_kg,
            body_volume_m3=vehicle.body_volume_m3,
            **chances,
            aboard_now=AboardNow(
                mass_high_kg=mass_kg,
                volume_high_l=volume_l,
                room_left_kg=max(0, int(vehicle.payload_kg) - mass_kg),
                room_left_l=max(0, int(vehicle.body_volume_m3 * 1000) - volume_l),
            ),
            stops=(*self._done(), *self._ahead()),
            out=None
            if out is None
            else out_told(out, self._facts.span, stands=self._facts.stands(vehicle.id)),
        )

    @cached_property
    def _crew_ids(self) -> tuple[UUID, ...]:
        jobs = self._facts.jobs_of(self._day.vehicle_id)
        return tuple(sorted({job.crew_id for job in jobs}))

    @cached_property
    def _language(self) -> str:
        """Return the language of the vehicle's crew; of several, that of the first by id."""
        crews = self._facts.crews
        known = [crews[crew_id] for crew_id in self._crew_ids if crew_id in crews]
        return known[0].language if known else DISPATCHERS_LANGUAGE

    def _done(self) -> list[Stop]:
        entries: list[tuple[datetime, Stop]] = [
            (job.at, self._job(job, job.at, done=True)) for job in self._day.done_jobs
        ]
        following = next(iter(self._planned), None)
        entries += [
            (
                load.done_at or load.arrive_at,
                self._drop(load, fraction=self._fraction(load), following=following),
            )
            for load in self._day.done_loads
        ]
        return [entry for _, entry in sorted(entries, key=lambda pair: pair[0])]

    def _ahead(self) -> list[Stop]:
        jobs = self._facts.known_jobs
        fractions = self._left.fractions(self._day.vehicle_id)
        drops = zip(self._planned, fractions, [*self._planned[1:], None], strict=True)
        entries: list[Stop] = []
        told: set[UUID] = set()
        for stop, leg in zip(
            self._stops, self._fairness.legs(self._day.vehicle_id, self._stops), strict=True
        ):
            if stop.job is not None:
                piece = self._made.built.pieces[stop.job]
                job = jobs[piece.job_id]
                at = self._made.begins_at[stop.job]
                if piece.lies_in_bay and piece.hold_entry_id is not None:
                    entries.append(self._load_held(piece, piece.hold_entry_id, at))
                elif piece.stands_at is not None:
                    entries.append(self._pick_up(piece, piece.stands_at, at))
                elif job.id not in told:
                    told.add(job.id)
                    entries.append(self._job(job, at, done=False, taken_from=piece.taken_from))
            elif stop.mass_kg > 0:
                load, fraction, following = next(drops)
                explanation = self._hints.told_drop(
                    stop,
                    load,
                    fairness=self._fairness.burden(leg),
                    spared_beds=self._fairness.spared(leg, load),
                )
                entries.append(
                    self._drop(load, explanation, fraction=fraction, following=following)
                )
        return entries

    @cached_property
    def _planned(self) -> list[Load]:
        """The loads it is planned to tip, in their order."""
        own = (load for load in self._made.planned if load.vehicle_id == self._day.vehicle_id)
        return sorted(own, key=lambda load: load.sequence)

    def _fraction(self, load: Load) -> float:
        """Return what a load that is not tipped yet is of all that is aboard; 1 of any other."""
        is_on_its_way = load.state is LoadState.UNDER_WAY
        return fraction_on_its_way(self._day, load) if is_on_its_way else 1.0

    def _keeps_until(self, load: Load) -> datetime | None:
        """Return when a load that is not tipped yet counts as sour."""
        if load.state not in OPEN_LOAD_STATES:
            return None
        until = keeps_until(load, self._facts, rulebook=self._rulebook, mown_at=self._mown_at)
        return None if until is None else self._told(until)

    @cached_property
    def _mown_at(self) -> dict[UUID, datetime]:
        """When the plan has this vehicle's lawns mown, by job; the first time of several."""
        jobs, hours = self._facts.known_jobs, dict[UUID, datetime]()
        for stop in self._stops:
            piece = None if stop.job is None else self._made.built.pieces[stop.job]
            if piece is not None and jobs[piece.job_id].state is JobState.PLANNED:
                hours.setdefault(piece.job_id, self._made.begins_at[str(stop.job)])
        return hours

    def _mowing_between(self, job: Job) -> str | None:
        hours = hours_of(self._facts, job)
        return None if hours is None else ", ".join(hours.between)

    def _told(self, at: datetime) -> datetime:
        """Return a moment as the depot's clock shows it, with its offset."""
        return at.astimezone(self._facts.span.zone)

    def _pick_up(self, piece: LotPiece, point: Point, at: datetime) -> PickUpStop:
        """Return a stop at which a load is forked over from a vehicle that stands."""
        lots = self._made.asked.lots
        assert piece.taken_from is not None  # noqa: S101 - what stands, stands in a vehicle
        giver = self._facts.vehicles[piece.taken_from]
        return PickUpStop(
            job_id=piece.job_id,
            taken_over_from_id=giver.id,
            from_registration=giver.registration,
            lot_codes=tuple(lots[lot_id].lot_code for lot_id, _ in piece.shares),
            mass_high_kg=piece.mass_kg,
            volume_high_l=piece.volume_l,
            at=self._told(at),
            caution=CAUTION,
            longitude=point.longitude,
            latitude=point.latitude,
        )

    def _load_held(self, piece: LotPiece, entry_id: UUID, at: datetime) -> LoadHeldStop:
        """Return a stop at the depot at which what lies in a bay is loaded by hand."""
        point = self._facts.depot.point
        (entry,) = (one for one in self._facts.lying if one.id == entry_id)
        reading = hottest_of_last(entry)
        measured = ""
        if reading is not None:
            clock = self._told(reading.at).strftime("%Y-%m-%d %H:%M")
            measured = f" It was measured at {reading.temperature_c:g} C inside, {clock}."
        return LoadHeldStop(
            hold_entry_id=entry_id,
            lot_codes=tuple(self._made.asked.lots[lot_id].lot_code for lot_id, _ in piece.shares),
            mass_high_kg=piece.mass_kg,
            volume_high_l=piece.volume_l,
            loading_minutes=ceil(piece.loading_s / 60),
            at=self._told(at),
            temperature_c=None if reading is None else reading.temperature_c,
            measured_at=None if reading is None else self._told(reading.at),
            caution=f"{LOADING_CAUTION}{measured}",
            longitude=point.longitude,
            latitude=point.latitude,
        )

    def _job(
        self, job: Job, at: datetime, *, done: bool, taken_from: UUID | None = None
    ) -> JobStop:
        place = self._facts.properties[job.property_id]
        return JobStop(
            job_id=job.id,
            lot_code=job.lot_code,
            property_id=job.property_id,
            property=place.name,
            at=self._told(at),
            done=done,
            leave_on_lawn=None if done else self._left.leave(job.id),
            mowing_between=self._mowing_between(job),
            taken_over_from_id=taken_from,
            longitude=place.point.longitude,
            latitude=place.point.latitude,
        )

    def _drop(
        self,
        load: Load,
        explanation: ExplanationTold | None = None,
        *,
        fraction: float,
        following: Load | None,
    ) -> DropStop:
        ready = self._made.ready(load)
        goes_on = None if following is None else self._made.ready(following)
        part = told_part(
            load,
            fraction,
            language=self._language,
            next_place=None if goes_on is None else goes_on.name,
        )
        point = ready.point if ready else self._facts.depot.point
        return DropStop(
            load_id=load.id,
            destination_kind=load.destination_kind,
            destination_id=load.destination_id,
            destination=ready.name if ready else None,
            at=self._told(load.done_at or load.arrive_at),
            state=load.state,
            done=load.state is not LoadState.PLANNED,
            locked=load.locked,
            at_gate_at=None if load.at_gate_at is None else self._told(load.at_gate_at),
            status=load.status,
            lot_codes=tuple(part.lot_code for part in load.parts),
            mass_kg=Range(**range_of(load.mass_kg)),
            weighed_kg=None if load.weighed_net is None else load.weighed_net.si_value,
            weight_counts=load.weight_counts,
            volume_l=Range(**range_of(load.volume_m3.scaled(1000.0, unit="L"))),
            fee_cents=load.fee_cents,
            keeps_until=self._keeps_until(load),
            cautions=(*part, *(() if ready is None else told_cautions(ready, self._language))),
            explanation=explanation,
            longitude=point.longitude,
            latitude=point.latitude,
        )


def out_told(outage: VehicleOutage, span: DaySpan, *, stands: bool) -> OutTold:
    """Return what a day tells of a vehicle that is out, by its depot's clock."""
    return OutTold(
        outage_id=outage.id,
        out_since=outage.out_since.astimezone(span.zone),
        back_at=None if outage.back_at is None else outage.back_at.astimezone(span.zone),
        reason=outage.reason,
        stands=stands,
    )

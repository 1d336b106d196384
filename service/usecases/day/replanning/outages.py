"""What is told of vehicles that are out: since when, who takes over what, and what nobody can."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import datetime
from uuid import UUID

from service.core.crews import VehicleOutage
from service.core.jobs import JobState
from service.destinations.freshness import keeping_time
from service.destinations.keeping import KeepingTime
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import clock_words
from service.usecases.day.bodies.pieces import LotPiece
from service.usecases.day.bodies.vehicle_days import VehicleDay
from service.usecases.day.facts import DayFacts, lasts_the_day
from service.usecases.day.planned_day import PlannedDay
from service.usecases.day.replanning.idle import (
    could_fetch_it,
    idle_vehicles,
    names_of,
)
from service.usecases.day.replanning.still_out import outage_of
from service.usecases.day.told_routing import LOAD_STANDS

OUT = "vehicle_out"
# Common practice, no source for a number of people; the gas and the lifting are the README's.
CAUTION = (
    "Stand where no traffic can reach you. Wet grass is heavy: fork it over with two people at "
    "least, by turns, and rest. Fork from outside and never climb into a closed body: rotting "
    "clippings take the oxygen and can give off poisonous gas."
)
# Common practice, no source.
NOT_SO_LATE = (
    "Hire a vehicle or send a further crew before, or tip it out by hand where the owner of the "
    "ground agrees, and spread it thin: on a sheet, off the road, away from drains, water and "
    "grazing animals. Treated or unknown clippings do not touch the ground. Local rules go first. "
)
PROPOSED = "This is the plan's proposal: on record "
UNCUT_STAY = (
    "they stay with it until the other crew reports them mown, or the office gives them to that "
    "crew and its vehicle."
)
CUT_STAY = (
    "what is cut lies in it until a crew reports that it was given to the other vehicle, or the "
    "office gives the jobs to that one."
)


class OutageTeller:
    """Tells a made day's vehicles that are out, JSON-ready."""

    def __init__(self, made: PlannedDay) -> None:
        """Take the made day."""
        self._made, self._facts = made, made.facts
        days = made.built.vehicles.values()
        self._days = {day.vehicle_id: day for day in days}
        self._idle = idle_vehicles(self._facts, self._days)
        self._idle_names = names_of(self._idle, self._facts)
        self._has_takers = any(not self._facts.out(day.vehicle_id) for day in days)
        # By job: whose list it is on in this plan, and from whom it was taken over.
        self._carriers = {
            job_id: (day.vehicle_id, piece.taken_from)
            for day in days
            for piece in day.taken_over
            for job_id, share in piece.shares
            if share or job_id == piece.job_id  # not of what only left traces
        }
        self._left = {
            job_id: day for day in days for piece in day.left for job_id, _ in piece.shares
        }

    def of_vehicle(self, vehicle_id: UUID) -> VehicleOutage | None:
        """Return what is on record of a vehicle that is out; None if it is not, by now."""
        facts = self._facts
        return outage_of(
            facts.outages, vehicle_id, depot=facts.depot, span=facts.span, now=facts.now
        )

    def carrier(self, job_id: UUID, vehicle_id: UUID) -> tuple[UUID, UUID | None]:
        """Return whose list a lot is on, and whose it was if another took it over."""
        return self._carriers.get(job_id, (vehicle_id, None))

    def nobody(self, job_id: UUID) -> str | None:
        """Return what is the matter with a lot that nobody can take over; None with any other."""
        left = self._left.get(job_id)
        return None if left is None else self._nobody(left)

    def unplaced(self) -> Iterator[tuple[UUID, int, str]]:
        """Yield, of each vehicle, how many kilograms nobody takes over, and why."""
        for day in self._days.values():
            mass_kg = sum(piece.mass_kg for piece in day.left)
            if mass_kg:
                yield day.vehicle_id, mass_kg, self._nobody(day)

    def warnings(self, *, rulebook: Rulebook) -> Iterator[dict[str, object]]:
        """Yield that vehicles are out, what stands in them, and what nobody takes over."""
        for outage in self._facts.outages:
            if outage.back_at is None or outage.back_at > self._facts.now:
                yield self._out(outage)
        for day in self._days.values():
            if self._stands_long(day, rulebook=rulebook):
                yield self._standing(day, rulebook=rulebook)
            if day.left:
                yield {
                    "vehicle_id": str(day.vehicle_id),
                    "code": "nobody_takes_over",
                    "job_ids": sorted(
                        {str(job_id) for piece in day.left for job_id, _ in piece.shares}
                    ),
                    "idle": self._idle_names,
                    "why": self._nobody(day),
                }

    def _out(self, outage: VehicleOutage) -> dict[str, object]:
        return {
            "vehicle_id": str(outage.vehicle_id),
            "code": OUT,
            "outage_id": str(outage.id),
            "idle_vehicle_ids": sorted(str(vehicle.id) for vehicle in self._idle),
            "idle": self._idle_names,
            "why": f"{self._meaning(outage)} {self._mown_meanwhile(outage)}".rstrip(),
        }

    def _meaning(self, outage: VehicleOutage) -> str:
        ahead, said = outage.out_since > self._facts.now, self.said(outage)
        if not lasts_the_day(outage, self._facts.depot, self._facts.span, self._facts.now):
            if ahead:
                return f"{said}. Its way is planned as if it were there: a break is not planned."
            return f"{said}. It keeps its jobs and what it has aboard, and waits."
        takers = {
            job: self._facts.vehicles[taker].registration
            for job, (taker, from_) in self._carriers.items()
            if from_ == outage.vehicle_id
        }
        late = self._too_late(outage) if ahead else ""
        if takers:
            known = self._facts.known_jobs  # what came out of a bay is no job, and long cut
            uncut = {job_id for job_id in takers if job_id in known and not known[job_id].cut_at}
            stay = [UNCUT_STAY] if uncut else []
            stay += [CUT_STAY] if uncut < takers.keys() else []
            names = ", ".join(sorted(set(takers.values())))
            return (
                f"{said}. Others take over {len(takers)} of its lots ({names}). {late}{PROPOSED}"
                f"{' And '.join(stay)}"
            )
        day = self._days.get(outage.vehicle_id)
        if day is not None and day.left:
            return f"{self._nobody(day)} {late}".rstrip()
        return f"{said}. There is nothing that another vehicle takes over. {late}".rstrip()

    def _mown_meanwhile(self, outage: VehicleOutage) -> str:
        """Ask whose are the clippings that a vehicle is said to have cut while it was out."""
        codes = sorted(
            job.lot_code
            for job in self._facts.jobs
            if job.vehicle_id == outage.vehicle_id
            and job.state is JobState.MOWN
            and outage.out_since < job.at
            and (outage.back_at is None or job.at < outage.back_at)
        )
        if not codes:
            return ""
        are = "is" if len(codes) == 1 else "are"
        return (
            f"{', '.join(codes)} {are} recorded as mown by it after that: if another vehicle has "
            "the clippings, give the job to that one and say why. "
        )

    def _too_late(self, outage: VehicleOutage) -> str:
        """Return that a vehicle's way ends when it is out already; nothing if it ends before."""
        stops = (
            stop.arrive_s
            for vehicle in self._made.plan.vehicles
            if self._made.built.vehicles[vehicle.id].vehicle_id == outage.vehicle_id
            for stop in vehicle.stops
        )
        last = max(map(self._facts.span.at_second, stops), default=outage.out_since)
        if last <= outage.out_since:
            return ""
        at = self._clock(self._local(last))
        return f"But its last stop is planned for {at}: give its last job to another vehicle. "

    def _stands_long(self, day: VehicleDay, *, rulebook: Rulebook) -> bool:
        """Return whether a load stands in a vehicle for good, or longer than it is left alone."""
        back_at = self._facts.waits_until(day.vehicle_id)
        if day.standing or back_at is None or not day.on_it:
            return bool(day.standing)
        look_by, _ = self._clocks(day.on_it, rulebook=rulebook)
        return back_at > look_by

    def _standing(self, day: VehicleDay, *, rulebook: Rulebook) -> dict[str, object]:
        vehicle = self._facts.vehicles[day.vehicle_id]
        mass_kg = sum(piece.mass_kg for piece in day.on_it)
        look_by, until = self._clocks(day.on_it, rulebook=rulebook)
        traces = self._codes(day.lay_with)
        mixed = (
            f"They lay mixed with {', '.join(traces)} and go only where that may, too. "
            if traces
            else ""
        )
        fetched_at = self._fetched_at(day.vehicle_id)
        if fetched_at is None:
            late = could_fetch_it(self._idle_names)
        else:
            late = f"By the plan the last of it is fetched at {self._clock(fetched_at)}"
            late += f": too late. {NOT_SO_LATE}" if fetched_at > look_by else ". "
        return {
            "vehicle_id": str(vehicle.id),
            "code": LOAD_STANDS,
            "vehicle": vehicle.registration,
            "idle": self._idle_names,
            "lot_codes": sorted([*self._codes({p.job_id for p in day.on_it}), *traces]),
            "mass_high_kg": mass_kg,
            "look_by": look_by.isoformat(),
            "keeps_until": until.isoformat(),
            "fetched_at": None if fetched_at is None else fetched_at.isoformat(),
            "why": (
                f"Up to {mass_kg} kg stand in {vehicle.registration} and heat up: have them out by "
                f"{self._clock(look_by)}; after {self._clock(until)} they count as sour. {late}"
                f"A heap that steams or smells of burning is for the fire service. {mixed}{CAUTION}"
            ),
        }

    def _fetched_at(self, vehicle_id: UUID) -> datetime | None:
        """Return when the plan has the last part of a standing load fetched; None: it has none."""
        pieces = self._made.built.pieces
        pick_ups = (
            stop.arrive_s
            for vehicle in self._made.plan.vehicles
            for stop in vehicle.stops
            if stop.job is not None
            and pieces[stop.job].stands_at is not None
            and pieces[stop.job].taken_from == vehicle_id
        )
        last = max(pick_ups, default=None)
        return None if last is None else self._local(self._facts.span.at_second(last))

    def _codes(self, job_ids: Collection[UUID]) -> list[str]:
        return sorted(job.lot_code for job in self._facts.known_jobs.values() if job.id in job_ids)

    def _clocks(
        self, pieces: tuple[LotPiece, ...], *, rulebook: Rulebook
    ) -> tuple[datetime, datetime]:
        """Return when a standing load is to be looked at, and until when it keeps."""
        jobs = self._facts.known_jobs
        cuts = [jobs[piece.job_id] for piece in pieces]
        clocks: list[tuple[datetime, KeepingTime]] = [
            (job.at, keeping_time(job.wetness, here=self._facts.rules(rulebook))) for job in cuts
        ]
        return (
            self._local(min(at + keeps.amber for at, keeps in clocks)),
            self._local(min(at + keeps.red for at, keeps in clocks)),
        )

    def _nobody(self, day: VehicleDay) -> str:
        outage = self._facts.out(day.vehicle_id)
        said = "" if outage is None else f"{self.said(outage)}: "
        why = (
            "it is too much for every other vehicle of the day"
            if self._has_takers
            else "no other vehicle of the depot works on this day"
        )
        idle = f"{self._idle_names}, without a job on this day" if self._idle else None
        whom = idle or "a vehicle that can"
        return f"{said}{why}. Give the jobs to {whom}, or move them to another day."

    def said(self, outage: VehicleOutage) -> str:
        """Return that a vehicle is out, since when and why, without a full stop."""
        return f"{_is_out(self._facts, outage)} ({outage.reason.rstrip('. ')})"

    def _clock(self, at: datetime) -> str:
        """Return a moment in words, with its date if it is not of the day."""
        return clock_words(at, day=self._facts.span.day)

    def _local(self, at: datetime) -> datetime:
        return at.astimezone(self._facts.span.zone)


def says_out(facts: DayFacts, vehicle_id: UUID) -> str | None:
    """Return since when a vehicle is out, in a few words; None if it is not."""
    outage = facts.out(vehicle_id)
    return None if outage is None else _is_out(facts, outage)


def _is_out(facts: DayFacts, outage: VehicleOutage) -> str:
    at, back_at = (
        None
        if moment is None
        else clock_words(moment.astimezone(facts.span.zone), day=facts.span.day)
        for moment in (outage.out_since, outage.back_at)
    )
    if back_at is not None:
        is_out = f"is out from {at} to {back_at}"
    elif facts.stands(outage.vehicle_id):
        is_out = f"has been out since {at}"
    else:
        is_out = f"is out from {at} on"
    return f"{facts.vehicles[outage.vehicle_id].registration} {is_out}"

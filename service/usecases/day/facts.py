"""Everything a day's plan is built on, read at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any, Final
from uuid import UUID

from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.evidence.recalls import OpenRecall
from service.core.jobs import Job, JobState
from service.core.loads import (
    FIXED_LOAD_STATES,
    HoldEntry,
    Load,
    LoadState,
)
from service.core.materials import ClippingsHandling
from service.core.permission.consent import Consent
from service.core.places import Bed, CompostSite, Depot, DestinationKind, Lawn, Point, Property
from service.core.plans import DayPlan, WorkingDay
from service.destinations.laid.ledger import BedLedger
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.base.calendar import DaySpan
from service.usecases.base.destination_kinds import COLLECTABLE
from service.usecases.base.lots.held_grass import HeldGrass
from service.usecases.base.lots.lot_facts import LotFacts
from service.usecases.day.tainted import TaintingLot

# Twelve shares rounded to nine digits may miss the whole by a hundred-millionth.
NOTHING_LEFT = 1e-6


# A crew that was at work so long ago may still be at it. Common practice, no source.
NIGHT_SHIFT: Final = timedelta(hours=8)


@dataclass(frozen=True, kw_only=True)  # no slots: it remembers what it was asked
class DayFacts:
    """A depot's day as the records have it.

    ``loads`` are the depot's own; ``elsewhere`` are those of the firm's other depots on the
    day, which use the same beds and sites; ``turned_away_before`` are the firm's loads of days
    before that were refused, all or a part, and those that lie on beds though their clients said
    no since. ``places`` are the records of each kind of destination
    that the depot may use, ``points`` where they are, by their ids. ``held`` is what still lies in
    the depot's hold bays, ``loaded`` what came out of them and is in bodies; ``gone`` is by job.
    ``under_way`` are the depot's loads that set off, also on days before; ``lost_locks`` are those
    of the day that were locked and could not be kept, while any of their lots is still to be
    tipped. ``recalls`` are the firm's open ones, ``settled`` the loads of
    those that were ended, while the day has any; ``tainted`` the lots that taint beds, by bed;
    ``currency`` is its own; ``lawns`` are those of the day's jobs. ``undecided`` are cuts that may
    be on record twice, each with the one it is like; they are read only to be told.
    ``consents_then`` is by load what its bed's client had said, if they said otherwise since;
    ``said_no_at`` when they said of what lies there that it may not.
    """

    depot: Depot
    span: DaySpan
    now: datetime
    working_day: WorkingDay | None
    previous: DayPlan | None
    jobs: tuple[Job, ...]
    lot_facts: LotFacts
    vehicles: dict[UUID, Vehicle]
    crews: dict[UUID, Crew]
    properties: dict[UUID, Property]
    places: Mapping[DestinationKind, tuple[Any, ...]]
    points: Mapping[UUID, Point]
    ledgers: dict[UUID, BedLedger]
    held: tuple[HeldGrass, ...]
    loads: tuple[Load, ...]
    loaded: tuple[HeldGrass, ...] = ()
    elsewhere: tuple[Load, ...] = ()
    outages: tuple[VehicleOutage, ...] = ()
    gone: Mapping[UUID, float] = field(default_factory=dict)
    turned_away_before: tuple[Load, ...] = ()
    under_way: tuple[Load, ...] = ()
    lost_locks: tuple[Load, ...] = ()
    recalls: tuple[OpenRecall, ...] = ()
    settled: frozenset[UUID] = frozenset()
    tainted: Mapping[UUID, tuple[TaintingLot, ...]] = field(default_factory=dict)
    undecided: tuple[tuple[Job, Job], ...] = ()
    currency: str = ""
    lawns: Mapping[UUID, Lawn] = field(default_factory=dict)
    consents_then: Mapping[UUID, Consent] = field(default_factory=dict)
    said_no_at: Mapping[UUID, datetime] = field(default_factory=dict)

    def rules(self, rulebook: Rulebook) -> RulesHere:
        """Return the rules of the day at its depot."""
        return RulesHere(rulebook, self.span.day, self.depot.jurisdiction)

    @property
    def lying(self) -> tuple[HoldEntry, ...]:
        """Return the entries of what lies in the depot's bays, of what is left of each."""
        return tuple(grass.entry for grass in self.held)

    @cached_property
    def known_jobs(self) -> dict[UUID, Job]:
        """Return the jobs of the day, and those whose clippings lie, or lay, in a bay, by id."""
        return {job.id: job for grass in (*self.held, *self.loaded) for job in grass.jobs} | {
            job.id: job for job in self.jobs
        }

    @cached_property
    def jobs_by_id(self) -> dict[UUID, Job]:
        """Return the jobs of the day by their ids."""
        return {job.id: job for job in self.jobs}

    def jobs_of(self, vehicle_id: UUID) -> tuple[Job, ...]:
        """Return the jobs of the day that a vehicle has, in their order."""
        return self._jobs_by_vehicle.get(vehicle_id, ())

    @cached_property
    def _jobs_by_vehicle(self) -> dict[UUID, tuple[Job, ...]]:
        found: dict[UUID, list[Job]] = {}
        for job in self.jobs:
            found.setdefault(job.vehicle_id, []).append(job)
        return {vehicle_id: tuple(jobs) for vehicle_id, jobs in found.items()}

    @property
    def beds(self) -> tuple[Bed, ...]:
        """Return the firm's beds."""
        return self.places[DestinationKind.BED]

    @property
    def sites(self) -> tuple[CompostSite, ...]:
        """Return the firm's compost sites."""
        return self.places[DestinationKind.COMPOST_SITE]

    def with_places(self, word: DestinationKind, places: Sequence[Any]) -> DayFacts:
        """Return the facts with other records of one kind."""
        return replace(self, places={**self.places, word: tuple(places)})

    @property
    def fixed_loads(self) -> tuple[Load, ...]:
        """Return the loads of the day that are under way or done."""
        return tuple(load for load in self.loads if load.state in FIXED_LOAD_STATES)

    @property
    def spoken_for(self) -> tuple[Load, ...]:
        """Return the loads that take room of shared destinations, other depots' plans included."""
        return (*self.fixed_loads, *self.elsewhere)

    @property
    def planned_loads(self) -> tuple[Load, ...]:
        """Return the loads of the day that are only planned."""
        return tuple(load for load in self.loads if load.state is LoadState.PLANNED)

    def out(self, vehicle_id: UUID) -> VehicleOutage | None:
        """Return the record that a vehicle is out for the rest of the day, None if it is not."""
        return next(
            (
                one
                for one in self.outages
                if one.vehicle_id == vehicle_id
                and lasts_the_day(one, self.depot, self.span, self.now)
            ),
            None,
        )

    def stands(self, vehicle_id: UUID) -> bool:
        """Return whether a vehicle does nothing more: it is out by now, or before it begins."""
        outage = self.out(vehicle_id)
        return outage is not None and is_over_for(outage, self.depot, self.span, self.now)

    def waits_until(self, vehicle_id: UUID) -> datetime | None:
        """Return when a vehicle that is out by now works again, None if it does not wait."""
        return max(
            (
                outage.back_at
                for outage in self.outages
                if outage.vehicle_id == vehicle_id
                and outage.back_at is not None
                and not lasts_the_day(outage, self.depot, self.span, self.now)
                and outage.out_since <= self.now < outage.back_at
            ),
            default=None,
        )

    @property
    def tips_from(self) -> datetime:
        """Return when what is aboard can be tipped at the earliest: now, if not before the day."""
        return max(self.now, self.span.at_clock(self.depot.shift_starts))

    @property
    def record_versions(self) -> dict[str, int]:
        """Return the versions of the depot's and the destinations' records, by their ids."""
        return {str(place.id): place.version for place in (self.depot, *self.asked_places)}

    @property
    def asked_places(self) -> tuple[Any, ...]:
        """Return the records of all destinations that are asked whether more may come: no bays."""
        return tuple(
            place for word, some in self.places.items() if word in COLLECTABLE for place in some
        )

    def on_its_way(self, vehicle_id: UUID) -> tuple[Load, ...]:
        """Return what a vehicle set off with and has not tipped: by now, not on a day ahead."""
        return tuple(
            load
            for load in self.under_way
            if load.vehicle_id == vehicle_id
            and load.working_day <= self.span.day
            and self.span.start <= self.now
        )

    def share_left(self, job: Job) -> float:
        """Return the share of a job's clippings that is not tipped or on its way, 0 to 1."""
        left = 1.0 - self.gone.get(job.id, 0.0)
        return left if left > NOTHING_LEFT else 0.0

    def aboard(self, vehicle_id: UUID) -> tuple[Job, ...]:
        """Return the jobs whose clippings lie in a vehicle's body, all or a part."""
        return tuple(
            job
            for job in self.jobs_of(vehicle_id)
            if job.state is JobState.MOWN
            and job.clippings is ClippingsHandling.COLLECTED
            and job.estimate is not None
            and self.share_left(job) > 0.0
        )

    def share_of(self, job_id: UUID) -> float:
        """Return the share of a job's clippings that is still to be tipped, 0 to 1."""
        return max(0.0, 1.0 - self.gone.get(job_id, 0.0))

    def is_today(self, job: Job) -> bool:
        """Return whether a job is of the day; others were cut before and are still aboard."""
        return job.at >= self.span.start

    def is_of_the_night(self, at: datetime) -> bool:
        """Return whether a moment before the day is of a shift that goes on in its first hours."""
        goes_on = self.span.start <= self.now < self.span.at_clock(self.depot.shift_starts)
        return goes_on and timedelta() <= self.now - at <= NIGHT_SHIFT

    def to_be_routed(self) -> tuple[Job, ...]:
        """Return the jobs with clippings that are, or will be, on a vehicle, by time and id."""
        return tuple(
            job
            for job in self.jobs
            if job.clippings is ClippingsHandling.COLLECTED
            and (job.state is JobState.PLANNED or self.share_left(job) > 0.0)
        )


def lasts_the_day(outage: VehicleOutage, depot: Depot, span: DaySpan, now: datetime) -> bool:
    """Return whether a vehicle that went out is not back before the shift of a day is over.

    Who is back after it is sent nowhere any more; once it is back, it is there.
    """
    if outage.back_at is None or outage.back_at >= span.end:
        return True
    return outage.back_at >= span.at_clock(depot.shift_ends) and outage.back_at > now


def is_over_for(outage: VehicleOutage, depot: Depot, span: DaySpan, now: datetime) -> bool:
    """Return whether a vehicle that is out for the rest of a day can do nothing more of it."""
    return outage.out_since <= max(now, span.at_clock(depot.shift_starts))


def in_order_of_day(jobs: Iterable[Job]) -> tuple[Job, ...]:
    """Return jobs as the crews drive them: by time; at the same time in an order of no meaning."""
    return tuple(
        sorted(
            jobs, key=lambda job: (job.at, str(job.property_id), job.area_mowed.si_value, job.id)
        )
    )

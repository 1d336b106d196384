"""Everything a day's plan is built on, read at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any
from uuid import UUID

from service.core.crews import Crew, Vehicle, VehicleOutage
from service.core.errors import RecordMissing
from service.core.jobs import Job, JobState
from service.core.loads import (
    FIXED_LOAD_STATES,
    HoldEntry,
    HoldState,
    Load,
    LoadState,
)
from service.core.materials import ClippingsHandling
from service.core.places import Bed, CompostSite, Depot, DestinationKind, Point, Property
from service.core.plans import DayPlan, WorkingDay
from service.destinations.bed_ledger import BedLedger
from service.usecases.base.calendar import DaySpan, day_of, span_of
from service.usecases.base.destination_kinds import COLLECTABLE
from service.usecases.base.held_grass import HeldGrass, read_held
from service.usecases.base.lot_facts import LotFacts, read_lot_facts
from service.usecases.base.ports import UnitOfWork
from service.usecases.day.places import Places, homes_of, points_of, read_places
from service.usecases.day.recent_loads import (
    laid_layers,
    layers_ahead,
    recent_loads,
    shares_gone,
    shares_gone_of,
    shares_gone_of_held,
)

# Twelve shares rounded to nine digits may miss the whole by a hundred-millionth.
NOTHING_LEFT = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFacts:
    """A depot's day as the records have it.

    ``loads`` are the depot's own; ``elsewhere`` are those of the firm's other depots on the
    day, which use the same beds and sites; ``turned_away_before`` are the firm's loads of days
    before that were refused, all or a part. ``places`` are the records of each kind of destination
    that the depot may use, ``points`` where they are, by their ids. ``held`` is what still lies in
    the depot's hold bays; ``gone`` is by lot: a job's, or what of it was held.
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
    elsewhere: tuple[Load, ...] = ()
    outages: tuple[VehicleOutage, ...] = ()
    gone: Mapping[UUID, float] = field(default_factory=dict)
    turned_away_before: tuple[Load, ...] = ()

    @property
    def lying(self) -> tuple[HoldEntry, ...]:
        """Return the entries of what lies in the depot's bays, of what is left of each."""
        return tuple(grass.entry for grass in self.held)

    @property
    def known_jobs(self) -> dict[UUID, Job]:
        """Return the jobs of the day, and those whose clippings lie in a bay, by id."""
        return {job.id: job for grass in self.held for job in grass.jobs} | {
            job.id: job for job in self.jobs
        }

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
            (o for o in self.outages if o.vehicle_id == vehicle_id and o.back_at is None), None
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

    def share_left(self, job: Job) -> float:
        """Return the share of a job's clippings that is not tipped or on its way, 0 to 1."""
        left = 1.0 - self.gone.get(job.id, 0.0)
        return left if left > NOTHING_LEFT else 0.0

    def share_of(self, job_id: UUID) -> float:
        """Return the share of a job's clippings that is still to be tipped, 0 to 1."""
        return max(0.0, 1.0 - self.gone.get(job_id, 0.0))

    def is_today(self, job: Job) -> bool:
        """Return whether a job is of the day; others were cut before and are still aboard."""
        return job.at >= self.span.start

    def to_be_routed(self) -> tuple[Job, ...]:
        """Return the jobs with clippings that are, or will be, on a vehicle, by time and id."""
        return tuple(
            job
            for job in self.jobs
            if job.clippings is ClippingsHandling.COLLECTED
            and (job.state is JobState.PLANNED or self.share_left(job) > 0.0)
        )


def is_over_for(outage: VehicleOutage, depot: Depot, span: DaySpan, now: datetime) -> bool:
    """Return whether a vehicle that is out for the rest of a day can do nothing more of it."""
    return outage.out_since <= max(now, span.at_clock(depot.shift_starts))


def read_day(
    unit: UnitOfWork,
    *,
    firm_id: UUID,
    depot_id: UUID,
    day: date,
    now: datetime,
    supposed_out: Sequence[VehicleOutage] = (),
) -> DayFacts:
    """Return the facts of a depot's day, in a number of statements that does not grow with it.

    A load that was on its way in a vehicle that stands is planned again: it is still aboard.

    Parameters
    ----------
    supposed_out
        Vehicles that are out beside those on record, whatever else is on record of them.

    Raises
    ------
    RecordMissing
        If the firm has no such depot.
    """
    depot = unit.depots.get(firm_id, depot_id)
    if depot is None:
        raise RecordMissing(record="depot", id=depot_id)
    span = span_of(depot, day)
    # First of all: an event that comes while the rest is read must leave the plan overtaken.
    working_day = unit.working_days.of(firm_id, depot_id, day)
    supposed = {outage.vehicle_id for outage in supposed_out}
    on_record = unit.vehicle_outages.all(firm_id, day=day)
    outages = sorted(
        (*(outage for outage in on_record if outage.vehicle_id not in supposed), *supposed_out),
        key=lambda outage: (outage.out_since, outage.id),
    )
    standing = {
        outage.vehicle_id
        for outage in outages
        if outage.back_at is None and is_over_for(outage, depot, span, now)
    }
    recent = [
        replace(load, state=LoadState.PLANNED)
        if load.vehicle_id in standing
        and load.working_day == day
        and load.state is LoadState.UNDER_WAY
        else load
        for load in recent_loads(unit, firm_id, day)
    ]
    today = day_of(depot, now)
    since_before = unit.jobs.aboard(firm_id, depot_id, span.start)
    gone = shares_gone(recent, day=day, today=today) | shares_gone_of(
        unit, since_before, recent, day=day, today=today
    )
    jobs = _jobs_of(unit, span, since_before, gone, depot=depot)
    places = read_places(unit, depot)
    entries = _in_bays(unit, places, firm_id=firm_id)
    gone |= shares_gone_of_held(unit, firm_id, entries, recent, day=day, today=today)
    held = read_held(unit, firm_id, entries, gone)
    known = [*jobs, *(job for grass in held for job in grass.jobs)]
    beds: tuple[Bed, ...] = places[DestinationKind.BED]
    properties = unit.properties.get_many(
        firm_id, sorted(homes_of(places) | {job.property_id for job in known})
    )
    laid = laid_layers(unit, depot, [bed.id for bed in beds], recent, day=day)
    own = [load for load in recent if load.working_day == day and load.depot_id == depot_id]
    own_ids = {load.id for load in own}
    vehicles = {v.id: v for v in unit.vehicles.all(firm_id, depot_id=depot_id)}
    named = {job.vehicle_id for job in jobs} | {load.vehicle_id for load in own}
    vehicles |= unit.vehicles.get_many(firm_id, sorted(named))
    return DayFacts(
        depot=depot,
        span=span,
        now=now,
        working_day=working_day,
        previous=unit.day_plans.latest(firm_id, depot_id, day),
        jobs=jobs,
        lot_facts=read_lot_facts(unit, firm_id, known),
        vehicles=vehicles,
        crews={crew.id: crew for crew in unit.crews.all(firm_id)},
        properties=properties,
        places=places,
        points=points_of(places, depot=depot, properties=properties),
        ledgers={
            bed.id: BedLedger(
                layers=(
                    *laid.get(bed.id, ()),
                    *layers_ahead(recent, bed.id, day=day, today=today),
                )
            )
            for bed in beds
        },
        held=held,
        loads=tuple(own),
        elsewhere=tuple(
            load
            for load in recent
            if load.id not in own_ids
            and (load.working_day == day or (load.done_at is not None and _within(span, load)))
        ),
        outages=tuple(outage for outage in outages if outage.vehicle_id in vehicles),
        gone=gone,
        turned_away_before=tuple(
            load
            for load in recent
            if load.working_day < day
            and load.state in {LoadState.REFUSED, LoadState.PARTLY_REFUSED}
        ),
    )


def _in_bays(unit: UnitOfWork, places: Places, *, firm_id: UUID) -> list[HoldEntry]:
    bays = tuple(bay.id for bay in places[DestinationKind.HOLD_BAY])
    return unit.hold_entries.all(firm_id, hold_bay_id=bays, state=HoldState.IN_BAY)


def _within(span: DaySpan, load: Load) -> bool:
    return load.done_at is not None and span.start <= load.done_at < span.end


def _jobs_of(
    unit: UnitOfWork,
    span: DaySpan,
    since_before: Sequence[Job],
    gone: Mapping[UUID, float],
    *,
    depot: Depot,
) -> tuple[Job, ...]:
    """Return the day's jobs, and earlier ones whose clippings are still on a vehicle.

    They come in the order of the day, whatever order they were posted in.
    """
    return in_order_of_day(
        [
            *(job for job in since_before if 1.0 - gone.get(job.id, 0.0) > NOTHING_LEFT),
            *unit.jobs.of_day(depot.firm_id, depot.id, span.start, span.end),
        ]
    )


def in_order_of_day(jobs: Iterable[Job]) -> tuple[Job, ...]:
    """Return jobs as the crews drive them: by time; at the same time in an order of no meaning."""
    return tuple(
        sorted(
            jobs, key=lambda job: (job.at, str(job.property_id), job.area_mowed.si_value, job.id)
        )
    )

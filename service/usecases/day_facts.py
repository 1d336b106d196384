"""Everything a day's plan is built on, read at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from service.core.crews import Crew, Vehicle
from service.core.errors import RecordMissing
from service.core.jobs import Job, JobState
from service.core.loads import (
    FIXED_LOAD_STATES,
    DestinationKind,
    HoldEntry,
    HoldState,
    Load,
    LoadState,
)
from service.core.materials import ClippingsHandling
from service.core.places import Bed, CompostSite, Depot, HoldBay, Point, Property
from service.core.plans import DayPlan, WorkingDay
from service.destinations.bed_ledger import BedLedger, LaidLayer, a_year_before
from service.usecases.days import DaySpan, day_of, span_of
from service.usecases.lot_facts import LotFacts, read_lot_facts
from service.usecases.ports import UnitOfWork

WHOLE = 1.0 - 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFacts:
    """A depot's day as the records have it.

    ``loads`` are the depot's own; ``elsewhere`` are those of the firm's other depots on the
    day, which use the same beds and sites.
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
    beds: tuple[Bed, ...]
    bed_points: dict[UUID, Point]
    ledgers: dict[UUID, BedLedger]
    sites: tuple[CompostSite, ...]
    hold_bays: tuple[HoldBay, ...]
    lying: tuple[HoldEntry, ...]
    loads: tuple[Load, ...]
    elsewhere: tuple[Load, ...] = ()

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

    def share_left(self, job: Job) -> float:
        """Return the share of a mown job's clippings that is still on its vehicle, 0 to 1."""
        gone = sum(
            part.share * _gone_share(load)
            for load in self.fixed_loads
            for part in load.parts
            if part.job_id == job.id
        )
        return max(0.0, 1.0 - gone) if gone < WHOLE else 0.0

    def to_be_routed(self) -> tuple[Job, ...]:
        """Return the jobs with clippings that are, or will be, on a vehicle, by time and id."""
        return tuple(
            job
            for job in self.jobs
            if job.clippings is ClippingsHandling.COLLECTED
            and (job.state is JobState.PLANNED or self.share_left(job) > 0.0)
        )


def _gone_share(load: Load) -> float:
    """Return the share of a load that does not come back to the vehicle."""
    if load.state is LoadState.REFUSED:
        return 0.0
    if load.state is LoadState.PARTLY_REFUSED:
        return 1.0 - load.refused_share
    return 1.0


def read_day(
    unit: UnitOfWork, *, firm_id: UUID, depot_id: UUID, day: date, now: datetime
) -> DayFacts:
    """Return the facts of a depot's day, in a number of statements that does not grow with it.

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
    jobs = tuple(unit.jobs.of_day(firm_id, depot_id, span.start, span.end))
    beds = tuple(unit.beds.all(firm_id))
    properties = unit.properties.get_many(
        firm_id, sorted({*(bed.property_id for bed in beds), *(job.property_id for job in jobs)})
    )
    hold_bays = tuple(unit.hold_bays.all(firm_id, depot_id=depot_id))
    year_ago = span_of(depot, a_year_before(day)).start
    delivered = unit.loads.delivered_to(firm_id, [bed.id for bed in beds], year_ago)
    loads = [
        load
        for load in unit.loads.all(firm_id, working_day=day)
        if load.state is not LoadState.SUPERSEDED
    ]
    return DayFacts(
        depot=depot,
        span=span,
        now=now,
        working_day=working_day,
        previous=unit.day_plans.latest(firm_id, depot_id, day),
        jobs=jobs,
        lot_facts=read_lot_facts(unit, firm_id, jobs),
        vehicles={v.id: v for v in unit.vehicles.all(firm_id, depot_id=depot_id)}
        | unit.vehicles.get_many(firm_id, sorted({job.vehicle_id for job in jobs})),
        crews={crew.id: crew for crew in unit.crews.all(firm_id)},
        properties=properties,
        beds=beds,
        bed_points={bed.id: bed.point or properties[bed.property_id].point for bed in beds},
        ledgers={
            bed.id: BedLedger(layers=tuple(_layers(delivered.get(bed.id, ()), depot, before=day)))
            for bed in beds
        },
        sites=tuple(unit.compost_sites.all(firm_id)),
        hold_bays=hold_bays,
        lying=tuple(
            unit.hold_entries.all(
                firm_id,
                hold_bay_id=tuple(bay.id for bay in hold_bays),
                state=HoldState.IN_BAY,
            )
        ),
        loads=tuple(load for load in loads if load.depot_id == depot_id),
        elsewhere=tuple(load for load in loads if load.depot_id != depot_id),
    )


def _layers(loads: Iterable[Load], depot: Depot, *, before: date) -> Iterable[LaidLayer]:
    """Return the layers of the days before; the day's own loads are subtracted from its room."""
    for load in loads:
        if load.destination_kind is not DestinationKind.BED or load.done_at is None:
            continue
        laid_on = day_of(depot, load.done_at)
        if laid_on >= before:
            continue
        kept = 1.0 - load.refused_share
        scale = 1.0
        if load.weighed_net is not None and load.mass_kg.high > 0:
            scale = load.weighed_net.si_value / load.mass_kg.high
        yield LaidLayer(
            day=laid_on,
            mass_kg=load.mass_kg.high * kept * scale,
            nitrogen_kg=load.nitrogen_kg.high * kept * scale,
        )

"""What may be supposed of a day's work: a job more, a vehicle that is hired, longer hours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time
from itertools import chain
from uuid import UUID, uuid4

from service.core.crews import Vehicle
from service.core.jobs import MINUTES_ON_SITE, Job, JobState
from service.core.materials import TreatmentHistory, Wetness
from service.core.measures.quantities import Measure
from service.core.places import Lawn, Property
from service.core.records import NOBODY
from service.rules.lookup import Rulebook
from service.usecases.base.lots.lot_estimates import lot_code_of, work_out
from service.usecases.base.lots.lot_facts import read_lot_facts
from service.usecases.base.lots.weigh_tickets import Tickets
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.day.facts import DayFacts

HIRED = "hired"


@dataclass(frozen=True, slots=True, kw_only=True)
class AddedJob:
    """A lawn that is cut beside what is planned; by the vehicle's own crew, if by no other."""

    lawn_id: UUID
    vehicle_id: UUID
    crew_id: UUID | None = None
    planned_at: datetime
    height_removed_mm: float
    minutes_on_site: int = MINUTES_ON_SITE
    wetness: Wetness = Wetness.UNKNOWN
    treatment_history: TreatmentHistory = TreatmentHistory.UNKNOWN


@dataclass(frozen=True, slots=True, kw_only=True)
class HiredVehicle:
    """A vehicle more, and the planned jobs that it takes from others."""

    payload_kg: float
    body_volume_m3: float
    job_ids: tuple[UUID, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SupposedWork:
    """The jobs more, the vehicles more, and when the shift ends."""

    added_jobs: tuple[AddedJob, ...] = ()
    hired_vehicles: tuple[HiredVehicle, ...] = ()
    shift_ends: time | None = None

    @property
    def is_nothing(self) -> bool:
        """Whether the day's work is as it is."""
        return self == NO_OTHER_WORK


NO_OTHER_WORK = SupposedWork()


def lawns_of(unit: UnitOfWork, firm_id: UUID, work: SupposedWork) -> dict[UUID, Lawn]:
    """Return the lawns that supposed jobs name, by id; those that are there."""
    return unit.lawns.get_many(firm_id, sorted({added.lawn_id for added in work.added_jobs}))


def jobs_of(facts: DayFacts, work: SupposedWork, lawns: Mapping[UUID, Lawn]) -> list[Job]:
    """Return supposed jobs as they would be on record, before anything is worked out."""
    return [_job(facts, added, lawns[added.lawn_id]) for added in work.added_jobs]


def with_work(
    unit: UnitOfWork,
    facts: DayFacts,
    work: SupposedWork,
    added: Sequence[Job],
    tickets: Tickets,
    *,
    rulebook: Rulebook,
) -> DayFacts:
    """Return the facts of the day with the work that is supposed; there are no faults in it.

    Parameters
    ----------
    added
        What `jobs_of` gave.
    tickets
        Of the lawns of those jobs, too.
    """
    if work.is_nothing:
        return facts
    if work.shift_ends is not None:
        facts = replace(facts, depot=replace(facts.depot, shift_ends=work.shift_ends))
    facts = _with_vehicles(facts, work)
    return _with_jobs(unit, facts, added, tickets, rulebook=rulebook) if added else facts


def _with_vehicles(facts: DayFacts, work: SupposedWork) -> DayFacts:
    """Return the facts with hired vehicles, each with the jobs that it takes."""
    vehicles = dict(facts.vehicles)
    taken_by: dict[UUID, UUID] = {}
    for number, hired in enumerate(work.hired_vehicles, start=1):
        vehicle = Vehicle(
            id=uuid4(),
            firm_id=facts.depot.firm_id,
            version=1,
            created_at=facts.now,
            updated_at=facts.now,
            depot_id=facts.depot.id,
            registration=f"{HIRED} {number}",
            payload_kg=hired.payload_kg,
            body_volume_m3=hired.body_volume_m3,
        )
        vehicles[vehicle.id] = vehicle
        taken_by |= dict.fromkeys(hired.job_ids, vehicle.id)
    jobs = tuple(
        replace(job, vehicle_id=taken_by.get(job.id, job.vehicle_id)) for job in facts.jobs
    )
    return replace(facts, vehicles=vehicles, jobs=jobs)


def _with_jobs(
    unit: UnitOfWork, facts: DayFacts, added: Sequence[Job], tickets: Tickets, *, rulebook: Rulebook
) -> DayFacts:
    """Return the facts with jobs more, worked out as those on record are."""
    firm_id = facts.depot.firm_id
    lot_facts = read_lot_facts(unit, firm_id, [*facts.known_jobs.values(), *added])
    homes: dict[UUID, Property] = unit.properties.get_many(
        firm_id, sorted({job.property_id for job in added})
    )
    worked_out = [work_out(job, lot_facts, tickets.of(job), rulebook=rulebook) for job in added]
    return replace(
        facts,
        jobs=tuple(sorted([*facts.jobs, *worked_out], key=lambda job: (job.at, str(job.id)))),
        lot_facts=lot_facts,
        properties=facts.properties | homes,
    )


def crew_of(facts: DayFacts, vehicle_id: UUID, crew_id: UUID | None) -> UUID | None:
    """Return the crew that is named, has the vehicle on the day, or has it usually."""
    on_day = (job.crew_id for job in facts.jobs_of(vehicle_id))
    usual = (crew.id for crew in facts.crews.values() if crew.vehicle_id == vehicle_id)
    return crew_id or next(chain(on_day, usual), None)


def _job(facts: DayFacts, added: AddedJob, lawn: Lawn) -> Job:
    job_id = uuid4()
    return Job(
        id=job_id,
        firm_id=facts.depot.firm_id,
        version=1,
        created_at=facts.now,
        updated_at=facts.now,
        property_id=lawn.property_id,
        lawn_id=lawn.id,
        crew_id=crew_of(facts, added.vehicle_id, added.crew_id) or NOBODY,
        vehicle_id=added.vehicle_id,
        depot_id=facts.depot.id,
        state=JobState.PLANNED,
        planned_at=added.planned_at,
        minutes_on_site=added.minutes_on_site,
        area_mowed=lawn.area,
        height_removed=Measure(value=added.height_removed_mm, unit="mm"),
        wetness=added.wetness,
        treatment_history=added.treatment_history,
        lot_code=lot_code_of(job_id),
    )

"""Read, in a fixed number of statements, all that the status of many lots depends on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from service.core.jobs import Job
from service.core.places import Depot, Lawn, Property
from service.core.treatments import Treatment
from service.destinations.lots import find_lot
from service.destinations.verdicts import Lot
from service.rules.here import RulesHere
from service.rules.lookup import Rulebook
from service.usecases.base.batch_cache import Remembered
from service.usecases.base.calendar import day_of
from service.usecases.base.ports.unit_of_work import UnitOfWork


@dataclass(frozen=True, slots=True, kw_only=True)
class LotFacts:
    """The lawns, properties, depots, treatments and mowings behind some jobs."""

    lawns: dict[UUID, Lawn]
    properties: dict[UUID, Property]
    depots: dict[UUID, Depot]
    lawns_of_property: dict[UUID, tuple[UUID, ...]]
    treatments: dict[UUID, tuple[Treatment, ...]]
    mowings: dict[UUID, list[datetime]]

    def lawn_ids_of(self, job: Job) -> tuple[UUID, ...]:
        """Return the lawns a job may have cut: the one named, or all of the property."""
        if job.lawn_id is not None:
            return (job.lawn_id,)
        return self.lawns_of_property.get(job.property_id, ())

    def treatments_for(self, job: Job) -> tuple[Treatment, ...]:
        """Return every treatment on record for those lawns."""
        return tuple(
            treatment
            for lawn_id in self.lawn_ids_of(job)
            for treatment in self.treatments.get(lawn_id, ())
        )

    def mowings_for(self, job: Job) -> dict[UUID, list[datetime]]:
        """Return by lawn the mowings on days before this job's, one a day, in the depot's zone.

        A lawn that was cut in several rounds of one day was mown once.
        """
        zone = ZoneInfo(self.depots[job.depot_id].time_zone)
        today = job.at.astimezone(zone).date()
        found: dict[UUID, list[datetime]] = {}
        for lawn_id in self.lawn_ids_of(job):
            by_day: dict[date, datetime] = {}
            for at in self.mowings.get(lawn_id, ()):
                local = at.astimezone(zone)
                if local.date() < today:
                    by_day[local.date()] = local
            found[lawn_id] = [by_day[day] for day in sorted(by_day)]
        return found

    def lot_of(self, job: Job, *, rulebook: Rulebook, at: datetime | None = None) -> Lot:
        """Return a job's lot by these facts and the rules of its cut's day, as of a moment."""
        depot = self.depots[job.depot_id]
        return find_lot(
            job,
            treatments=self.treatments_for(job),
            mowings=self.mowings_for(job),
            here=RulesHere(rulebook, day_of(depot, job.at), depot.jurisdiction),
            at=at,
        )


def read_lot_facts(
    unit: UnitOfWork, firm_id: UUID, jobs: Sequence[Job], *, known: Remembered | None = None
) -> LotFacts:
    """Return the facts behind the jobs.

    Parameters
    ----------
    known
        What was read of them before in the same unit, and is not read again.
    """
    known = known or Remembered(unit, firm_id)
    properties = known.many("properties", [job.property_id for job in jobs])
    lawns: dict[UUID, Lawn] = known.many("lawns", [job.lawn_id for job in jobs if job.lawn_id])
    of_property: dict[UUID, tuple[UUID, ...]] = {}
    # Which lawn was cut is open only where none is named.
    open_ids = {job.property_id for job in jobs if job.lawn_id is None}
    for lawn in unit.lawns.all(firm_id, property_id=tuple(sorted(open_ids))) if open_ids else ():
        lawns[lawn.id] = lawn
        of_property[lawn.property_id] = (*of_property.get(lawn.property_id, ()), lawn.id)
    lawn_ids = sorted(lawns)
    treatments: dict[UUID, tuple[Treatment, ...]] = {}
    for treatment in unit.treatments.all(firm_id, lawn_id=tuple(lawn_ids)):
        treatments[treatment.lawn_id] = (*treatments.get(treatment.lawn_id, ()), treatment)
    first = min(
        (treatment.applied_on for found in treatments.values() for treatment in found),
        default=None,
    )
    return LotFacts(
        lawns=lawns,
        properties=properties,
        depots=known.many("depots", [job.depot_id for job in jobs]),
        lawns_of_property=of_property,
        treatments=treatments,
        mowings={} if first is None else _mowings(unit, firm_id, sorted(treatments), first),
    )


def _mowings(
    unit: UnitOfWork, firm_id: UUID, lawn_ids: Sequence[UUID], since: date
) -> dict[UUID, list[datetime]]:
    return unit.jobs.mowings_since(firm_id, lawn_ids, since)

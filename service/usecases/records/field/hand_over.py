"""Hand what a crew has planned on a day over to another crew: all of it, or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.core.callers.access import Caller
from service.core.crews import Crew, Vehicle
from service.core.errors import FieldFault, RecordNotUsable
from service.core.jobs import Job, JobState
from service.core.records import NOBODY
from service.usecases.base.calendar import find_depot, span_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.base.use_cases import Looking
from service.usecases.records.record_jobs import RecordJobs


@dataclass(frozen=True, kw_only=True, eq=False)
class HandOver(Looking):
    """Give all planned jobs of a crew's day to another crew, and to the vehicle it comes in."""

    jobs: RecordJobs

    def __call__(
        self,
        caller: Caller,
        *,
        day: date,
        from_crew_id: UUID,
        to_crew_id: UUID,
        to_vehicle_id: UUID | None,
        reason: str | None,
    ) -> list[Job]:
        """Return the jobs that were handed over; what is mown stays with who mowed it.

        Parameters
        ----------
        to_vehicle_id
            The vehicle that the other crew comes in; its usual one if left out.

        Raises
        ------
        RecordNotUsable
        """
        with self.open_reading() as unit:
            giver: Crew | None = unit.crews.get(caller.firm_id, from_crew_id)
            taker: Crew | None = unit.crews.get(caller.firm_id, to_crew_id)
            vehicle_id = to_vehicle_id or (taker and taker.vehicle_id)
            vehicle: Vehicle | None = unit.vehicles.get(caller.firm_id, vehicle_id or NOBODY)
            faults = [*_faults(giver, taker, vehicle, is_said=to_vehicle_id is not None)]
            if faults or giver is None or vehicle is None:
                raise RecordNotUsable(faults)
            planned = _planned(unit, giver, day)
        if not planned:
            return []
        changes = {"crew_id": to_crew_id, "vehicle_id": vehicle.id}
        return self.jobs.amend_many(
            caller, {job.id: changes for job in planned}, reason=reason or "Handed over."
        )


def _planned(unit: UnitOfWork, crew: Crew, day: date) -> list[Job]:
    span = span_of(find_depot(unit, crew.firm_id, crew.depot_id), day)
    of_day = unit.jobs.of_day(crew.firm_id, crew.depot_id, span.start, span.end)
    return [job for job in of_day if job.crew_id == crew.id and job.state is JobState.PLANNED]


def _faults(
    giver: Crew | None, taker: Crew | None, vehicle: Vehicle | None, *, is_said: bool
) -> Iterator[FieldFault]:
    """Yield what is wrong with who hands over to whom, and in which vehicle."""
    for crew, name in ((giver, "from_crew_id"), (taker, "to_crew_id")):
        if crew is None:
            detail = "There is no crew with this id."
            yield FieldFault(pointer=f"/{name}", detail=detail, code="reference_missing")
    if giver is not None and taker is not None:
        if giver.id == taker.id:
            yield FieldFault(pointer="/to_crew_id", detail="Another crew than the one before.")
        elif giver.depot_id != taker.depot_id:
            yield FieldFault(pointer="/to_crew_id", detail="A crew of the same depot.")
    if vehicle is None and is_said:
        detail = "There is no vehicle with this id."
        yield FieldFault(pointer="/to_vehicle_id", detail=detail, code="reference_missing")
    elif vehicle is None and taker is not None:
        detail = f"{taker.name} has no vehicle of its own: name the one that it comes in."
        yield FieldFault(pointer="/to_vehicle_id", detail=detail)
    elif vehicle is not None and giver is not None and vehicle.depot_id != giver.depot_id:
        yield FieldFault(pointer="/to_vehicle_id", detail="A vehicle of the same depot.")

"""Keep vehicles: none leaves its yard with grass in it, or with work that is planned there."""

from __future__ import annotations

from collections.abc import Iterator

from service.core.callers.access import Caller
from service.core.crews import Vehicle
from service.core.errors import Refusal
from service.core.jobs import JobState
from service.usecases.base.calendar import day_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.aboard import parts_aboard
from service.usecases.records.keep_records import KeepRecords


class VehicleHasWork(Refusal):
    """A vehicle is moved to another yard though its day is not over at this one."""

    code = "vehicle_has_work"
    sentence = (
        "{vehicle} has {what}: its day belongs to its yard until that is done, given to another "
        "vehicle or called off. Nothing was changed."
    )


class KeepVehicles(KeepRecords[Vehicle]):
    """Create, read, list, amend and delete vehicles."""

    def _before_amendment(
        self, unit: UnitOfWork, caller: Caller, old: Vehicle, new: Vehicle, reason: str | None
    ) -> None:
        del caller, reason
        if old.depot_id == new.depot_id:
            return
        found = [*self._aboard(unit, old), *self._planned(unit, old)]
        if found:
            raise VehicleHasWork(vehicle=old.registration, what=" and ".join(found))

    def _aboard(self, unit: UnitOfWork, vehicle: Vehicle) -> Iterator[str]:
        """Yield that there is grass in its body."""
        parts = parts_aboard(unit, vehicle.firm_id, vehicle.id, self.clock.now())
        jobs = unit.jobs.get_many(vehicle.firm_id, sorted({part.job_id for part in parts}))
        if jobs:
            codes = ", ".join(sorted(job.lot_code for job in jobs.values()))
            yield f"clippings aboard ({codes})"

    def _planned(self, unit: UnitOfWork, vehicle: Vehicle) -> Iterator[str]:
        """Yield that jobs of today or later are planned with it."""
        depot = unit.depots.get(vehicle.firm_id, vehicle.depot_id)
        found = unit.jobs.all(vehicle.firm_id, vehicle_id=vehicle.id, state=JobState.PLANNED)
        if depot is None:
            return
        today = day_of(depot, self.clock.now())
        codes = sorted(job.lot_code for job in found if day_of(depot, job.at) >= today)
        if codes:
            yield f"{len(codes)} planned job{'s' * (len(codes) > 1)} ({', '.join(codes)})"

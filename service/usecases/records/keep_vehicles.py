"""Keep vehicles and crews: none leaves a yard, or the firm, with work that is planned for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final

from service.core.callers.access import Caller
from service.core.crews import Crew, Vehicle
from service.core.errors import FieldFault, Refusal
from service.core.jobs import JobState
from service.core.measures.units import date_words
from service.usecases.base.calendar import day_of
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.mass_book.aboard import parts_aboard
from service.usecases.records.keep_records import KeepRecords

IS_DONE: Final = "until that is done, given to another or called off. Nothing was changed."


class VehicleHasWork(Refusal):
    """A vehicle leaves its yard, or the firm, though its work is not done."""

    code = "vehicle_has_work"
    sentence = "{vehicle} has {what}: it stays as it is on record " + IS_DONE


class CrewHasWork(Refusal):
    """A crew leaves the firm though jobs are planned for it."""

    code = "crew_has_work"
    sentence = "{crew} has {what}: it stays as it is on record " + IS_DONE


class KeepVehicles(KeepRecords[Vehicle]):
    """Create, read, list, amend and delete vehicles."""

    def _before_amendment(
        self, unit: UnitOfWork, caller: Caller, old: Vehicle, new: Vehicle, reason: str | None
    ) -> None:
        del caller, reason
        today = _today(self, unit, old)
        found: list[str] = []
        if old.depot_id != new.depot_id:
            found += [*self._aboard(unit, old), *_planned(unit, old, date.min, today=today)]
        elif new.used_until is not None and new.used_until != old.used_until:
            if new.used_until < today:
                found += self._aboard(unit, old)
            found += _planned(unit, old, new.used_until, today=today)
        if found:
            raise VehicleHasWork(vehicle=old.registration, what=" and ".join(found))

    def _further_faults(self, unit: UnitOfWork, record: Vehicle) -> Sequence[FieldFault]:
        del unit
        if record.parked_at is None or record.parked_at <= self.clock.now():
            return ()
        return [FieldFault(pointer="/parked_at", detail="It was left there by now, not ahead.")]

    def _aboard(self, unit: UnitOfWork, vehicle: Vehicle) -> Iterator[str]:
        """Yield that there is grass in its body."""
        parts = parts_aboard(unit, vehicle.firm_id, vehicle.id, self.clock.now())
        jobs = unit.jobs.get_many(vehicle.firm_id, sorted({part.job_id for part in parts}))
        if jobs:
            codes = ", ".join(sorted(job.lot_code for job in jobs.values()))
            yield f"clippings aboard ({codes})"


class KeepCrews(KeepRecords[Crew]):
    """Create, read, list, amend and delete crews."""

    def _before_amendment(
        self, unit: UnitOfWork, caller: Caller, old: Crew, new: Crew, reason: str | None
    ) -> None:
        del caller, reason
        if new.used_until is None or new.used_until == old.used_until:
            return
        found = [*_planned(unit, old, new.used_until, today=_today(self, unit, old))]
        if found:
            raise CrewHasWork(crew=old.name, what=" and ".join(found))


def _today(books: KeepVehicles | KeepCrews, unit: UnitOfWork, record: Vehicle | Crew) -> date:
    """Return the day that it is at the yard of a vehicle or a crew."""
    depot = unit.depots.get_many(record.firm_id, [record.depot_id])[record.depot_id]
    return day_of(depot, books.clock.now())


def _planned(
    unit: UnitOfWork, record: Vehicle | Crew, after: date, *, today: date
) -> Iterator[str]:
    """Yield that jobs are planned with it after a day; of days that are past nobody does any."""
    name = "vehicle_id" if isinstance(record, Vehicle) else "crew_id"
    found = unit.jobs.all(record.firm_id, **{name: record.id}, state=JobState.PLANNED)
    yards = unit.depots.get_many(record.firm_id, sorted({job.depot_id for job in found}))
    days = {job.lot_code: day_of(yards[job.depot_id], job.at) for job in found}
    ahead = sorted(code for code, day in days.items() if day >= today and day > after)
    if ahead:
        first = min(days[code] for code in ahead)
        yield (
            f"{len(ahead)} planned job{'s' * (len(ahead) > 1)} from {date_words(first)} on "
            f"({', '.join(ahead)})"
        )

"""Keep the vehicles that are out: which day a record is of, and none that says it twice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from service.core.callers.access import Caller
from service.core.crews import VehicleOutage, is_used_on, last_day_words
from service.core.errors import FieldFault
from service.core.places import Depot
from service.core.records import Identifiers
from service.usecases.base.calendar import day_of, depot_clock
from service.usecases.base.ports.unit_of_work import UnitOfWork
from service.usecases.records.job_names import NO_LONGER_USED
from service.usecases.records.keep_records import KeepRecords

ALREADY_OUT = "already_out"


class KeepOutages(KeepRecords[VehicleOutage]):
    """Create, read, list, amend and delete records of vehicles that are out."""

    def create(
        self, caller: Caller, values: Mapping[str, Any], *, identifiers: Identifiers | None = None
    ) -> VehicleOutage:
        """Keep a new record and return it; its day is found with the vehicle's depot.

        Raises
        ------
        RecordNotUsable
            As for other books, and if the vehicle is said to be out then already.
        """
        dated = {**values, "day": values["out_since"].date()}
        return super().create(caller, dated, identifiers=identifiers)

    def _completed(self, unit: UnitOfWork, record: VehicleOutage) -> VehicleOutage:
        """Return the record with its day: that of the vehicle's depot."""
        depot = _depot_of(unit, record)
        return record if depot is None else replace(record, day=day_of(depot, record.out_since))

    def _further_faults(self, unit: UnitOfWork, record: VehicleOutage) -> Sequence[FieldFault]:
        depot = _depot_of(unit, record)
        if depot is None:  # told as a reference that is missing
            return ()
        found = [*_after_its_end(unit, record)]
        others = unit.vehicle_outages.all(record.firm_id, vehicle_id=record.vehicle_id)
        for other in others:
            if other.id == record.id or not _overlap(record, other):
                continue
            since = depot_clock(depot, other.out_since, now=record.out_since)
            found.append(
                FieldFault(
                    pointer="/back_at",
                    detail=(
                        f"{other.id} says that it is out from {since} on: amend that one, or say "
                        "when it was back before."
                    ),
                    code=ALREADY_OUT,
                )
                if record.out_since < other.out_since
                else FieldFault(
                    pointer="/out_since",
                    detail=(
                        f"{other.id} says already that it has been out since {since}: amend that "
                        "one."
                    ),
                    code=ALREADY_OUT,
                )
            )
        return found


def _depot_of(unit: UnitOfWork, record: VehicleOutage) -> Depot | None:
    vehicle = unit.vehicles.get(record.firm_id, record.vehicle_id)
    return None if vehicle is None else unit.depots.get(record.firm_id, vehicle.depot_id)


def _after_its_end(unit: UnitOfWork, record: VehicleOutage) -> Iterator[FieldFault]:
    """Yield that a vehicle is not the firm's any more when it is said to go out."""
    vehicle = unit.vehicles.get(record.firm_id, record.vehicle_id)
    if vehicle is not None and not is_used_on(record.day, vehicle):
        detail = f"{last_day_words(vehicle)}."
        yield FieldFault(pointer="/out_since", detail=detail, code=NO_LONGER_USED)


def _overlap(one: VehicleOutage, two: VehicleOutage) -> bool:
    """Return whether two say the same: one without an end only of its own day."""
    first, second = sorted((one, two), key=lambda outage: outage.out_since)
    if first.back_at is None:
        return first.day == second.day
    return first.back_at > second.out_since

"""What the handlers of reports share: the use cases behind them, and what they refuse."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol
from uuid import UUID

from service.core.callers.access import Caller
from service.core.crews import Vehicle, VehicleOutage
from service.core.errors import FieldFault, RecordNotUsable, Refusal
from service.core.records import Identifiers
from service.core.reports import Done, Report, TipWarning
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork
from service.usecases.records.field.faults import VEHICLE_NEEDED
from service.usecases.records.field.unkept import UnkeptTips
from service.usecases.records.held.load_held import LoadHeld
from service.usecases.records.keep_records import KeepRecords
from service.usecases.records.loads.lay_together import KeepMixed
from service.usecases.records.loads.record_tip import RecordTip
from service.usecases.records.loads.update_load import UpdateLoad
from service.usecases.records.own_vehicle import is_own_vehicle
from service.usecases.records.record_jobs import RecordJobs


class TellTipped(Protocol):
    """Says at once what stands against what was just reported."""

    def __call__(self, caller: Caller, load_id: UUID) -> tuple[TipWarning, ...]:
        """Return what is to be said of a tip."""
        ...

    def loaded(self, caller: Caller, entry_id: UUID) -> tuple[TipWarning, ...]:
        """Return what is to be said of a heap that was loaded."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Behind:
    """The use cases that reports are kept by: there is no second truth."""

    open_reading: OpenUnitOfWork
    record_jobs: RecordJobs
    record_tip: RecordTip
    update_load: UpdateLoad
    load_held: LoadHeld
    keep_mixed: KeepMixed
    vehicle_outages: KeepRecords[VehicleOutage]
    unkept_tips: UnkeptTips
    tell_tipped: TellTipped


class Handler(Protocol):
    """Keeps one kind of report."""

    def __call__(
        self, behind: Behind, caller: Caller, report: Report, identifiers: Identifiers
    ) -> Done:
        """Keep it and say what became of it."""
        ...


class NothingAboard(Refusal):
    """Nothing can be tipped that nobody said was mown."""

    code = "nothing_aboard"
    sentence = (
        "By the records nothing was aboard then. Report the cut first, or name the lots in parts."
    )


class EndedOtherwise(Refusal):
    """Somebody else said something of the load before."""

    code = "ended_otherwise"
    sentence = (
        "This load is on record as {state}. If it was otherwise, report it again with a new id "
        "and say why in reason; what was said before stays in its history."
    )


class EndedSince(Refusal):
    """Somebody said something of the load that happened after what is reported."""

    code = "ended_since"
    sentence = (
        "This load is on record as {state}, at a later time than this report is of. If that is "
        "wrong, take back what was said there first, or ask the office to; then send this again."
    )


class AlreadyMown(Refusal):
    """The job is done by somebody's word."""

    code = "already_mown"
    sentence = (
        "{lot} is on record as {state} since another report. If this is another cut, report it "
        "by its lawn_id and without job_id."
    )


class NotThisKeys(Refusal):
    """A key of one crew or vehicle names a job that is not its own, nor given to it by the plan."""

    code = "not_this_keys"
    sentence = (
        "This key has no job with the id {id}. Report the cut by its lawn_id and without job_id: "
        "it completes what was planned there."
    )


class NoTipThere(Refusal):
    """There is no load that a weight could be of."""

    code = "no_tip_there"
    sentence = "No tip there is on record then. Report it as tipped, with its weight."


class WeighedOtherwise(Refusal):
    """A load has another ticket by somebody's word."""

    code = "weighed_otherwise"
    sentence = (
        "This load is on record with ticket {ticket} of {kg} kg, which stays. If this weight is of "
        "another load, report that one as tipped first, or name it in load_id. If this ticket is "
        "the right one, report it again with a new id and say why in reason; what was there before "
        "stays in its history."
    )


class TipNotKept(Refusal):
    """The tip that a weight is of was refused: it would land on an earlier one."""

    code = "tip_not_kept"
    sentence = (
        "The tip there that was sent before this weight was refused, so the weight has no load. "
        "Mend that report first, then send this one again; if it is of an earlier load, name that "
        "in load_id."
    )


def vehicle_of(behind: Behind, caller: Caller, report: Report) -> UUID:
    """Return the vehicle that a report is about: named, or its crew's. Raises RecordNotUsable."""
    if report.vehicle_id is not None:
        return report.vehicle_id
    if report.crew_id is not None:
        with behind.open_reading() as unit:
            crew = unit.crews.get(caller.firm_id, report.crew_id)
        if crew is not None and crew.vehicle_id is not None:
            return crew.vehicle_id
    raise needed("vehicle_id", VEHICLE_NEEDED)


def refuse_others_vehicle(behind: Behind, caller: Caller, report: Report, vehicle_id: UUID) -> None:
    """Refuse a key of another crew, or of another vehicle, a report of a vehicle.

    Records of vehicles that are out name no crew, so the key is held to its own here.

    Raises
    ------
    RecordNotUsable
    """
    with behind.open_reading() as unit:
        vehicle: Vehicle | None = unit.vehicles.get(caller.firm_id, vehicle_id)
        if vehicle is not None and not is_own_vehicle(unit, caller, vehicle, report.at):
            detail = (
                "This vehicle is another crew's. A key reports of its own vehicle, or its crew's: "
                "have the other crew or the office report of this one."
            )
            raise RecordNotUsable(
                [FieldFault(pointer="/vehicle_id", detail=detail, code="not_own")]
            )


def needed(field: str, detail: str) -> RecordNotUsable:
    """Return the refusal of a report that leaves out what it cannot be kept without."""
    return RecordNotUsable([FieldFault(pointer=f"/{field}", detail=detail, code="required")])

"""What is wrong with a report before any record is changed: all of it, and nothing is half-kept."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, fields
from datetime import datetime
from types import SimpleNamespace
from typing import Any, Final
from uuid import UUID

from service.core.callers.access import Caller
from service.core.errors import FieldFault
from service.core.reports import Report, ReportKind
from service.usecases.base.batch_cache import missing_references
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import OpenUnitOfWork

CUTS: Final = frozenset({ReportKind.MOWN, ReportKind.LEFT})
TIPS: Final = frozenset({ReportKind.TIPPED, ReportKind.REFUSED, ReportKind.PART_TAKEN})
VEHICLE_NEEDED: Final = "Name the vehicle, or a crew that has its own."
REASONS: Final[Mapping[ReportKind, str]] = {
    ReportKind.REFUSED: "A refusal is kept with its reason.",
    ReportKind.PART_TAKEN: "A refusal is kept with its reason.",
    ReportKind.VEHICLE_OUT: "Say why it is out.",
}
# What a kind of report is kept by, whatever is on record.
NEEDED: Final[Mapping[ReportKind, tuple[str, str]]] = {
    ReportKind.PART_TAKEN: (
        "refused_share",
        "Give the share that was not taken, above 0, below 1, or the weight of what was.",
    ),
    ReportKind.WEIGHED: ("weighed_net", "A weight has its kilograms."),
    ReportKind.LOADED: ("hold_entry_id", "Name what lies in the bay, by its hold entry."),
    ReportKind.GIVEN: ("to_vehicle_id", "Name the vehicle that has it now."),
    ReportKind.UNDO: ("undoes", "Name the report that was a mistake."),
}
REFERENCES: Final = {
    "vehicle_id": "vehicles",
    "crew_id": "crews",
    "lawn_id": "lawns",
    "load_id": "loads",
    "hold_entry_id": "hold_entries",
    "to_vehicle_id": "vehicles",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class UnreadableReport:
    """A report that cannot be kept as it was sent: what is wrong with it, and what can be read."""

    id: UUID | None
    faults: tuple[FieldFault, ...]
    usable: Mapping[str, Any]


def report_faults(
    open_reading: OpenUnitOfWork, caller: Caller, told: Report | UnreadableReport, latest: datetime
) -> list[FieldFault]:
    """Return all that is wrong with a report that cannot be kept; nothing of one that may be.

    Parameters
    ----------
    latest
        The latest time, by the device's clock, at which anything can have happened.
    """
    known: list[FieldFault] = []
    readable: Any = told
    unreadable: set[str] = set()
    if isinstance(told, UnreadableReport):
        known = list(told.faults)
        unreadable = {fault.pointer.split("/")[1] for fault in known if "/" in fault.pointer}
        members: dict[str, Any] = {field.name: field.default for field in fields(Report)}
        readable = SimpleNamespace(**members | {"kind": None, "at": None} | dict(told.usable))
    for name, detail in _left_out(readable, unreadable):
        known.append(FieldFault(pointer=f"/{name}", detail=detail, code="required"))
    if "at" not in unreadable and readable.at is not None and readable.at > latest:
        known.append(FieldFault(pointer="/at", detail="It happened before it was sent."))
    if known:
        references = dict(REFERENCES)
        if readable.destination_kind in KINDS and "destination_kind" not in unreadable:
            references["destination_id"] = KINDS[readable.destination_kind].repository
        named = {one: getattr(readable, one) for one in references if one not in unreadable}
        partial: Any = SimpleNamespace(firm_id=caller.firm_id, **named)
        with open_reading() as unit:
            known += missing_references(unit, partial, {one: references[one] for one in named})
    return known


def _left_out(report: Any, unreadable: Collection[str]) -> Iterator[tuple[str, str]]:  # noqa: ANN401 - a report, or what can be read of one
    """Yield the fields that a report cannot be kept without, each with what to write."""

    def said(name: str) -> bool:
        return name in unreadable or bool(getattr(report, name))

    kind: Any = None if "kind" in unreadable else report.kind
    name, detail = NEEDED.get(kind, ("", ""))
    is_by_weight = kind is ReportKind.PART_TAKEN and said("weighed_net")
    if name and not said(name) and not is_by_weight:
        yield name, detail
    if kind in REASONS and not said("reason"):
        yield "reason", REASONS[kind]
    by_place = said("destination_id") and not said("parts")
    if kind in CUTS and not (said("lawn_id") or said("job_id")):
        yield "lawn_id", "Name the lawn, or the job that was planned."
    if kind in TIPS and not (said("load_id") or said("destination_id")):
        yield "destination_id", "Name the place and its kind, or the load."
    if kind is ReportKind.WEIGHED and not (said("load_id") or said("destination_id")):
        yield "destination_id", "Name the place where it was tipped and its kind, or the load."
    if kind is ReportKind.SET_OFF and not (said("load_id") or by_place):
        yield "load_id", "Name the load that is on its way."
    needs_vehicle = (
        kind in {ReportKind.VEHICLE_OUT, ReportKind.VEHICLE_BACK, ReportKind.LOADED}
        or (kind in CUTS and said("lawn_id") and not said("job_id"))
        or (kind in TIPS and not said("load_id"))
        or (kind in {ReportKind.WEIGHED, ReportKind.SET_OFF} and by_place and not said("load_id"))
        or (kind is ReportKind.GIVEN and not said("parts"))
    )
    if needs_vehicle and not (said("vehicle_id") or said("crew_id")):
        yield "vehicle_id", VEHICLE_NEEDED

"""What a device reports from the field: one thing that happened, when by its own clock."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from service.core.loads import lot_id_of
from service.core.materials import ClippingsHandling, TreatmentHistory, Wetness
from service.core.measures.quantities import Measure
from service.core.places import DestinationKind, Point


class ReportKind(StrEnum):
    """What can happen to a crew on its round."""

    MOWN = "mown"
    LEFT = "left"
    SET_OFF = "set_off"
    TIPPED = "tipped"
    WEIGHED = "weighed"
    REFUSED = "refused"
    PART_TAKEN = "part_taken"
    LOADED = "loaded"
    GIVEN = "given"
    VEHICLE_OUT = "vehicle_out"
    VEHICLE_BACK = "vehicle_back"
    UNDO = "undo"


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportedPart:
    """How much of a lot, by the id of its job or of the report of its cut; all that was aboard.

    ``hold_entry_id`` is of what came out of a bay; None of what came from the lawn.
    """

    job_id: UUID
    hold_entry_id: UUID | None = None
    share: float | None = None
    mass: Measure | None = None

    @property
    def lot_id(self) -> UUID:
        """Return the id of the clippings it is of, as they are in the body."""
        return lot_id_of(self.job_id, self.hold_entry_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """One thing that happened. Its id is made by the device, and is the same in every try.

    Attributes
    ----------
    at
        When it happened, by the device's clock.
    load_id
        The load as the device knew it; a plan since may have put another in its place.
    parts
        The lots it is about; none means all that was in the body.
    hold_entry_id, mass
        The heap that was loaded of, and how much of it, likely; None: what the plan says.
    undoes
        The report that was a mistake.
    """

    id: UUID
    kind: ReportKind
    at: datetime
    vehicle_id: UUID | None = None
    crew_id: UUID | None = None
    lawn_id: UUID | None = None
    job_id: UUID | None = None
    load_id: UUID | None = None
    destination_kind: DestinationKind | None = None
    destination_id: UUID | None = None
    hold_entry_id: UUID | None = None
    mass: Measure | None = None
    parts: tuple[ReportedPart, ...] = ()
    weighed_net: Measure | None = None
    weigh_ticket: str | None = None
    refused_share: float | None = None
    reason: str | None = None
    to_vehicle_id: UUID | None = None
    undoes: UUID | None = None
    point: Point | None = None
    area_mowed: Measure | None = None
    height_before: Measure | None = None
    height_after: Measure | None = None
    height_removed: Measure | None = None
    wetness: Wetness | None = None
    clippings: ClippingsHandling | None = None
    treatment_history: TreatmentHistory | None = None
    weeds_in_seed: bool | None = None
    disease_seen: bool | None = None
    litter_seen: bool | None = None
    leaves_mixed: bool | None = None
    measured_mass: Measure | None = None
    minutes_on_site: int | None = None
    remarks: str | None = None


TipWarning = Mapping[str, object]
"""What is told at once of a tip, JSON-ready."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What became of a report: a sentence, the records it wrote, and how to take it back.

    ``before`` is by record what its vehicle was, where that is what was changed;
    ``hold_entry_ids`` are those of which something came into a body; ``again`` that it was all on
    record already. ``warnings`` are what stands against a tip, or had no room for it: each a
    ``code`` with its ``rule_class``, ``sentence`` and ``facts``.
    """

    sentence: str
    job_id: UUID | None = None
    load_id: UUID | None = None
    vehicle_outage_id: UUID | None = None
    before: dict[str, str] | None = None
    hold_entry_ids: tuple[str, ...] = ()
    again: bool = False
    warnings: tuple[TipWarning, ...] = ()

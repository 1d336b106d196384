"""A mowing job: what was cut, or is to be cut, where, by whom and how."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Final
from uuid import UUID

from service.core.errors import FieldFault
from service.core.materials import (
    ClippingsHandling,
    GrassKind,
    LotStatus,
    TreatmentHistory,
    Wetness,
)
from service.core.measures.estimates import Estimate, Factor
from service.core.measures.quantities import Measure
from service.core.records import Check, Record

# Higher grass is not mown but harvested; beyond it somebody mistook a unit.
HEIGHT_REMOVED_MM_MAX = 1000.0
# Of a job whose time nobody said. Common practice, no source.
MINUTES_ON_SITE: Final = 30
# Leaves float, and rain on them takes no more room than it is: what is cut out of a space never
# weighs more than water that fills it. Conservation of mass, 1,000 kg/m3 at 4 C; no source needed.
WATER_KG_PER_M3: Final = 1000.0
# What was measured is rounded by whoever read the scale.
ROUNDED: Final = 1.0001


class JobState(StrEnum):
    """Planned jobs are ahead, mown ones are done, cancelled ones count for nothing.

    Nor does what may be a duplicate, until somebody decides.
    """

    PLANNED = "planned"
    MOWN = "mown"
    CANCELLED = "cancelled"
    POSSIBLE_DUPLICATE = "possible_duplicate"


# What is in no plan, no sum and no account.
UNCOUNTED_STATES = frozenset({JobState.CANCELLED, JobState.POSSIBLE_DUPLICATE})


@dataclass(frozen=True, slots=True, kw_only=True)
class LotEstimate:
    """What the clippings of one job are thought to be, and by which rules.

    ``tickets`` counts the firm's reviewed weigh tickets behind it; with any,
    ``mass_before_tickets_kg`` keeps what was thought without them.
    """

    dry_matter_kg: Estimate
    mass_kg: Estimate
    volume_m3: Estimate
    nitrogen_kg: Estimate
    carbon_to_nitrogen: Estimate
    one_third_rule_broken: bool | None
    factors: tuple[Factor, ...]
    rulebook_version: str
    tickets: int = 0
    mass_before_tickets_kg: Estimate | None = None

    @property
    def mass_unlearned_kg(self) -> Estimate:
        """Return the mass as it was estimated before any weigh ticket spoke."""
        return self.mass_before_tickets_kg or self.mass_kg


@dataclass(frozen=True, slots=True, kw_only=True)
class LotFinding:
    """One thing found about a lot: its status, a code and the numbers behind it."""

    status: LotStatus
    code: str
    facts: dict[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class LotSize:
    """All that is recorded of how much was cut."""

    area_m2: float
    height_removed_mm: float | None
    measured_mass_kg: float | None
    measured_volume_m3: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeWord:
    """Somebody's word that a cut is as large as recorded: of that record, not of another one."""

    at: datetime
    said_by: str
    size: LotSize


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(Record):
    """A mowing job record.

    A planned job has ``planned_at``; a mown one has ``cut_at``. The estimate and the
    status are worked out when the record is kept and again when it is amended; a
    measured mass or volume stands beside the estimate and never overwrites it.

    Attributes
    ----------
    reported_as_id
        The id of the report that completed it; whoever has only that one finds it by it.
    duplicate_of_id
        The job that this one was too much like to be counted before somebody decides.
    size_word
        The last word that it is as large as recorded; `size_confirmed` while it still is so.
    aboard_after
        When somebody said that it stayed aboard, whatever its vehicle had tipped by then.
    """

    property_id: UUID
    lawn_id: UUID | None = None
    crew_id: UUID
    vehicle_id: UUID
    depot_id: UUID
    state: JobState
    planned_at: datetime | None = None
    cut_at: datetime | None = None
    minutes_on_site: int = MINUTES_ON_SITE
    area_mowed: Measure
    height_before: Measure | None = None
    height_after: Measure | None = None
    height_removed: Measure | None = None
    grass_kind: GrassKind = GrassKind.UNKNOWN
    wetness: Wetness = Wetness.UNKNOWN
    weeds_in_seed: bool = False
    disease_seen: bool = False
    litter_seen: bool = False
    leaves_mixed: bool = False
    clippings: ClippingsHandling = ClippingsHandling.COLLECTED
    treatment_history: TreatmentHistory = TreatmentHistory.UNKNOWN
    measured_mass: Measure | None = None
    measured_volume: Measure | None = None
    remarks: str | None = None
    lot_code: str = ""
    estimate: LotEstimate | None = None
    status: LotStatus = LotStatus.UNKNOWN
    findings: tuple[LotFinding, ...] = ()
    reported_as_id: UUID | None = None
    duplicate_of_id: UUID | None = None
    size_word: SizeWord | None = None
    aboard_after: datetime | None = None

    @property
    def at(self) -> datetime:
        """Return when the grass was cut, or is planned to be cut."""
        at = self.cut_at or self.planned_at
        if at is None:
            msg = f"job {self.id} has neither a cut time nor a planned time"
            raise ValueError(msg)
        return at

    @property
    def height_removed_mm(self) -> float | None:
        """Return the height removed [mm], from what was entered; None if it can't be told."""
        if self.height_removed is not None:
            return self.height_removed.si_value * 1000.0
        if self.height_before is not None and self.height_after is not None:
            return (self.height_before.si_value - self.height_after.si_value) * 1000.0
        return None

    @property
    def size(self) -> LotSize:
        """Return how much was cut, by its record."""
        return LotSize(
            area_m2=self.area_mowed.si_value,
            height_removed_mm=self.height_removed_mm,
            measured_mass_kg=None if self.measured_mass is None else self.measured_mass.si_value,
            measured_volume_m3=(
                None if self.measured_volume is None else self.measured_volume.si_value
            ),
        )

    @property
    def size_confirmed(self) -> SizeWord | None:
        """Return the word that it is as large as recorded; None once the record says otherwise."""
        word = self.size_word
        return word if word is not None and word.size == self.size else None

    def checks(self) -> Sequence[Check]:
        """Return what a job looks for in itself: times and heights that contradict themselves."""
        return (
            (self._state_faults, ("state",)),
            (self._time_faults, ("state", "planned_at", "cut_at")),
            (self._height_faults, ("height_before", "height_after", "height_removed")),
            (
                self._mass_faults,
                (
                    "area_mowed",
                    "height_before",
                    "height_after",
                    "height_removed",
                    "measured_mass",
                ),
            ),
            (self._density_faults, ("measured_mass", "measured_volume")),
        )

    def _mass_faults(self) -> list[FieldFault]:
        removed_mm, area_m2 = self.height_removed_mm or 0.0, self.area_mowed.si_value
        most_kg = area_m2 * removed_mm / 1000.0 * WATER_KG_PER_M3
        if self.measured_mass is None or removed_mm <= 0:
            return []
        if self.measured_mass.si_value <= most_kg * ROUNDED:
            return []
        detail = (
            f"At most {most_kg:,.0f} kg: {removed_mm:g} mm off {area_m2:,.0f} m2 "
            "weigh no more than water in that space. Correct it, the area or the height."
        )
        return [FieldFault(pointer="/measured_mass", detail=detail)]

    def _density_faults(self) -> list[FieldFault]:
        # Of these two alone: the rest may be what nobody can read.
        if self.measured_mass is None or self.measured_volume is None:
            return []
        mass_kg, volume_m3 = self.measured_mass.si_value, self.measured_volume.si_value
        if mass_kg <= volume_m3 * WATER_KG_PER_M3 * ROUNDED:
            return []
        detail = (
            f"At least {mass_kg / WATER_KG_PER_M3:g} m3: {mass_kg:,.0f} kg in less would be "
            "heavier than water. Correct it, or measured_mass."
        )
        return [FieldFault(pointer="/measured_volume", detail=detail)]

    def _state_faults(self) -> list[FieldFault]:
        if self.state is JobState.POSSIBLE_DUPLICATE and self.duplicate_of_id is None:
            detail = "The service finds what may be a duplicate; say mown, planned or cancelled."
            return [FieldFault(pointer="/state", detail=detail)]
        return []

    def _time_faults(self) -> list[FieldFault]:
        if self.state is JobState.MOWN and self.cut_at is None:
            return [FieldFault(pointer="/cut_at", detail="A mown job has the time of its cut.")]
        if self.state is JobState.PLANNED and self.cut_at is not None:
            return [FieldFault(pointer="/cut_at", detail="A planned job has no cut time yet.")]
        if self.state is JobState.PLANNED and self.planned_at is None:
            return [FieldFault(pointer="/planned_at", detail="A planned job has its planned time.")]
        return []

    def _height_faults(self) -> list[FieldFault]:
        removed_mm = self.height_removed_mm
        if removed_mm is None:
            return [
                FieldFault(
                    pointer="/height_removed",
                    detail="Give height_removed, or both height_before and height_after.",
                )
            ]
        if removed_mm <= 0:
            return [
                FieldFault(
                    pointer="/height_after",
                    detail="The height after the cut is below the height before it.",
                )
            ]
        if removed_mm > HEIGHT_REMOVED_MM_MAX:
            return [
                FieldFault(
                    pointer="/height_removed",
                    detail=f"At most {HEIGHT_REMOVED_MM_MAX:g} mm come off at one mowing.",
                )
            ]
        before = self.height_before
        if before is not None and removed_mm >= before.si_value * 1000.0:
            return [
                FieldFault(
                    pointer="/height_removed",
                    detail=f"At most {before.si_value * 1000.0:g} mm: the grass stood no higher.",
                )
            ]
        if (
            before is not None
            and self.height_after is not None
            and self.height_removed is not None
            and abs((before.si_value - self.height_after.si_value) * 1000.0 - removed_mm) > 1.0
        ):
            return [
                FieldFault(
                    pointer="/height_removed",
                    detail="It differs from height_before less height_after by more than 1 mm.",
                )
            ]
        return []

"""What the story says of a lawn: its visit today, and what was sprayed on it before."""

from __future__ import annotations

from dataclasses import KW_ONLY, dataclass

from service.core.materials import GrassKind, TreatmentHistory, Wetness
from service.core.treatments import LabelWait, StatementSource


@dataclass(frozen=True, slots=True, kw_only=True)
class Sprayed:
    """A product on a lawn, some days ago, and how often the lawn was mown since."""

    product: str
    active_ingredients: tuple[str, ...] = ()
    days_ago: int
    mowings_since: int = 0
    source: StatementSource = StatementSource.APPLICATOR_RECORD
    stated_by: str = "Quadle Turf Treatments, spray record"
    label_wait: LabelWait | None = None


@dataclass(frozen=True, slots=True)
class Visit:
    """One lawn of a round.

    Attributes
    ----------
    area
        In `unit`, a UCUM code: crews write what they are used to.
    height_mm
        What comes off [mm].
    """

    street: str
    number: int
    area: float
    height_mm: float
    client: str
    _: KW_ONLY
    name: str | None = None
    unit: str = "m2"
    grass_kind: GrassKind = GrassKind.COOL_SEASON
    wetness: Wetness = Wetness.DRY
    treatment_history: TreatmentHistory = TreatmentHistory.NONE_RECORDED
    weeds_in_seed: bool = False
    disease_seen: bool = False
    litter_seen: bool = False
    sprayed: Sprayed | None = None
    left: bool = False
    remarks: str | None = None

    @property
    def house(self) -> tuple[str, int]:
        """Return the street and the number: what names a place here."""
        return self.street, self.number

"""The facts of a delivery note: what was brought, from where, to whom, in no language."""

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from service.core.measures.estimates import Estimate
from service.documents.facts.bed import BedFacts, Guidance, refuse_unless_positive
from service.documents.facts.practice import CUSTOMARY, CustomaryPractice
from service.documents.facts.refusals import NoteFactNotUsable
from service.documents.facts.values import TreatmentOnRecord, Value


class Material(StrEnum):
    """What lies on the ground after the drop."""

    FRESH_GRASS_CLIPPINGS = "fresh_grass_clippings"


class EstimateBasis(StrEnum):
    """What an estimate of the mass rests on."""

    AREA_AND_HEIGHT = "area_and_height"
    VOLUME_AND_DENSITY = "volume_and_density"
    SHARE_OF_LOAD = "share_of_load"


class Treatment(StrEnum):
    """What the records say about sprays on the lawn a lot was cut from."""

    NONE_RECORDED = "none_recorded"
    RECORDED_AND_CLEAR = "recorded_and_clear"
    RECORDED_AND_WAITING = "recorded_and_waiting"
    NOT_KNOWN = "not_known"


class Finding(StrEnum):
    """What the crew saw in the cut grass."""

    WEEDS_IN_SEED = "weeds_in_seed"
    DISEASE = "disease"


class Acknowledged(StrEnum):
    """What the person at the place can answer. Received is not the same as checked."""

    RECEIVED_AND_CHECKED = "received_and_checked"
    RECEIVED_UNCHECKED = "received_unchecked"
    PART_ACCEPTED = "part_accepted"
    REFUSED = "refused"
    NOBODY_PRESENT = "nobody_present"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sender:
    """The firm that brings the load; the phone is the one to call about it."""

    name: str
    phone: str
    address: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiver:
    """The client and the place, never another customer's.

    Parameters
    ----------
    name
        The client's name.
    place
        Address of the delivery place, on one line.
    access_notes
        How to get to the bed; empty if none.
    may_sign
        Names of those who may sign; empty means the client alone.
    """

    name: str
    place: str
    access_notes: str = ""
    may_sign: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Carrier:
    """Who drives, in what; the registration number of the carrier where law asks for one."""

    crew: str
    vehicle_registration: str
    carrier_registration: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighing:
    """A net mass off a scale [kg], > 0, and the number of its ticket."""

    net_kg: float
    ticket: str

    def __post_init__(self) -> None:
        """Refuse a mass that is none."""
        refuse_unless_positive(self, "net_kg")


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """How much. The estimate and the weighing stand side by side; neither replaces the other.

    Parameters
    ----------
    estimate_kg
        Mass as estimated, with its range [kg]; None only if the load was never estimated.
    basis
        What the estimate rests on; None exactly if there is no estimate.
    weighed
        Mass off a scale, if there is one.
    volume_litres
        Volume as tipped, with its range [L].
    """

    estimate_kg: Estimate | None
    basis: EstimateBasis | None
    weighed: Weighing | None
    volume_litres: Estimate

    def __post_init__(self) -> None:
        """Refuse a note that says no mass, or an estimate in another unit."""
        if self.estimate_kg is None and self.weighed is None:
            raise NoteFactNotUsable(
                field="amount", value=None, allowed="an estimate, a weighing, or both"
            )
        if (self.estimate_kg is None) != (self.basis is None):
            raise NoteFactNotUsable(
                field="basis", value=self.basis, allowed="given exactly if there is an estimate"
            )
        for field, found, unit in (
            ("estimate_kg", self.estimate_kg, "kg"),
            ("volume_litres", self.volume_litres, "L"),
        ):
            if found is not None and found.unit != unit:
                raise NoteFactNotUsable(field=field, value=found.unit, allowed=f"in {unit}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """One lot of the load. The lot code and the locality stand for the customer's address.

    Parameters
    ----------
    lot_code
        Code the firm can trace the lawn by.
    locality
        Town or district, never a street.
    cut_at
        When it was cut, with its zone.
    age_hours
        Age when the load is tipped [h], >= 0.
    treatment
        What the records say about sprays.
    records_read_on
        Day the records were read; a later record does not change this note.
    active_ingredients
        ISO common names, of all treatments; at least one exactly if a treatment is recorded.
    treated_on
        Day of the last treatment; given exactly if a treatment is recorded.
    wait_ends_on
        Day the wait ended or will end; None with a waiting lot if it has no end.
    rule
        Title of the rule or label the wait follows, as its source prints it; None if
        no treatment is recorded.
    findings
        What the crew saw in the grass.
    treatments
        Each treatment for itself, the newest first; notes of before have none.
    """

    lot_code: str
    locality: str
    cut_at: datetime
    age_hours: float
    treatment: Treatment
    records_read_on: date
    active_ingredients: tuple[str, ...] = ()
    treated_on: date | None = None
    wait_ends_on: date | None = None
    rule: str | None = None
    findings: frozenset[Finding] = frozenset()
    treatments: tuple[TreatmentOnRecord, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a time without zone, and a treatment without its facts or the reverse."""
        if self.cut_at.tzinfo is None:
            raise NoteFactNotUsable(field="cut_at", value=self.cut_at, allowed="a time with a zone")
        if not 0 <= self.age_hours < float("inf"):
            raise NoteFactNotUsable(field="age_hours", value=self.age_hours, allowed="0 or more")
        recorded = self.treatment in (Treatment.RECORDED_AND_CLEAR, Treatment.RECORDED_AND_WAITING)
        for field in ("active_ingredients", "treated_on", "rule"):
            if bool(getattr(self, field)) != recorded:
                raise NoteFactNotUsable(
                    field=field,
                    value=getattr(self, field),
                    allowed="given exactly if a treatment is recorded",
                )
        if self.treatment is Treatment.RECORDED_AND_CLEAR and self.wait_ends_on is None:
            raise NoteFactNotUsable(
                field="wait_ends_on", value=None, allowed="the day the wait ended"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change since the version before: a field key of the language files, old and new."""

    field: str
    old: Value
    new: Value


@dataclass(frozen=True, slots=True, kw_only=True)
class Replaced:
    """The version this one replaces, and every change since; at least one."""

    version: int
    changes: tuple[Change, ...]

    def __post_init__(self) -> None:
        """Refuse a correction that does not say what changed."""
        if not self.changes:
            raise NoteFactNotUsable(field="changes", value="empty", allowed="at least one change")


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteFacts:
    """Everything a delivery note says, in no language.

    Parameters
    ----------
    number, version
        Number of the note, and its version, from 1.
    issued_at
        When this version was issued, in the depot's zone; the documents show it as given.
    working_day
        The depot's working day.
    sender, receiver, carrier
        From, to, by.
    material
        What was brought.
    waste_code
        Code of the European list of waste, where law asks for it, e.g. "20 02 01".
    legal_basis
        Exemption or permit the bed takes clippings under, as registered; None where none
        is needed.
    legal_basis_until
        Last day of the legal basis; None if it has no end, or there is none.
    amount, origins, bed, guidance
        How much, from where, onto what, how.
    sources
        Keys of the sources behind the numbers, sorted, each once.
    replaces
        The version before; given exactly from version 2 on.
    practice
        Customary numbers of the sour-heap and plant-damage steps.
    called_back
        Whether what lies there is called back: then nobody is told how to spread it.
    """

    number: str
    version: int
    issued_at: datetime
    working_day: date
    sender: Sender
    receiver: Receiver
    carrier: Carrier
    amount: Amount
    origins: tuple[Origin, ...]
    bed: BedFacts
    guidance: Guidance
    sources: tuple[str, ...]
    material: Material = Material.FRESH_GRASS_CLIPPINGS
    waste_code: str | None = None
    legal_basis: str | None = None
    legal_basis_until: date | None = None
    replaces: Replaced | None = None
    practice: CustomaryPractice = CUSTOMARY
    called_back: bool = False

    def __post_init__(self) -> None:
        """Refuse a note without number, zone or origin, or with a gap in its versions."""
        if not self.number.strip():
            raise NoteFactNotUsable(field="number", value="empty", allowed="a number")
        if self.issued_at.tzinfo is None:
            raise NoteFactNotUsable(
                field="issued_at", value=self.issued_at, allowed="a time with a zone"
            )
        if not self.origins:
            raise NoteFactNotUsable(field="origins", value="empty", allowed="at least one lot")
        before = 0 if self.replaces is None else self.replaces.version
        if self.version != before + 1:
            raise NoteFactNotUsable(
                field="version", value=self.version, allowed="one more than the version it replaces"
            )

"""Where things are: points, clients, properties, lawns, beds, depots, hold bays, sites."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from enum import StrEnum
from typing import Self
from uuid import UUID

from service.core.acceptance.hours import OpeningHours, hours_faults
from service.core.acceptance.kills import KillEvidence, evidence_faults
from service.core.acceptance.live_status import NOTHING_HEARD, LiveStatus
from service.core.acceptance.terms import WithTerms
from service.core.errors import FieldFault
from service.core.materials import GrassKind, LotStatus
from service.core.measures.quantities import Measure
from service.core.permission.consent import NOT_ASKED, Consent
from service.core.permission.legal_basis import NONE_RECORDED, GroundKind, LegalBasis
from service.core.personal.erasures import ClientState
from service.core.records import Check, FedPlace, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A point on WGS 84, degrees."""

    latitude: float
    longitude: float


class DestinationKind(StrEnum):
    """Where clippings may go. Leaving them on the lawn is an outcome too."""

    BED = "bed"
    COMPOST_SITE = "compost_site"
    HOLD_BAY = "hold_bay"
    LAWN = "lawn"


class DisplayUnits(StrEnum):
    """The units a person reads."""

    METRIC = "metric"
    US = "us"


@dataclass(frozen=True, slots=True, kw_only=True)
class Client(Record):
    """Somebody whose lawns are mown and who may take clippings, or, since ``erased_at``, nobody."""

    name: str
    phone: str | None = None
    email: str | None = None
    address: str | None = None
    language: str = "en"
    display_units: DisplayUnits = DisplayUnits.METRIC
    erased_at: datetime | None = None

    @property
    def state(self) -> ClientState:
        """Whether anything is kept of the person."""
        return ClientState.KEPT if self.erased_at is None else ClientState.ERASED


@dataclass(frozen=True, slots=True, kw_only=True)
class Property(Record):
    """A client's land; others may learn its locality. ``erased_at``: its client is nobody."""

    client_id: UUID
    name: str
    address: str
    locality: str
    point: Point
    access_notes: str | None = None
    may_sign: str | None = None
    erased_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lawn(Record):
    """A lawn on a property.

    ``mowing_hours`` are those that the firm recorded, by the depot's clock: its client's wish, or
    a rule of the place about noise. Without any it may be mown at any time; their last load is
    when mowing begins at the latest.
    """

    property_id: UUID
    name: str
    area: Measure
    grass_kind: GrassKind = GrassKind.UNKNOWN
    mowing_hours: tuple[OpeningHours, ...] = ()

    def checks(self) -> Sequence[Check]:
        """Return what a lawn looks for in itself: hours out of order."""
        return ((lambda: hours_faults(self.mowing_hours, "mowing_hours"), ("mowing_hours",)),)


class Drainage(StrEnum):
    """How a bed drains."""

    FREE = "free"
    MODERATE = "moderate"
    POOR = "poor"
    UNKNOWN = "unknown"


class GroundState(StrEnum):
    """The state of the ground on the day."""

    FIRM = "firm"
    SOFT = "soft"
    WATERLOGGED = "waterlogged"
    FROZEN = "frozen"
    SNOW = "snow"
    UNKNOWN = "unknown"


class Animals(StrEnum):
    """Animals that reach the bed."""

    DOGS_OR_CATS = "dogs_or_cats"
    POULTRY = "poultry"
    GRAZING = "grazing"
    HORSES = "horses"


@dataclass(frozen=True, slots=True, kw_only=True)
class OpeningBalance:
    """What was laid on a bed before the service knew of it, as the firm says.

    ``mass_kg`` and ``nitrogen_kg`` count as laid on ``laid_on``: the day of the last layer, so that
    the bed rests and its year runs from then.
    """

    mass_kg: float
    nitrogen_kg: float
    laid_on: date
    stated_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed(FedPlace):
    """A bed that may take a thin layer of clippings.

    ``near_drain_or_paving`` is true until somebody says that loose grass cannot reach a
    drain, a road or paving from here. ``animals`` are those of the place that reach the bed,
    ``animals_beside`` those on the ground next to it, also a neighbour's; ``grazing_fenced`` is
    whether a fence keeps grazing ones from all that lies on the bed. None: nobody looked.
    ``hours`` and ``closed_on`` are when the client wants deliveries, by the clock of the depot that
    comes; without hours at any. ``water_protection_zone`` is whether it lies in one.
    """

    property_id: UUID
    name: str
    area: Measure
    drainage: Drainage = Drainage.UNKNOWN
    ground_state: GroundState = GroundState.UNKNOWN
    ground_state_at: datetime | None = None
    edible: bool = False
    organic_certified: bool = False
    water_distance_m: float | None = None
    well_distance_m: float | None = None
    animals: tuple[Animals, ...] = ()
    animals_beside: tuple[Animals, ...] | None = None
    grazing_fenced: bool | None = None
    slope_percent: float = 0.0
    sensitive_plants: str | None = None
    near_drain_or_paving: bool = True
    point: Point | None = None
    consent: Consent = NOT_ASKED
    legal_basis: LegalBasis = NONE_RECORDED
    where_to_lay: str | None = None
    opening_balance: OpeningBalance | None = None
    ground_kind: GroundKind | None = None
    water_protection_zone: bool | None = None
    hours: tuple[OpeningHours, ...] = ()
    closed_on: tuple[date, ...] = ()

    def checks(self) -> Sequence[Check]:
        """Return what a bed looks for in itself: hours out of order, a basis half on record."""
        return (
            (self._basis_faults, ("legal_basis",)),
            *FedPlace.checks(self),
            (lambda: hours_faults(self.hours), ("hours",)),
            (self.consent.faults, ("consent",)),
            (self._balance_faults, ("opening_balance",)),
            (self._ground_faults, ("ground_state_at",)),
        )

    def unasked(self, before: Self) -> Sequence[str]:
        """Return what is as it was: kept before its dates were looked at, it hinders nothing."""
        dated = ("consent", "ground_state_at")
        return [name for name in dated if getattr(self, name) == getattr(before, name)]

    def _ground_faults(self) -> Iterator[FieldFault]:
        if self.ground_state_at is not None and self.is_ahead(self.ground_state_at):
            detail = "The ground was looked at before now: this lies ahead."
            yield FieldFault(pointer="/ground_state_at", detail=detail)

    def _basis_faults(self) -> Iterator[FieldFault]:
        for name in self.legal_basis.missing:
            yield FieldFault(
                pointer=f"/legal_basis/{name}",
                detail="A registered exemption or a permit has its reference and its last day.",
            )

    def _balance_faults(self) -> Iterator[FieldFault]:
        balance = self.opening_balance
        if balance is not None and balance.laid_on > self.updated_at.date():
            yield FieldFault(
                pointer="/opening_balance/laid_on",
                detail="What was laid before the records began was laid on a day of the past.",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Depot(Record):
    """A yard that crews start from. Its time zone makes the working day.

    The fairness limit is the most a bed gets in 30 days, and the fairness price is what a tonne
    costs more for each kg/m2 that its bed got in them; without them the nearest bed always wins.
    ``crew_minute_cents`` is what a minute of a crew counts; None: the rule for the firm's currency.
    """

    name: str
    address: str
    point: Point
    time_zone: str
    shift_starts: time = time(7, 0)
    shift_ends: time = time(17, 30)
    jurisdiction: str
    fairness_limit_kg_per_m2: float | None = None
    fairness_price_cents_per_t_per_kg_per_m2: int | None = None
    crew_minute_cents: int | None = None

    def checks(self) -> Sequence[Check]:
        """Return what a depot looks for in itself: a shift that ends before it starts."""
        return ((self._shift_faults, ("shift_starts", "shift_ends")),)

    def _shift_faults(self) -> Iterator[FieldFault]:
        if self.shift_starts >= self.shift_ends:
            yield FieldFault(
                pointer="/shift_ends",
                detail=(
                    "The shift ends after it starts, on the same day. Of one that goes on after "
                    "midnight say 23:59: what is cut before it is of that day, what is tipped "
                    "after it of the next, and its vehicles go on from where they are."
                ),
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldBay(Record):
    """A bay of a depot where clippings wait."""

    depot_id: UUID
    name: str
    volume_m3: float
    leachate_contained: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CompostSite(WithTerms):
    """A compost site, its hours, what it takes and what it costs."""

    name: str
    operator: str
    address: str
    point: Point
    phone: str | None = None
    closed_on: tuple[date, ...] = ()
    daily_capacity_kg: float
    live_status: LiveStatus = NOTHING_HEARD
    unloading_minutes: int = 12
    jurisdiction: str
    process_temperature_c: float | None = None
    process_days: float | None = None
    process_turnings: int | None = None
    kill_evidence: tuple[KillEvidence, ...] = ()

    def checks(self) -> Sequence[Check]:
        """Return what a site looks for in itself: hours out of order, a status never taken."""
        return (
            (lambda: hours_faults(self.hours), ("hours",)),
            *WithTerms.checks(self),
            (self._status_faults, ("accepted_statuses",)),
            (lambda: evidence_faults(self.kill_evidence), ("kill_evidence",)),
            (lambda: self.live_status.faults(self.is_ahead), ("live_status",)),
        )

    def unasked(self, before: Self) -> Sequence[str]:
        """Return its word as it was: one kept before its hour was looked at hinders nothing."""
        return ("live_status",) if self.live_status == before.live_status else ()

    def faults_after(self, before: Self) -> Sequence[FieldFault]:
        """Return faults of what was withdrawn, and of a new word that has an older one's hour."""
        word = self.live_status.faults_after(before.live_status, now=self.updated_at)
        return [*WithTerms.faults_after(self, before), *word]

    def _status_faults(self) -> Iterator[FieldFault]:
        never = {
            LotStatus.LITTERED: "No site takes littered lots; they go to hold to be sorted.",
            LotStatus.SOUR: "Whether it takes what has stood too long is said in takes_sour.",
        }
        for index, status in enumerate(self.accepted_statuses):
            if status in never:
                yield FieldFault(pointer=f"/accepted_statuses/{index}", detail=never[status])

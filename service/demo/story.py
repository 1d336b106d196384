"""The invented firm, its town and its day, as `story.toml` tells them.

Quadlethorpe and its villages do not exist; the points lie in open country in Lincolnshire.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from importlib import resources
from math import cos, radians, sin
from typing import Any, Final, TypeVar

from service.core.acceptance.fees import Fee
from service.core.acceptance.hours import OpeningHours
from service.core.acceptance.kills import KillEvidence
from service.core.materials import GrassKind, LotStatus, TreatmentHistory, Wetness
from service.core.permission.consent import ConsentState
from service.core.permission.legal_basis import LegalBasisKind
from service.core.places import Animals, Drainage, GroundState, Point
from service.core.treatments import LabelWait, StatementSource
from service.storage.mapping import json_codec

AnyTold = TypeVar("AnyTold")
# A street and a number: what names a place in the story.
House = tuple[str, int]

# Length of a degree at 52.9 degrees north on WGS 84, rounded to 10 m: near enough to invent by.
METRES_PER_DEGREE_NORTH: Final = 111_270.0
METRES_PER_DEGREE_EAST: Final = 67_280.0
FAR_M: Final = 400.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Firm:
    """The firm."""

    name: str
    address: str
    phone: str
    currency: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Yard:
    """Its depot."""

    name: str
    latitude: float
    longitude: float
    time_zone: str
    jurisdiction: str
    shift_starts: time
    shift_ends: time
    hold_bay_m3: float

    @property
    def point(self) -> Point:
        """Return where it is."""
        return Point(latitude=self.latitude, longitude=self.longitude)


@dataclass(frozen=True, slots=True, kw_only=True)
class Street:
    """A straight street: where it begins, seen from the depot, and where it runs.

    Attributes
    ----------
    east_m, north_m
        Its beginning, from the depot [m].
    bearing
        Degrees from north, clockwise.
    plot_m
        From one house number to the next [m].
    """

    locality: str
    east_m: float
    north_m: float
    bearing: float
    plot_m: float = 12.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Truck:
    """A crew and what it drives."""

    crew: str
    lead: str
    phone: str
    language: str
    registration: str
    vehicle: str
    payload_kg: float
    body_volume_m3: float
    gross_limit_kg: float
    tare_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A compost site: where, when, what it takes and what it asks.

    Attributes
    ----------
    process
        Temperature [C], days, turnings.
    """

    name: str
    operator: str
    address: str
    east_m: float
    north_m: float
    opens: time = time(7, 30)
    closes: time = time(17, 0)
    last_load: time = time(16, 30)
    accepted_statuses: tuple[LotStatus, ...] = (LotStatus.CLEAN,)
    takes_sour: bool | None = None
    daily_capacity_kg: float
    fee: Fee
    process: tuple[float, ...] | None = None
    kill_evidence: tuple[KillEvidence, ...] = ()

    def hours(self) -> tuple[OpeningHours, ...]:
        """Return its hours: the same every day, so that every day can be the demo's."""
        return tuple(
            OpeningHours(
                weekday=weekday, opens=self.opens, closes=self.closes, last_load=self.last_load
            )
            for weekday in range(7)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """A client's bed."""

    street: str
    number: int
    name: str
    area_m2: float
    drainage: Drainage = Drainage.FREE
    ground_state: GroundState = GroundState.FIRM
    edible: bool = False
    organic_certified: bool = False
    water_distance_m: float | None = FAR_M
    well_distance_m: float | None = FAR_M
    animals: tuple[Animals, ...] = ()
    animals_beside: tuple[Animals, ...] = ()
    fenced: bool | None = None
    slope_percent: float = 0.0
    consent: ConsentState = ConsentState.GIVEN
    consent_ends_in_days: int = 365
    mass_per_visit_max_kg: float | None = None
    legal_basis: LegalBasisKind = LegalBasisKind.REGISTERED_EXEMPTION
    legal_basis_ends_in_days: int = 730
    sensitive_plants: str | None = None
    where_to_lay: str | None = None
    early: bool = False

    @property
    def house(self) -> House:
        """Return what names its property."""
        return self.street, self.number


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


@dataclass(frozen=True, slots=True, kw_only=True)
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
    def house(self) -> House:
        """Return what names its property."""
        return self.street, self.number


def _told(kind: type[AnyTold], row: Mapping[str, Any]) -> AnyTold:
    """Return what a row of the story says; what it does not know of itself is refused."""
    said = dict(row)
    if "house" in said:
        said["street"], said["number"] = said.pop("house")
    said |= dict.fromkeys(said.pop("unknown", ()))
    known = set(kind.__dataclass_fields__)  # type: ignore[attr-defined] # a dataclass
    if not set(said) <= known:
        raise TypeError(f"{kind.__name__} has no {', '.join(sorted(set(said) - known))}")
    read = json_codec(kind).read
    assert read is not None  # noqa: S101 - a dataclass is always read
    told: AnyTold = read(said)
    return told


_STORY: Final = tomllib.loads(
    resources.files(__package__).joinpath("story.toml").read_text(encoding="utf-8")
)
_SPRAYED: Final = {tuple(row["house"]): row for row in _STORY["sprayed"]}


def _visit(row: Mapping[str, Any]) -> Visit:
    sprayed = dict(_SPRAYED.get(tuple(row["house"]), {}))
    sprayed.pop("house", None)
    return _told(Visit, {**row, "sprayed": sprayed} if sprayed else row)


FIRM: Final = _told(Firm, _STORY["firm"])
DEPOT: Final = _told(Yard, _STORY["depot"])
STREETS: Final = {name: _told(Street, row) for name, row in _STORY["streets"].items()}
TRUCKS: Final = tuple(_told(Truck, row) for row in _STORY["trucks"])
GATES: Final = tuple(_told(Gate, row) for row in _STORY["gates"])
PLOTS: Final = tuple(_told(Plot, row) for row in _STORY["beds"])
ROUNDS: Final = {
    crew: tuple(_visit(row) for row in rows) for crew, rows in _STORY["rounds"].items()
}
FORGOTTEN: Final = _visit(_STORY["forgotten"])
PAST_ROUNDS: Final[tuple[tuple[int, str, tuple[House, ...]], ...]] = tuple(
    (row["days_ago"], row["crew"], tuple((street, number) for street, number in row["houses"]))
    for row in _STORY["past_rounds"]
)
LITTERED_YESTERDAY: Final[House] = tuple(_STORY["littered_yesterday"])
LANGUAGES: Final[Mapping[str, str]] = _STORY["languages"]


def visit_at(house: House) -> Visit:
    """Return the visit to a house; every property of the story has one."""
    return next(visit for round_ in ROUNDS.values() for visit in round_ if visit.house == house)


def point_at(*, east_m: float, north_m: float) -> Point:
    """Return the point so far east and north of the depot, to a metre or so."""
    return Point(
        latitude=round(DEPOT.latitude + north_m / METRES_PER_DEGREE_NORTH, 5),
        longitude=round(DEPOT.longitude + east_m / METRES_PER_DEGREE_EAST, 5),
    )


def house_point(street: str, number: int) -> Point:
    """Return where a house stands: odd numbers on the left of the street, even on the right."""
    line = STREETS[street]
    along_m = number * line.plot_m
    across_m = -18.0 if number % 2 else 18.0
    angle = radians(line.bearing)
    return point_at(
        east_m=line.east_m + along_m * sin(angle) + across_m * cos(angle),
        north_m=line.north_m + along_m * cos(angle) - across_m * sin(angle),
    )


def house_address(street: str, number: int) -> str:
    """Return the address of a house."""
    return f"{number} {street}, {STREETS[street].locality}"
